"""The form that registers residue, on the shelf and in the closing list of a guided run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QCheckBox

from stirfall.desktop.bench_form.look import TARGET, text_label
from stirfall.desktop.notifier import Notice
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.shelf.forms import InPlaceForm, line
from stirfall.desktop.shelf.residue_form import NEW, ResidueForm, new_residue_form, next_residue_id, read_residue
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace


class ResidueEntry(InPlaceForm):
    """Asks into which jar the residue went, from which attempt, how much, how it is kept and where it stands.

    It reads, checks and records by itself. ``target`` is the least height of what is pressed.

    Signals:
        registered(str): the jar of residue, by its id, is in the register.
        left(): the person does not want it.
    """

    registered = Signal(str)

    def __init__(self, workspace: Workspace, *, target: int = TARGET) -> None:
        super().__init__("Register residue", "Register it", "register_residue")
        self.workspace = workspace
        self._into = NEW
        self.about = text_label(sentence("residue.about"), "muted")
        self.into = ChoiceRow("It goes into", "residue_into", target=target)
        self.into.chosen.connect(self._choose)
        self.attempts = line("residue_attempts", self.judge, "such as 12")
        self.mass = line("residue_mass", self.judge, "not weighed")
        self.place = line("residue_place", self.judge, "such as the steel cupboard")
        self.capped = self._tick("It is capped", "residue_capped")
        self.under_oil = self._tick("It is under oil", "residue_under_oil")
        self.unsafe = text_label(role="caution")
        self.unsafe.setObjectName("residue_unsafe")
        self.grid.addWidget(self.about, 1, 0, 1, 4)
        self.add("into", "Into", self.into, 2, span=3)
        self.add("attempts", "Attempt", self.attempts, 3)
        self.add("mass", "Mass, g", self.mass, 3, column=2)
        self.add("place", "It stands", self.place, 4, span=3)
        self.grid.addWidget(self.capped, 9, 1)
        self.grid.addWidget(self.under_oil, 9, 2, 1, 2)
        self.grid.addWidget(self.unsafe, 10, 0, 1, 4)
        self.finish(6)
        for widget in (self.accept, self.cancel, self.attempts, self.mass, self.place, self.capped, self.under_oil):
            widget.setMinimumHeight(target)
        self.accepted.connect(self.register)

    def _tick(self, text: str, name: str) -> QCheckBox:
        tick = QCheckBox(text)
        tick.setObjectName(name)
        tick.setAccessibleName(text)
        tick.toggled.connect(lambda _is_on: self.judge())
        return tick

    @property
    def form(self) -> ResidueForm:
        """The entries."""
        return ResidueForm(
            self._into,
            self.attempts.text(),
            self.mass.text(),
            self.capped.isChecked(),
            self.under_oil.isChecked(),
            self.place.text(),
        )

    def open_for(self, number: int | None = None) -> None:
        """Fill the form in for the residue of an attempt, by its number, or of the newest one."""
        document = self.workspace.document
        if document is None:
            return
        form = new_residue_form(document.state, number, self.workspace.decimal)
        with QSignalBlocker(self):
            self._into = form.into
            self.attempts.setText(form.attempts)
            self.mass.setText(form.mass)
            self.place.setText(form.place)
            self.capped.setChecked(False)
            self.under_oil.setChecked(False)
        self.judge()
        self.mass.setFocus()

    def _choose(self, into: str) -> None:
        self._into = into
        self.judge()

    def judge(self) -> None:
        """Show what is wrong, and what is not yet safe."""
        document = self.workspace.document
        if document is None:
            return
        state = document.state
        choices = [(NEW, f"a new jar, {next_residue_id(state)}"), *((jar.id, jar.id) for jar in state.residues)]
        self.into.show_choices(choices, self._into)
        self.show_problems(read_residue(self.form, state, document.now()).problems, self.workspace.decimal)
        is_safe = self.capped.isChecked() and self.under_oil.isChecked()
        self.unsafe.setText("" if is_safe else "⚠ " + sentence("residue.not_kept"))
        self.unsafe.setVisible(not is_safe)

    def register(self) -> str | None:
        """Record it in one step that one undo takes back; return the jar, None where it was refused."""
        document = self.workspace.document
        if document is None:
            return None
        read = read_residue(self.form, document.state, document.now())
        if read.jar is None or read.command is None or self.workspace.execute(read.command, origin=self) is None:
            return None
        told = sentence("residue.registered", {"jar": read.jar.id})
        self.workspace.notify(Notice("info", told, "Undo", self.workspace.undo))
        self.registered.emit(read.jar.id)
        return read.jar.id


class HandOverPanel(InPlaceForm):
    """Notes that a jar of residue went to the licensed waste route, and to whom."""

    def __init__(self) -> None:
        super().__init__("Hand residue over", "Note it", "hand_over")
        self.grid.addWidget(text_label(sentence("residue.about_hand_over")), 1, 0, 1, 4)
        self.to = line("hand_over_to", lambda: None, "name of the person or the service")
        self.add("to", "To whom", self.to, 2, span=3)
        self.finish(3)

    def open_for(self, jar_id: str) -> None:
        """Ask about a jar."""
        self.rename(f"Hand over jar {jar_id}", "Note the hand-over")
        self.to.clear()
        self.to.setFocus()
