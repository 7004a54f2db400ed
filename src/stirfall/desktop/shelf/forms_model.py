"""The forms of the shelf without their widgets: start and correct jars, register and correct lots, inspect."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.substances import SurfaceLook
from stirfall.desktop.notifier import Notice
from stirfall.desktop.shelf.jar_form import (
    JarForm,
    ReadJar,
    jar_form_of,
    last_started,
    new_jar_form,
    read_jar_change,
    read_jar_form,
    remembered_text,
)
from stirfall.desktop.shelf.lot_form import (
    LotForm,
    ReadLot,
    lot_form_of,
    new_lot_form,
    read_lot_change,
    read_lot_form,
)
from stirfall.session.commands import AddJar, AddLot, ChangeJar, ChangeLot, InspectJar

if TYPE_CHECKING:
    from stirfall.bench.records import Jar, Lot
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.commands import Command
    from stirfall.session.document import Document


class FormsModel(QObject):
    """Fills in the forms of the shelf, reads them and does what they ask for.

    Signals:
        jar_started(str): a jar was put on the shelf.
    """

    jar_started = Signal(str)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace

    @property
    def _document(self) -> Document:
        assert self.workspace.document is not None
        return self.workspace.document

    # -- jars --------------------------------------------------------------------------------------

    def new_jar(self) -> JarForm:
        """Return the form for the next jar."""
        return new_jar_form(self._document.state, self.workspace.decimal)

    def jar_as_it_is(self, jar: Jar) -> JarForm:
        """Return the form that shows a jar, to be corrected."""
        return jar_form_of(jar, self.workspace.decimal)

    def remembered(self) -> str:
        """Return in words what the next jar takes over from the last one that was started."""
        return remembered_text(last_started(self._document.state), self.workspace.decimal)

    def read_jar(self, form: JarForm, corrects: str = "") -> ReadJar:
        """Return what a jar form means at this moment; ``corrects`` names the jar that it changes."""
        state, now = self._document.state, self._document.now()
        before = state.jar(corrects) if corrects else None
        return read_jar_form(form, state, now) if before is None else read_jar_change(form, before, state, now)

    def start_jar(self, form: JarForm) -> bool:
        """Put a jar on the shelf and take it in hand."""
        read = self.read_jar(form)
        if read.jar is None or self.workspace.execute(AddJar(read.jar), origin=self) is None:
            return False
        self._tell(f"Jar {read.jar.id} is on the shelf.")
        self.jar_started.emit(read.jar.id)
        return True

    def correct_jar(self, form: JarForm, jar_id: str) -> bool:
        """Correct a jar; the old values stay in the file."""
        read = self.read_jar(form, jar_id)
        if read.jar is None:
            return False
        return self._do(ChangeJar(read.jar, form.reason.strip()), f"Jar {jar_id} was corrected.")

    # -- lots --------------------------------------------------------------------------------------

    def new_lot(self) -> LotForm:
        """Return the form for the next lot."""
        return new_lot_form(self._document.state)

    def lot_as_it_is(self, lot: Lot) -> LotForm:
        """Return the form that shows a lot, to be corrected."""
        return lot_form_of(lot, self.workspace.decimal)

    def read_lot(self, form: LotForm, corrects: str = "") -> ReadLot:
        """Return what a lot form means at this moment; ``corrects`` names the lot that it changes."""
        state, now = self._document.state, self._document.now()
        before = state.lot(corrects) if corrects else None
        return read_lot_form(form, state, now) if before is None else read_lot_change(form, before, state, now)

    def register_lot(self, form: LotForm) -> bool:
        """Register a lot."""
        read = self.read_lot(form)
        return read.lot is not None and self._do(AddLot(read.lot), f"Lot {read.lot.id} is registered.")

    def correct_lot(self, form: LotForm, lot_id: str) -> bool:
        """Correct a lot; the old values stay in the file."""
        read = self.read_lot(form, lot_id)
        if read.lot is None:
            return False
        return self._do(ChangeLot(read.lot, form.reason.strip()), f"Lot {lot_id} was corrected.")

    # -- looks -------------------------------------------------------------------------------------

    @staticmethod
    def takes_alarm_back(jar: Jar, look: str) -> bool:
        """Whether this look takes back an alarming one, which needs a reason."""
        if not jar.look or not look:
            return False
        return SurfaceLook(jar.look).is_alarming and not SurfaceLook(look).is_alarming

    def inspect(self, jar_id: str, look: str, reason: str) -> bool:
        """Note how the surface of a jar's metal looks now."""
        command = InspectJar(jar_id, look, self._document.now(), reason.strip())
        return self._do(command, f"Jar {jar_id} was noted as {look}.")

    def _do(self, command: Command, told: str) -> bool:
        if self.workspace.execute(command, origin=self) is None:
            return False
        self._tell(told)
        return True

    def _tell(self, text: str) -> None:
        self.workspace.notify(Notice("info", text, "Undo", self.workspace.undo))
