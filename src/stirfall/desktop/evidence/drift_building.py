"""From a drift to what the section shows of it; pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.evidence.drift_picture import DriftPicture, picture_of
from stirfall.desktop.evidence.drift_state import DriftState, MarkRow, SignalRow
from stirfall.reporting.drift_words import KIND_WORDS, day_of, drift_lines, mark_line, point_words, signal_line
from stirfall.reporting.sentences import sentence
from stirfall.session.drift_told import SURE, said_day

if TYPE_CHECKING:
    from stirfall.session.drift_records import Drift

CHART_WORDS = {"values": "Shares", "cusum": "Sum", "ewma": "Average"}
_MOST_ROWS = 200
_OF_CHART = {"values": "chart", "ranges": "steps", "cusum": "sum", "ewma": "average"}


def chart_choices(*, is_share: bool) -> tuple[tuple[str, str], ...]:
    """Return key and word of the charts; numbers are values, not shares."""
    return tuple((key, "Values" if key == "values" and not is_share else word) for key, word in CHART_WORDS.items())


def build_state(found: Drift | None, measure: str, chart: str, pointed_id: str, *, decimal: str) -> DriftState:
    """Return the state of a drift; None while it is worked out for the first time."""
    if found is None:
        return DriftState(measure, chart, message=sentence("drift.working"), is_working=True)
    lines = drift_lines(found, decimal=decimal)
    # Whether the conditions explain a change belongs to the verdict; nobody should have to look for it.
    caveats = [each.code.startswith("drift.conditions_") for each in found.sentences]
    point = next((each for each in found.points if each.attempt_id == pointed_id), None)
    change = found.change
    picture = picture_of(found, chart, decimal=decimal)
    return DriftState(
        measure=measure,
        chart=chart,
        key="" if picture is None else key_of(picture),
        verdict=lines[0],
        caveat=" ".join(line for line, is_caveat in zip(lines, caveats, strict=True) if is_caveat),
        is_sure=change is not None and change.probability >= SURE,
        lines=tuple(line for line, is_caveat in zip(lines[1:], caveats[1:], strict=True) if not is_caveat),
        picture=picture,
        found=found,
        signals=signal_rows(found, decimal=decimal),
        marks=mark_rows(found, decimal=decimal),
        pointed="" if point is None else point_words(found, point, decimal=decimal),
        pointed_id="" if point is None else pointed_id,
    )


def key_of(picture: DriftPicture) -> str:
    """Say what the signs mean that stand in a picture."""
    shown = {
        "drift.key_control": bool(picture.controls),
        "drift.key_signal": bool(picture.signals),
        "drift.key_own": any(mark.is_own for mark in picture.marks),
        "drift.key_records": any(not mark.is_own for mark in picture.marks),
        "drift.key_change": picture.change is not None,
        "drift.key_newest": picture.start > 0,
    }
    words = [sentence(code, {"count": len(picture.numbers)}) for code, is_shown in shown.items() if is_shown]
    return "   ".join(word.replace(" ", "\u00a0") for word in words)


def signal_rows(found: Drift, *, decimal: str = ".") -> tuple[SignalRow, ...]:
    """Return the signals in time, of very many the newest."""
    return tuple(
        SignalRow(
            each.attempt_id,
            f"{each.number}",
            day_of(found, each.place),
            _OF_CHART[each.chart],
            signal_line(each, decimal=decimal),
        )
        for each in found.signals[-_MOST_ROWS:]
    )


def mark_rows(found: Drift, *, decimal: str = ".") -> tuple[MarkRow, ...]:
    """Return the changes at the bench in time, those that a person marked and those that the records show."""
    rows = []
    for mark in found.marks:
        is_last = mark.place >= found.n
        latest = found.points[-1].at if found.points else None
        rows.append(
            MarkRow(
                "after all" if is_last else f"{found.points[mark.place].number}",
                "" if mark.at is None else said_day(mark.at, latest),
                KIND_WORDS[mark.kind.value],
                mark_line(mark, decimal=decimal),
                "records" if mark.id is None else "you",
                mark.id or "",
            )
        )
    return tuple(rows)
