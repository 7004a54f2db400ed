"""What was typed into the assay calculator, what follows from it, and the results that were kept."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import InputError
from stirfall.bench.units import format_number, parse_number
from stirfall.desktop.physics.assay_answers import AssayAnswer, answer
from stirfall.desktop.physics.assay_inputs import BY_KEY, METHODS, AssayInput, AssayMethod, MethodKey
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import ChangeLot

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stirfall.desktop.workspace import Workspace
    from stirfall.physics.assay import Repeated
    from stirfall.physics.measured import Measured

_MOST_COUNT = 8


@dataclass(frozen=True)
class Typed:
    """What stands in the two fields of one input."""

    value: str = ""
    u: str = ""


@dataclass(frozen=True)
class Kept:
    """One result that was kept for the mean."""

    method: AssayMethod
    measured: Measured

    def text(self, decimal: str) -> str:
        """Write it with the word of its method."""
        return f"{self.method.word.replace('&', '')}: {self.measured.text(decimal=decimal)}"


@dataclass(frozen=True)
class AssayState:
    """One calculator. ``problem`` says what stands in the way of an answer, ``waiting`` what is still to enter."""

    method: AssayMethod = METHODS[0]
    typed: Mapping[str, Typed] = field(default_factory=dict)
    over_water: bool | None = None
    answer: AssayAnswer | None = None
    problem: str = ""
    waiting: str = ""
    kept: tuple[str, ...] = ()
    mean: str = ""
    lots: tuple[str, ...] = ()
    no_store: str = ""
    store_note: str = ""


class AssayModel(QObject):
    """Holds one AssayState and answers to what is typed.

    Signals:
        changed(AssayState): something that is shown has changed.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._decimal = workspace.decimal
        self._typed: dict[tuple[MethodKey, str], Typed] = {}
        self._kept: list[Kept] = []
        self.state = AssayState()
        self._work_out()

    # -- intents ---------------------------------------------------------------------------------------

    def choose_method(self, key: MethodKey) -> None:
        """Show another calculation; what was typed into the others stays."""
        self.state = replace(self.state, method=BY_KEY[key])
        self._work_out()

    def set_value(self, key: str, text: str) -> None:
        """Take what was typed as the value of an input."""
        self._set(key, replace(self._of(key), value=text))

    def set_u(self, key: str, text: str) -> None:
        """Take what was typed as the standard uncertainty of an input."""
        self._set(key, replace(self._of(key), u=text))

    def set_water(self, over_water: bool | None) -> None:
        """Say whether the gas stood over water; None: not said."""
        self.state = replace(self.state, over_water=over_water)
        self._work_out()

    def keep(self) -> None:
        """Keep the present metal content for the mean."""
        found = self.state.answer
        if found is not None and found.percent is not None:
            self._kept.append(Kept(self.state.method, found.percent))
            self._work_out()

    def drop(self, place: int) -> None:
        """Let go of a kept result."""
        del self._kept[place]
        self._work_out()

    def use_concentration(self) -> None:
        """Take the concentration that was found into the titration, with its uncertainty."""
        found = self.state.answer
        if found is None or found.concentration is None:
            return
        u = found.concentration.u
        value, shown = self._written(found.concentration.value, 6), "" if u is None else self._written(u, 3)
        self._typed["titration", "concentration"] = Typed(value, shown)
        self.choose_method("titration")

    def store(self, lot_id: str, reason: str) -> str:
        """Store the mean of the kept results as the metal of a lot; returns what stands in the way, else ""."""
        from stirfall.session.weighing import assayed_lot

        document = self._workspace.document
        lot = None if document is None else document.state.lot(lot_id)
        if lot is None or not self._kept:
            return sentence("assay_dialog.no_lot")
        if not reason.strip():
            return sentence("assay_dialog.reason_missing")
        try:
            changed = assayed_lot(lot, self._repeated())
        except InputError as error:
            return error_sentence(error, decimal=self._decimal)
        if self._workspace.execute(ChangeLot(changed, reason.strip()), origin=self) is None:
            return ""
        mean = self._repeated().measured.text(decimal=self._decimal)
        text = sentence("assay_dialog.stored", {"lot": lot_id, "mean": mean})
        self._workspace.notifier.info(text, "Undo", self._workspace.undo)
        self._work_out()
        return ""

    def _written(self, number: float, digits: int) -> str:
        """Write a number for a field, without a power of ten."""
        return f"{Decimal(f'{number:.{digits}g}'):f}".replace(".", self._decimal)

    # -- working out -------------------------------------------------------------------------------------

    def _of(self, key: str) -> Typed:
        return self._typed.get((self.state.method.key, key), Typed())

    def _set(self, key: str, typed: Typed) -> None:
        self._typed[self.state.method.key, key] = typed
        self._work_out()

    def _work_out(self) -> None:
        method = self.state.method
        found, problem, waiting = None, "", ""
        try:
            inputs, missing = self._read(method)
            if missing:
                waiting = sentence("assay_dialog.waiting", {"missing": ", ".join(missing)})
            else:
                found = answer(method.key, inputs, over_water=self.state.over_water, decimal=self._decimal)
        except InputError as error:
            problem = error_sentence(error, decimal=self._decimal)
        document = self._workspace.document
        by_base = any(kept.method.key == "titration" for kept in self._kept)
        self.state = replace(
            self.state,
            typed={item.key: self._of(item.key) for item in method.inputs},
            answer=found,
            problem=problem,
            waiting=waiting,
            kept=tuple(kept.text(self._decimal) for kept in self._kept),
            mean=self._mean(),
            lots=() if document is None else tuple(lot.id for lot in document.state.lots),
            no_store=self._why_no_store(),
            store_note=sentence("assay_dialog.counts_base") if by_base else "",
        )
        self.changed.emit(self.state)

    def _read(self, method: AssayMethod) -> tuple[dict[str, Measured], list[str]]:
        """Return what was typed as measured values, and the labels of what is still missing."""
        inputs: dict[str, Measured] = {}
        missing: list[str] = []
        for item in method.inputs:
            read = self._read_one(item, self._of(item.key))
            if read is not None:
                inputs[item.key] = read
            elif not item.is_optional:
                missing.append(f"{item.label[:1].lower()}{item.label[1:]}")
        return inputs, missing

    def _read_one(self, item: AssayInput, typed: Typed) -> Measured | None:
        from stirfall.physics.measured import Measured, exact

        if item.kind == "relative_u":
            u = self._number(item, typed.u, is_u=True)
            return None if u is None else Measured(u, 0.0)
        value = self._number(item, typed.value)
        if value is None:
            return None if item.usual is None else exact(item.usual, item.unit)
        if item.kind == "count":
            if value != round(value) or not 1 <= value <= _MOST_COUNT:
                raise InputError("assay_dialog.not_whole", label=item.label, most=_MOST_COUNT)
            return exact(value)
        return Measured(value, self._number(item, typed.u, is_u=True), item.unit)

    def _number(self, item: AssayInput, text: str, *, is_u: bool = False) -> float | None:
        if not text.strip():
            return None
        try:
            number = parse_number(text, decimal=self._decimal)
        except InputError as error:
            why = error_sentence(error, decimal=self._decimal)
            raise InputError("assay_dialog.unreadable", label=item.label, why=why) from error
        if is_u and number < 0:
            raise InputError("assay_dialog.negative_u", label=item.label)
        return number

    def _repeated(self) -> Repeated:
        from stirfall.physics.assay import mean_of_assays

        own = [kept.measured.u for kept in self._kept]
        known = [u for u in own if u is not None]
        each = (sum(u * u for u in known) / len(own)) ** 0.5 if len(known) == len(own) else None
        return mean_of_assays([kept.measured.value for kept in self._kept], each_u=each)

    def _mean(self) -> str:
        if not self._kept:
            return ""
        told = self._repeated()
        mean = told.measured.text(decimal=self._decimal)
        if told.n == 1:
            return sentence("assay_dialog.mean_one", {"mean": mean, "note": sentence("assay.one_only")})
        interval = ""
        if told.lower is not None and told.upper is not None:
            low, high = (format_number(end, digits=3, decimal=self._decimal) for end in (told.lower, told.upper))
            interval = sentence(
                "assay_dialog.interval", {"level": round(100 * told.level), "low": low, "high": high}
            )
        return sentence("assay_dialog.mean_of", {"n": told.n, "mean": mean, "interval": interval})

    def _why_no_store(self) -> str:
        document = self._workspace.document
        if document is None or not document.state.lots:
            return sentence("assay_dialog.no_lot")
        return sentence("assay_dialog.read_only") if document.read_only else ""
