"""The ledger: every attempt, with its corrections and the ways out of the program."""

from stirfall.desktop.ledger.page import LedgerPage

__all__ = ["LedgerPage"]
