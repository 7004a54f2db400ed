"""Which answer is shown, and for which lot: plain functions without a window.

"Lot" stands for whatever the attempts are grouped by: lots, jars, benches, or the levels of a choice factor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.bench.records import LOT_EFFECT_BENCH, LOT_EFFECT_JAR, LOT_EFFECT_LOT, own_bench
from stirfall.desktop.odds.state import LotChoice
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.odds.answers import InHandLike
    from stirfall.session.analysis import Analysis

AS_IN_HAND, NEW_LOT = "", "new"
_NAMED = "lot:"


def lot_in_hand(analysis: Analysis, in_hand: InHandLike) -> str | None:
    """Return the lot (or jar, or level) of the conditions in hand, None where it is not known."""
    grouping = analysis.table.grouping
    if grouping == LOT_EFFECT_LOT:
        return in_hand.lot_id
    if grouping == LOT_EFFECT_JAR:
        return in_hand.jar_id
    value = in_hand.conditions.get(grouping)
    if value is None and grouping == LOT_EFFECT_BENCH and not _is_factor(analysis, grouping):
        return in_hand.bench or own_bench(analysis.state.settings)
    return None if value is None else str(value)


def _is_factor(analysis: Analysis, name: str) -> bool:
    return any(factor.name == name for factor in analysis.state.factors)


def answered_lot(analysis: Analysis, in_hand: InHandLike, choice: str = AS_IN_HAND) -> str | None:
    """Return the lot that ``choice`` asks for, None for a new one: also where the model has not met the lot."""
    wanted = lot_in_hand(analysis, in_hand) if choice == AS_IN_HAND else choice.removeprefix(_NAMED)
    return wanted if wanted in analysis.model.lot_names else None


def answer_for(analysis: Analysis, lot: str | None) -> Analysis:
    """Return the answers for a lot, None for a new one."""
    return analysis if lot == analysis.lot else analysis.for_lot(lot)


def lot_choices(analysis: Analysis, in_hand: InHandLike) -> tuple[LotChoice, ...]:
    """Return what the person can choose among; nothing where the answer knows no lots."""
    names = analysis.model.lot_names
    if not names:
        return ()
    held = lot_in_hand(analysis, in_hand)
    if held is None:
        name = sentence("odds.lot_is_new")
    else:
        name = held if held in names else sentence("odds.lot_not_met", {"name": held})
    code = _FOLLOW.get(in_hand.source, "odds.lot_in_hand")
    follow = sentence(code, {"kind": analysis.table.grouping, "name": name})
    others = (LotChoice(f"{_NAMED}{name}", _upper(_named(analysis, name))) for name in sorted(names, key=_natural))
    return (LotChoice(AS_IN_HAND, follow), LotChoice(NEW_LOT, _upper(_new(analysis))), *others)


_FOLLOW = {"form": "odds.lot_of_form", "attempt": "odds.lot_of_attempt", "jar": "odds.lot_of_jar"}


def lot_text(analysis: Analysis) -> str:
    """Say which lot the answers are for: "For lot L2.", "For a new lot."; "" where the answer knows no lots."""
    if not analysis.model.lot_names:
        return ""
    name = analysis.lot
    return sentence("odds.lot_said", {"lot": _new(analysis) if name is None else _named(analysis, name)})


def stage_text(analysis: Analysis, *, is_refining: bool) -> str:
    """Say which answer this is, what it allows for, and for which lot."""
    if analysis.stage == "first":
        return sentence("odds.stage_first" if is_refining else "odds.stage_not_refined")
    if analysis.model.n == 0:
        return sentence("odds.stage_no_attempts")
    lot = lot_text(analysis) or _only_one(analysis)
    pinned = [score for score in analysis.forms if score.is_pinned]
    if pinned:  # the lot first: the name of a form may be longer than the line
        form = sentence(pinned[0].form.code, pinned[0].form.params)
        return f"{lot} {sentence('odds.stage_pinned', {'form': form})}".strip()
    count = len(analysis.forms)
    said = sentence("odds.stage_refined", {"count": count}) if count > 1 else sentence("odds.stage_one_form")
    return f"{said}{_allowed_for(analysis)}. {lot}".strip()


def _only_one(analysis: Analysis) -> str:
    """Say that attempts of a single lot cannot tell how another would differ; "" where that is not so."""
    names = analysis.table.group_names
    return sentence("odds.only_one_lot", {"lot": _named(analysis, names[0])}) if len(names) == 1 else ""


def _allowed_for(analysis: Analysis) -> str:
    if not analysis.model.lot_names:
        return ""
    grouping = analysis.table.grouping
    groups = {LOT_EFFECT_LOT: "lots", LOT_EFFECT_JAR: "jars", LOT_EFFECT_BENCH: "benches"}.get(
        grouping, f"“{grouping}”"
    )
    return sentence("odds.stage_allowed_for", {"groups": groups})


def _named(analysis: Analysis, name: str) -> str:
    """Write a lot with its kind: "lot L2", "jar J4", "bench A"."""
    return f"{analysis.table.grouping} {name}"


def _new(analysis: Analysis) -> str:
    if analysis.table.grouping == LOT_EFFECT_BENCH:
        return "a bench not seen yet"
    return f"a new {analysis.table.grouping}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _natural(name: str) -> tuple[tuple[bool, int, str], ...]:
    """Sort L2 before L10."""
    parts: list[str] = [""]
    for letter in name:
        if parts[-1] and letter.isdigit() != parts[-1][-1].isdigit():
            parts.append("")
        parts[-1] += letter
    return tuple((not part.isdigit(), int(part) if part.isdigit() else 0, part) for part in parts)
