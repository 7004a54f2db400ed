"""What the section "Drift" shows, as frozen values: words and rows, and the picture; no widgets."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.desktop.evidence.drift_picture import DriftPicture
from stirfall.session.drift_records import Drift


@dataclass(frozen=True)
class SignalRow:
    """One signal as a row of the table: where, when, on which chart, and which rule."""

    attempt_id: str
    number: str
    day: str
    chart: str
    rule: str


@dataclass(frozen=True)
class MarkRow:
    """One change at the bench as a row; ``mark_id`` is "" where the records say so by themselves."""

    before: str
    day: str
    kind: str
    words: str
    source: str
    mark_id: str


@dataclass(frozen=True)
class DriftState:
    """What is shown; ``verdict`` stands on top with its ``caveat``, ``lines`` are what it rests on.

    ``message`` says why there is nothing.
    """

    measure: str = "clean"
    chart: str = "values"
    verdict: str = ""
    caveat: str = ""
    is_sure: bool = False
    lines: tuple[str, ...] = ()
    message: str = ""
    picture: DriftPicture | None = None
    key: str = ""
    found: Drift | None = None
    signals: tuple[SignalRow, ...] = ()
    marks: tuple[MarkRow, ...] = ()
    pointed: str = ""
    pointed_id: str = ""
    can_mark: bool = False
    is_stale: bool = False
    is_working: bool = False
