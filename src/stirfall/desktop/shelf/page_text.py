"""What the shelf page says around its lists: how many there are, what chances rest on, what an empty list means."""

from __future__ import annotations

from stirfall.desktop.shelf.board import OPEN_FIRST
from stirfall.desktop.shelf.detail import AGEING, RESIDUES, TO_START
from stirfall.desktop.shelf.state import ShelfState
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, level_percent

_NO_JARS = (
    "No jar is ageing. Start a jar, or split a lot into several, and their ages run by themselves from then on; "
    "the chance of a clean separation stands beside them as soon as attempts are recorded."
)
_NO_LOTS = "First register the lot of crude that you have; then start jars from it. Their ages run by themselves."


def views_text(state: ShelfState) -> tuple[tuple[str, str], ...]:
    """Return the three lists, each with how many jars it holds, and a shape where something is due."""
    due = "⚠ " if any(row.is_due for row in state.planned) else ""
    waits = "⚠ " if state.reminder else ""
    return (
        (AGEING, f"Ageing {state.ageing}"),
        (TO_START, f"{due}To start {len(state.planned)}"),
        (RESIDUES, f"{waits}Residue {len(state.residues)}"),
    )


def lots_text(state: ShelfState) -> tuple[tuple[str, str], ...]:
    """Return the choice of lots: all, and those with a jar that is ageing, or that was asked for."""
    named = [lot.id for lot in state.lots if lot.id in state.lots_ageing or lot.id == state.lot]
    return (("", "all"), *((lot_id, lot_id) for lot_id in named))


def basis_text(state: ShelfState | None) -> str:
    """Say what the chances on the board rest on."""
    if state is None or not state.rows:
        return ""
    rest_on = state.chances_rest_on
    if rest_on is None:
        return "The chances appear when the attempts are worked out."
    stale = ", being worked out anew" if state.is_stale else ""
    level = level_percent(rest_on.level)
    order = "Open first on top; usual" if state.order == OPEN_FIRST else "Usual"
    return f"{order} settings, own age and lot; {level} intervals, {basis(rest_on)}{stale}."


def about_view(state: ShelfState | None, view: str) -> str:
    """Say what an empty list means and which step fills it; of residue also what calls for attention."""
    if state is None:
        return "Open a session or make a new one; its jars appear here."
    if view == RESIDUES:
        if not state.residues:
            return sentence("residue.none")
        said = (sentence(found.code, found.params, decimal=state.decimal) for found in state.reminder)
        return " ".join(f"⚠ {text}" for text in said)
    if view == TO_START:
        return "" if state.planned else sentence("shelf.none_planned")
    if state.rows:
        return ""
    if state.ageing:
        return sentence("shelf.none_of_lot", {"lot": state.lot})
    return _NO_JARS if state.lots else _NO_LOTS
