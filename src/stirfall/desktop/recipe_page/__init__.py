"""The recipe page: conditions, tolerances and evidence, exported."""

from stirfall.desktop.recipe_page.page import RecipePage

__all__ = ["RecipePage"]
