"""The shelf: jars that are ageing now, lots, and their chances."""

from stirfall.desktop.shelf.page import ShelfPage

__all__ = ["ShelfPage"]
