"""A recipe as the text of a file: Markdown, or JSON in UTF-8."""

from __future__ import annotations

import json
from typing import Literal

from stirfall.reporting.json_form import recipe_json
from stirfall.reporting.markdown import render_markdown
from stirfall.reporting.recipe_parts import Recipe


def recipe_text(recipe: Recipe, suffix: Literal[".md", ".json"], *, decimal: str = ".") -> str:
    """Return what a file with this suffix holds; JSON has a decimal point always."""
    if suffix == ".json":
        return json.dumps(recipe_json(recipe), indent=2, ensure_ascii=False) + "\n"
    return render_markdown(recipe, decimal=decimal)
