"""The form in hand: each intent changes what is filled in; nothing here writes to the campaign's file."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from PySide6.QtCore import QObject, Signal

from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.units import warm_units
from stirfall.desktop.bench_form.checks import read_checklist
from stirfall.desktop.bench_form.filling import find_jar, jar_filled
from stirfall.desktop.bench_form.form import Entry, Form, Origin, in_shown_units, text_of, with_jar
from stirfall.desktop.bench_form.reasons import with_reason
from stirfall.desktop.bench_form.state import FormState, Surroundings, read_form, read_only_reason
from stirfall.desktop.bench_form.stepping import step_value
from stirfall.desktop.workspace import Workspace
from stirfall.planning.limits import OperatingLimits, operating_limits


class FormEntries(QObject):
    """Holds what is filled in, and works out what the form shows of it.

    Signals:
        changed(FormState): what to show; emitted only when it differs.
        edited(): something was filled in that the draft does not hold yet.
    """

    changed = Signal(object)
    edited = Signal()

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state: FormState | None = None
        self._form = Form()
        self._editing: str | None = None
        self._ticked: frozenset[str] = frozenset()
        self._limits: OperatingLimits | None = None
        self._warmed = False

    def refresh(self, *_unused: object) -> None:
        """Work out again what the form shows: the clock moved, or the session changed."""
        document = self.workspace.document
        if document is None:
            return
        if self._limits is None:
            self._limits = operating_limits(document.state)
        self._form = in_shown_units(self._form, document.state.factors, self.workspace.decimal)
        around = Surroundings(
            campaign=document.state,
            now=document.now(),
            decimal=self.workspace.decimal,
            limits=self._limits,
            checklist=read_checklist(document.state, document.now(), self._ticked),
            read_only=read_only_reason(document.read_only, document.read_only_reason),
            editing=self._editing,
        )
        new = read_form(self._form, around)
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    def _edit(self, form: Form) -> None:
        document = self.workspace.document
        if document is None or form == self._form:
            self.refresh()
            return
        if form.started_at is None:
            form = replace(form, started_at=document.now())
        self._form = form
        self.refresh()
        self.edited.emit()

    def pick_jar(self, text: str) -> bool:
        """Pick the jar called ``text`` (typed, scanned or chosen); an unknown one is kept as text and told."""
        document = self.workspace.document
        if document is None:
            return False
        if not text.strip():
            self._edit(self._with_jar(None, self._form.lot_id))
            return True
        jar = find_jar(text, document.state)
        if jar is None:
            self._edit(replace(self._with_jar(None, self._form.lot_id), jar_text=text))
            return False
        self._edit(jar_filled(self._form, jar, document.state, self.workspace.decimal, document.now()))
        return jar.emptied_at is None

    def _with_jar(self, jar_id: str | None, lot_id: str | None) -> Form:
        assert self.workspace.document is not None
        return with_jar(self._form, jar_id, lot_id, self.workspace.document.state, self.workspace.decimal)

    def pick_lot(self, lot_id: str | None) -> None:
        """Pick a lot for an attempt without a jar."""
        if self.workspace.document is not None and self._form.jar_id is None:
            self._edit(self._with_jar(None, lot_id))

    def set_started_at(self, moment: datetime | None) -> None:
        """Say when the attempt started; None is this very moment."""
        document = self.workspace.document
        if document is not None:
            self._edit(replace(self._form, started_at=moment or document.now()))

    def type_value(self, name: str, text: str) -> None:
        """Take the raw text of a number field while it is being typed."""
        self._warm()
        self._editing = name
        entry = self._form.entry(name)
        self._edit(self._form.with_entry(name, replace(entry, text=text, origin=Origin.TYPED)))

    def finish_typing(self) -> None:
        """The field was left: from now on a text that cannot be read is told as a problem."""
        if self._editing is not None:
            self._editing = None
            self.refresh()

    def step(self, name: str, direction: int) -> None:
        """Move a number one step up (1) or down (-1)."""
        if self.state is None:
            return
        item, shown = self.state.field(name), self.workspace.shown
        unit = item.factor.unit
        current = shown.value(item.value, unit) if isinstance(item.value, float) else None
        if current is None and item.entry.text.strip():
            return  # an unreadable text is never overwritten by a step
        value = step_value(shown.factor(item.factor), current, direction)
        self._editing = None
        entry = replace(self._form.entry(name), text=text_of(value, shown.decimal), origin=Origin.TYPED)
        self._edit(self._form.with_entry(name, entry))

    def choose(self, name: str, level: str | None) -> None:
        """Choose a level of a choice factor, or none (unknown)."""
        self._edit(self._form.with_entry(name, Entry(level or "")))

    def give_reason(self, name: str, reason: str) -> None:
        """Say why an age is not the clock's."""
        self._edit(self._form.with_entry(name, replace(self._form.entry(name), reason=reason)))

    def use_clock(self, name: str) -> None:
        """Take the clock's age again."""
        self._editing = None
        self._edit(self._form.with_entry(name, Entry(origin=Origin.CLOCK)))

    def set_parted(self, parted: Parted | None) -> None:
        """Answer the first question."""
        pooled = None if parted is Parted.NO else self._form.pooled
        self._edit(replace(self._form, parted=parted, pooled=pooled))

    def set_pooled(self, pooled: Pooled | None) -> None:
        """Answer the second question; it is closed when nothing parted."""
        if self.state is not None and self.state.pooled_enabled:
            self._edit(replace(self._form, pooled=pooled))

    def set_aborted(self, aborted: bool) -> None:
        """Say that the attempt was broken off."""
        self._edit(replace(self._form, aborted=aborted))

    def set_text(self, name: str, text: str) -> None:
        """Take ``note``, ``operator``, ``tool``, or the reason for breaking off (``abort_reason``)."""
        if name == "note":
            self._edit(replace(self._form, note=text))
        elif name == "operator":
            self._edit(replace(self._form, operator=text))
        elif name == "tool":
            self._edit(replace(self._form, tool=text))
        else:
            self._edit(replace(self._form, abort_reason=text))

    def set_mass(self, name: str, text: str) -> None:
        """Take the raw text of a weighing."""
        self._edit(replace(self._form, masses={**self._form.masses, name: text}))

    def set_tare(self, name: str, text: str) -> None:
        """Take the raw text of the tare of a weighing."""
        self._edit(replace(self._form, tares={**self._form.tares, name: text}))

    def set_sheet(self, name: str, text: str) -> None:
        """Take the raw text of a line of the weighing sheet, or how the oil was removed ("" unknown)."""
        self._warm()
        self._editing = name
        self._edit(replace(self._form, sheet={**self._form.sheet, name: text}))

    def set_seen(self, name: str, text: str) -> None:
        """Take the raw text of something that was seen."""
        self._warm()
        self._editing = name
        self._edit(replace(self._form, seen={**self._form.seen, name: text}))

    def set_look(self, look: str | None) -> None:
        """Say how the surface looks before melting."""
        self._edit(replace(self._form, look=look or ""))

    def set_counts_for_proof(self, counts: bool) -> None:
        """Say whether the attempt counts for the running proof; not any more once an outcome is known."""
        mark = self.state.proof if self.state is not None else None
        if mark is not None and not mark.locked:
            self._edit(replace(self._form, proof_id=mark.proof_id if counts else None))
        self.refresh()

    def set_empties_jar(self, empties: bool) -> None:
        """Say whether the jar is used up."""
        self._edit(replace(self._form, empties_jar=empties))

    def give_limit_reason(self, text: str) -> None:
        """Say why the warnings of the limits are gone past; a new value asks anew."""
        document = self.workspace.document
        if document is None or self.state is None:
            return
        if self._form.started_at is None:
            self._edit(replace(self._form, started_at=document.now()))  # so that the warnings keep their words
        reasons = with_reason(self.state.warned, self._form.reasons, text)
        self._edit(replace(self._form, reasons=reasons))

    def tick(self, key: str, ticked: bool) -> None:
        """Tick one line of the start checklist."""
        self._ticked = self._ticked | {key} if ticked else self._ticked - {key}
        self.refresh()

    def _warm(self) -> None:
        # Units other than times load pint, half a second of work that must not hold up typing.
        if not self._warmed:
            self._warmed = True
            self.workspace.submit(lambda _token: warm_units(), lambda _result: None)
