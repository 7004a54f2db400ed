"""How two recipes differ, typeset for the screen in the colours of the theme."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from stirfall.desktop.theme import Theme

if TYPE_CHECKING:
    from stirfall.reporting.recipe_compare import ComparedRecipes, ComparedRow


def comparison_html(compared: ComparedRecipes, theme: Theme) -> str:
    """Return sentences first, then the table; what moved is bold, and said in a word as well."""
    said = "".join(f"<li>{escape(text)}</li>" for text in compared.sentences)
    head = "".join(
        f"<td style='color:{theme.muted}'><b>{escape(text)}</b></td>"
        for text in ("", compared.first, compared.second, "What moved")
    )
    rows = "".join(_row(row) for row in compared.rows)
    title = f"{compared.second[:1].upper()}{compared.second[1:]} against {compared.first}"
    return (
        f"<body style='color:{theme.text}'><h2 style='margin:0 0 6px 0'>{escape(title)}</h2>"
        f"<ul style='margin:0'>{said}</ul>"
        "<table cellspacing='0' cellpadding='4' width='100%' style='margin-top:12px;font-"
        f"size:small'><tr>{head}</tr>{rows}</table></body>"
    )


def _row(row: ComparedRow) -> str:
    second, moved = escape(row.second), escape(row.moved)
    if row.moved:
        second, moved = f"<b>{second}</b>", f"<b>{moved}</b>"
    return f"<tr><td>{escape(row.name)}</td><td>{escape(row.first)}</td><td>{second}</td><td>{moved}</td></tr>"
