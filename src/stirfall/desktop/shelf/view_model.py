"""The shelf without its widgets: live ages, chances from the background, and jars in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.answers import conditions_of
from stirfall.desktop.odds.lots import answer_for, answered_lot
from stirfall.desktop.shelf.state import (
    JarForm,
    JarRow,
    LotForm,
    ReadJar,
    ReadLot,
    ShelfState,
    class_warning,
    jar_rows,
    new_jar_form,
    new_lot_form,
    read_jar_form,
    read_lot_form,
)
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.commands import AddJar, AddLot, Changes, EmptyJar

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

CLOCK_INTERVAL_MS = 60_000
_SLOT = "shelf chances"


class ShelfModel(QObject):
    """Holds what the shelf shows.

    Signals:
        changed(ShelfState or None): what to show; None without a session.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state: ShelfState | None = None
        self._selected: str | None = None
        self._estimates: dict[str, Estimate] = {}
        self._timer = QTimer(self)
        self._timer.setInterval(CLOCK_INTERVAL_MS)
        self._timer.timeout.connect(self.tick)
        self._timer.start()
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._estimate)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        self._selected = None
        self._estimates = {}
        self.state = None
        if self.workspace.document is None:
            self.changed.emit(None)
            return
        self.refresh()
        if self.workspace.analysis is not None:
            self._estimate(self.workspace.analysis)

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.shelf or changes.settings or changes.factors or changes.attempts:
            self.refresh()

    def tick(self) -> None:
        """The clock moved: ages and chances are worked out again."""
        self.refresh()
        if self.workspace.analysis is not None and not self.workspace.is_stale:
            self._estimate(self.workspace.analysis)

    def refresh(self, *_unused: object) -> None:
        """Work out again what the shelf shows."""
        document = self.workspace.document
        if document is None:
            return
        campaign, decimal = document.state, self.workspace.decimal
        rows = jar_rows(campaign, document.now(), decimal, self._estimates)
        if self._selected not in {row.jar.id for row in rows}:
            self._selected = None
        new = ShelfState(
            rows=rows,
            lots=campaign.lots,
            selected=self._selected,
            warning=class_warning(campaign.settings.material),
            is_stale=self.workspace.is_stale,
            chances_rest_on=next(iter(self._estimates.values()), None),
            can_change=not document.read_only,
            now=document.now(),
            decimal=decimal,
        )
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    def _estimate(self, analysis: Analysis) -> None:
        document = self.workspace.document
        if document is None:
            return
        wanted = {
            row.jar.id: _in_hand(row)
            for row in jar_rows(document.state, document.now(), self.workspace.decimal, {})
            if row.conditions
        }
        self.workspace.submit(lambda token: _chances(analysis, wanted, token), self._take_estimates, slot=_SLOT)

    def _take_estimates(self, estimates: dict[str, Estimate]) -> None:
        self._estimates = estimates
        self.refresh()

    # -- jars in hand ------------------------------------------------------------------------------

    def select(self, jar_id: str | None) -> None:
        """Take a jar in hand: the odds pane then answers for its ages."""
        if jar_id == self._selected:
            return
        self._selected = jar_id
        self.refresh()
        self.push_in_hand()

    def push_in_hand(self) -> None:
        """Show the other views the conditions of the selected jar."""
        row = self.state.selected_row if self.state else None
        if row is not None:
            self.workspace.set_in_hand(_in_hand(row), origin=self)

    def _on_in_hand_changed(self, in_hand: InHand, origin: object) -> None:
        if origin is not self and in_hand.source != "jar" and self._selected is not None:
            self._selected = None
            self.refresh()

    def use_on_bench(self) -> None:
        """Put the selected jar into the bench form."""
        row = self.state.selected_row if self.state else None
        if row is not None:
            self.workspace.request_form(FormRequest(Conditions(), row.jar.id, f"jar {row.jar.id} from the shelf"))

    def take_off(self) -> bool:
        """Take the selected jar off the shelf for good; it can be undone."""
        document, row = self.workspace.document, self.state.selected_row if self.state else None
        if document is None or row is None:
            return False
        if self.workspace.execute(EmptyJar(row.jar.id, document.now()), origin=self) is None:
            return False
        self.workspace.notify(Notice("info", f"Jar {row.jar.id} is off the shelf.", "Undo", self.workspace.undo))
        return True

    # -- new jars and lots -------------------------------------------------------------------------

    def new_jar(self) -> JarForm:
        """Return the form for the next jar."""
        assert self.workspace.document is not None
        return new_jar_form(self.workspace.document.state)

    def new_lot(self) -> LotForm:
        """Return the form for the next lot."""
        assert self.workspace.document is not None
        return new_lot_form(self.workspace.document.state)

    def read_jar(self, form: JarForm) -> ReadJar:
        """Return what a jar form means at this moment."""
        assert self.workspace.document is not None
        return read_jar_form(form, self.workspace.document.state, self.workspace.document.now())

    def read_lot(self, form: LotForm) -> ReadLot:
        """Return what a lot form means at this moment."""
        assert self.workspace.document is not None
        return read_lot_form(form, self.workspace.document.state, self.workspace.document.now())

    def start_jar(self, form: JarForm) -> bool:
        """Put a jar on the shelf and take it in hand."""
        read = self.read_jar(form)
        if read.jar is None or self.workspace.execute(AddJar(read.jar), origin=self) is None:
            return False
        self.workspace.notify(Notice("info", f"Jar {read.jar.id} is on the shelf.", "Undo", self.workspace.undo))
        self.select(read.jar.id)
        return True

    def register_lot(self, form: LotForm) -> bool:
        """Register a lot."""
        read = self.read_lot(form)
        if read.lot is None or self.workspace.execute(AddLot(read.lot), origin=self) is None:
            return False
        self.workspace.notify(Notice("info", f"Lot {read.lot.id} is registered.", "Undo", self.workspace.undo))
        return True


def _in_hand(row: JarRow) -> InHand:
    return InHand(row.conditions, "jar", f"Jar {row.jar.id}", lot_id=row.jar.lot_id, jar_id=row.jar.id)


def _chances(analysis: Analysis, wanted: dict[str, InHand], token: CancelToken) -> dict[str, Estimate]:
    """Return the chance of each jar, answered for its own lot where the attempts know that lot."""
    chances: dict[str, Estimate] = {}
    for jar_id, jar in wanted.items():
        token.raise_if_cancelled()
        try:
            answer = answer_for(analysis, answered_lot(analysis, jar))
            chances[jar_id] = answer.estimate(answer.complete(conditions_of(answer, jar)))
        except StirfallError:
            continue  # a jar whose chance cannot be told shows none
    return chances
