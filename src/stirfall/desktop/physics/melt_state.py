"""What the melt panel shows, made from the melt report of the conditions in hand."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, Literal, TypeGuard

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.units import format_quantity
from stirfall.desktop.physics.fact_lines import FactLine
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.factors import Conditions
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.melt import MeltReport

    ReportMaker = Callable[[CampaignState, Conditions], MeltReport]

Quantity = Literal["density", "viscosity"]
QUANTITIES: tuple[Quantity, ...] = ("density", "viscosity")
UNITS: dict[Quantity, str] = {"density": "kg/m³", "viscosity": "mPa s"}
_ORDER = {"warn": 0, "fact": 1, "note": 1, "unknown": 2}
_SLOT = "melt panel"


@dataclass(frozen=True, eq=False)
class MeltTrace:
    """One curve over temperature: whose it is, and its values (n,), NaN where nothing is known."""

    word: str
    values: np.ndarray


@dataclass(frozen=True, eq=False)
class MeltPicture:
    """Curves over temperature (n,) in °C; ``levels`` are lines across, such as the solids' density."""

    quantity: Quantity
    t_c: np.ndarray
    traces: tuple[MeltTrace, ...]
    levels: tuple[tuple[str, float], ...] = ()
    melting_c: float | None = None
    window: tuple[float, float] | None = None
    at_c: float | None = None


@dataclass(frozen=True)
class MeltState:
    """One melt panel. ``message`` stands in its place while there is nothing to show."""

    message: str = ""
    title: str = ""
    quantity: Quantity = "density"
    picture: MeltPicture | None = None
    lines: tuple[FactLine, ...] = ()
    wants_settings: bool = False
    is_stale: bool = False
    decimal: str = "."


def melt_state(report: MeltReport, quantity: Quantity, *, stale: bool = False, decimal: str = ".") -> MeltState:
    """Present a report: the curves of one quantity, and every fact as a line."""
    facts = sorted(report.facts, key=lambda fact: _ORDER[fact.level])
    lines = [FactLine(fact.key, fact.level, sentence(fact.code, fact.params, decimal=decimal)) for fact in facts]
    said = {line.text for line in lines}
    for place, reason in enumerate(report.missing):
        text = sentence(reason.code, reason.params, decimal=decimal)
        if text not in said:
            lines.append(FactLine(f"missing_{place}", "unknown", text))
    return MeltState(
        title=_title(report, decimal),
        quantity=quantity,
        picture=_picture(report, quantity),
        lines=tuple(lines),
        wants_settings=any(line.level == "unknown" for line in lines),
        is_stale=stale,
        decimal=decimal,
    )


def _title(report: MeltReport, decimal: str) -> str:
    metal = report.metal.name or sentence("melt_panel.metal")
    oil = report.oil.name or sentence("melt_panel.oil")
    if report.at_c is None:
        return sentence("melt_panel.title_cold", {"metal": metal, "oil": oil})
    at = format_quantity(report.at_c, "C", decimal=decimal)
    return sentence("melt_panel.title", {"metal": metal, "oil": oil, "at": at})


def _is_known(values: np.ndarray | None) -> TypeGuard[np.ndarray]:
    return values is not None and any(isfinite(value) for value in values)


def _picture(report: MeltReport, quantity: Quantity) -> MeltPicture | None:
    curves = report.curves
    if curves is None:
        return None
    pairs = {
        "density": (curves.metal_density, curves.oil_density),
        "viscosity": (curves.metal_viscosity, curves.oil_viscosity),
    }[quantity]
    traces = tuple(
        MeltTrace(word, values) for word, values in zip(("metal", "oil"), pairs, strict=True) if _is_known(values)
    )
    if not traces:
        return None
    return MeltPicture(quantity, curves.t_c, traces, (), report.melting_c, report.window, report.at_c)


class MeltViewModel(QObject):
    """Keeps one MeltState true to the conditions in hand, worked out only while somebody looks.

    Signals:
        changed(MeltState): something that is shown has changed.
    """

    changed = Signal(object)

    def __init__(
        self, workspace: Workspace, make: ReportMaker | None = None, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._make = make or _report
        self._report: MeltReport | None = None
        self._quantity: Quantity = "density"
        self._is_shown = False
        self._is_due = True
        self._is_stale = False
        self._problem = ""
        self.state = self._present()
        workspace.document_opened.connect(self._on_opened)
        workspace.document_changed.connect(self._on_changed)
        workspace.in_hand_changed.connect(self._on_changed)
        workspace.theme_changed.connect(self._show)

    def set_shown(self, shown: bool) -> None:
        """Begin or end to look; what became due meanwhile is worked out at the first look."""
        self._is_shown = shown
        if shown and self._is_due:
            self._request()

    def choose_quantity(self, quantity: Quantity) -> None:
        """Show the density or the viscosity over temperature."""
        self._quantity = quantity
        self._show()

    def open_settings(self) -> None:
        """Ask for the campaign settings, where the materials are."""
        self._workspace.request_settings()

    def _on_opened(self) -> None:
        self._report, self._problem = None, ""
        self._on_changed()

    def _on_changed(self, *_what: object) -> None:
        self._is_due = True
        self._is_stale = self._report is not None
        if self._is_shown:
            self._request()
        self._show()

    def _request(self) -> None:
        document = self._workspace.document
        self._is_due = False
        if document is None:
            self._show()
            return
        state, conditions = document.state, self._workspace.in_hand.conditions
        make = self._make
        self._workspace.submit(lambda _token: make(state, conditions), self._take, self._fail, slot=_SLOT)

    def _take(self, report: MeltReport) -> None:
        self._report, self._problem, self._is_stale = report, "", False
        self._show()

    def _fail(self, error: Exception) -> None:
        if isinstance(error, StirfallError):
            self._problem = error_sentence(error, decimal=self._workspace.decimal)
        else:
            self._problem = sentence("melt_panel.failed")
            self._workspace.notifier.fail(error)
        self._report = None
        self._show()

    def _show(self, *_what: object) -> None:
        self.state = self._present()
        self.changed.emit(self.state)

    def _present(self) -> MeltState:
        if self._workspace.document is None:
            return MeltState(sentence("melt_panel.closed"), quantity=self._quantity)
        if self._report is None:
            return MeltState(self._problem or sentence("melt_panel.waiting"), quantity=self._quantity)
        return melt_state(self._report, self._quantity, stale=self._is_stale, decimal=self._workspace.decimal)


def _report(state: CampaignState, conditions: Conditions) -> MeltReport:
    from stirfall.session.melt import melt_report

    return melt_report(state, conditions)
