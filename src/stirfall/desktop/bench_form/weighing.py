"""The weighing sheet of the form: what stood on the balance, tares, and what they add up to; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Lot, Masses
from stirfall.bench.run_facts import NO_SHEET, WeighingSheet
from stirfall.bench.units import format_quantity
from stirfall.desktop.bench_form.typed import Quantity, Typed, read_lines
from stirfall.desktop.shown import Shown
from stirfall.session.weighing import Weighing, weighed

MASS_NAMES = ("charge_g", "product_g", "beads_g", "residue_g", "additive_g")
MASS_LABELS: Mapping[str, str] = {
    "charge_g": "charge",
    "product_g": "product",
    "beads_g": "beads",
    "residue_g": "residue",
    "additive_g": "additive",
}
SHEET: tuple[Quantity, ...] = (
    Quantity("step_g", "balance step", "g"),
    Quantity("bead_mm", "bead size", "mm"),
    Quantity("purity_percent", "metal in product", "%"),
    Quantity("purity_u_percent", "its uncertainty (u)", "%"),
)


@dataclass(frozen=True)
class MassState:
    """One weighing: the text of its line, of its tare ("" none), and the net mass that follows.

    Without a tare the line is the net mass; with one it is what stood on the balance.
    """

    name: str
    text: str
    value: float | None
    problem: Reason | None = None
    tare_text: str = ""
    tare: float | None = None
    echo: str = ""


@dataclass(frozen=True)
class WeighingState:
    """The whole sheet as understood, which of its questions are asked, and what the weighings add up to."""

    masses: tuple[MassState, ...]
    sheet_lines: tuple[Typed, ...]
    oil_removed: str
    result: Weighing | None = None

    @property
    def net(self) -> Masses:
        """The net masses as an attempt keeps them."""
        return Masses(**{item.name: item.value for item in self.masses})

    @property
    def sheet(self) -> WeighingSheet:
        """The sheet as an attempt keeps it; empty where nothing was weighed."""
        if not any(item.value is not None for item in self.masses):
            return NO_SHEET
        tares = tuple((item.name, item.tare) for item in self.masses if item.tare is not None)
        lines = {item.name: item.value for item in self.sheet_lines if item.name in self.asked}
        return WeighingSheet(tares=tares, oil_removed=self.oil_removed if self.asks_removal else "", **lines)

    def _is_weighed(self, name: str) -> bool:
        return any(item.name == name and item.text.strip() for item in self.masses)

    @property
    def asks_removal(self) -> bool:
        """Whether it matters how the oil was removed."""
        return self._is_weighed("product_g") or self._is_weighed("beads_g")

    @property
    def asked(self) -> tuple[str, ...]:
        """The lines of the sheet that are asked for these weighings."""
        beads = ("bead_mm",) if self._is_weighed("beads_g") else ()
        purity = ("purity_percent", "purity_u_percent") if self._is_weighed("product_g") else ()
        return ("step_g", *beads, *purity)

    @property
    def unread(self) -> str:
        """The label of the first line that cannot be read, "" where all can."""
        masses = [MASS_LABELS[item.name] for item in self.masses if item.text.strip() and item.value is None]
        lines = [
            item.quantity.label
            for item in self.sheet_lines
            if item.name in self.asked and item.text.strip() and item.value is None
        ]
        return next(iter([*masses, *lines]), "")


def read_weighing(
    texts: Mapping[str, str],
    tares: Mapping[str, str],
    sheet: Mapping[str, str],
    decimal: str,
    editing: str | None,
) -> WeighingState:
    """Return the sheet as understood; what it adds up to comes with ``added_up``."""
    masses = tuple(_read_mass(name, texts.get(name, ""), tares.get(name, ""), decimal) for name in MASS_NAMES)
    lines = read_lines(SHEET, sheet, decimal, editing, _check)
    return WeighingState(masses, lines, sheet.get("oil_removed", ""))


def added_up(state: WeighingState, campaign: CampaignState, lot: Lot | None, *, has_beads: bool) -> Weighing | None:
    """Return yield, recovery and closure of the sheet, None where nothing was weighed."""
    if state.unread or state.net == Masses():
        return None
    return weighed(campaign, state.net, state.sheet, lot, has_beads=has_beads)


def _check(name: str, value: float) -> None:
    replace(NO_SHEET, **{name: value})  # type: ignore[arg-type]  # the names of its numbers


def _read_mass(name: str, text: str, tare_text: str, decimal: str) -> MassState:
    if not text.strip():
        return MassState(name, text, None, tare_text=tare_text)
    try:
        read = Shown.of(decimal).read(text, "g")
        tare = Shown.of(decimal).read(tare_text, "g") if tare_text.strip() else None
        WeighingSheet(tares=() if tare is None else ((MASS_LABELS[name], tare),))
        # Twelve digits: 31.42 less 20.11 is 11.31, not 11.310000000000002.
        net = read if tare is None else float(f"{read - tare:.12g}")
        if tare is not None and net < 0:
            raise InputError("bench.tare_above", tare=tare_text.strip(), read=text.strip())
        Masses(**{name: net})
    except InputError as error:
        told = {**error.params, "name": MASS_LABELS[name]}
        return MassState(name, text, None, Reason(error.code, told), tare_text)
    echo = "" if tare is None else f"= {format_quantity(net, 'g', digits=6, decimal=decimal)} net"
    return MassState(name, text, net, None, tare_text, tare, echo)
