"""The forms of the shelf in the place where they open: one at a time, read while they are filled in."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.desktop.bench_form.checklist import quiet_scroll
from stirfall.desktop.shelf.forms import InPlaceForm
from stirfall.desktop.shelf.inspect_panel import InspectPanel
from stirfall.desktop.shelf.jar_form import JarForm
from stirfall.desktop.shelf.jar_panel import JarPanel
from stirfall.desktop.shelf.lot_form import LotForm
from stirfall.desktop.shelf.lot_panel import LotPanel
from stirfall.desktop.shelf.residue_entry import HandOverPanel, ResidueEntry
from stirfall.desktop.shelf.split_form import SplitForm
from stirfall.desktop.shelf.split_model import SplitModel
from stirfall.desktop.shelf.split_panel import SplitPanel
from stirfall.desktop.shelf.view_model import ShelfModel
from stirfall.desktop.theme import Theme
from stirfall.planning.limits_exposure import is_alarming


class FormArea(QObject):
    """Opens, judges and accepts the forms; ``area`` is the widget that shows them.

    Signals:
        opened(): a form stands there now.
        closed(str): no form stands there any more; which one was accepted, "" when it was left.
    """

    opened = Signal()
    closed = Signal(str)

    def __init__(self, model: ShelfModel, parent: QWidget) -> None:
        super().__init__(parent)
        self.workspace, self.model, self.forms = model.workspace, model, model.forms
        self.split_model = SplitModel(model.workspace, self)
        self.jar_panel, self.lot_panel, self.inspect_panel = JarPanel(), LotPanel(), InspectPanel()
        self.split_panel, self.residue_entry = SplitPanel(), ResidueEntry(model.workspace)
        self.hand_over_panel = HandOverPanel()
        self.panels: tuple[InPlaceForm, ...] = (
            self.jar_panel,
            self.lot_panel,
            self.inspect_panel,
            self.split_panel,
            self.residue_entry,
            self.hand_over_panel,
        )
        holder = QWidget()
        inside = QVBoxLayout(holder)
        inside.setContentsMargins(0, 0, 0, 0)
        for panel in self.panels:
            inside.addWidget(panel)
            panel.hide()
            panel.left.connect(self.close)
        inside.addStretch(1)
        self.area = quiet_scroll(holder, "shelf_forms")
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.hide()
        self._connect()

    def _connect(self) -> None:
        self.model.changed.connect(lambda _state: self._close_for_gone())
        self.jar_panel.edited.connect(self._judge_jar)
        self.lot_panel.edited.connect(self._judge_lot)
        self.lot_panel.lot_wanted.connect(self.correct_lot)
        self.inspect_panel.edited.connect(self._judge_look)
        self.split_panel.edited.connect(self._judge_split)
        self.split_model.films_foretold.connect(self.split_panel.show_films)
        self.jar_panel.accepted.connect(self._accept_jar)
        self.lot_panel.accepted.connect(self._accept_lot)
        self.inspect_panel.accepted.connect(self._accept_look)
        self.split_panel.accepted.connect(self._accept_split)
        self.residue_entry.registered.connect(lambda _jar: self.close("residue"))
        self.hand_over_panel.accepted.connect(self._accept_hand_over)

    @property
    def is_open(self) -> bool:
        """Whether a form stands there."""
        return any(not panel.isHidden() for panel in self.panels)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.split_panel.apply_theme(theme)

    def _close_for_gone(self) -> None:
        """Close a form about a jar that undo has taken away meanwhile."""
        document, inspected = self.workspace.document, self.inspect_panel.jar
        about = self.jar_panel.corrects if not self.jar_panel.isHidden() else ""
        if inspected is not None and not self.inspect_panel.isHidden():
            about = inspected.id
        if about and document is not None and document.state.jar(about) is None:
            self.close()

    # -- opening and closing -----------------------------------------------------------------------

    def _open(self, panel: QWidget) -> None:
        for each in self.panels:
            each.setVisible(each is panel)
        self.opened.emit()
        # Nothing scrolls sideways, so the page is at least as wide as the form; larger text needs more.
        bar = self.area.verticalScrollBar()
        self.area.setMinimumWidth(panel.minimumSizeHint().width() + bar.sizeHint().width())
        bar.setValue(0)

    def close(self, accepted: str = "") -> None:
        """Close the forms; what stood there before comes back."""
        for panel in self.panels:
            panel.hide()
        self.closed.emit(accepted)

    def start_jar(self) -> None:
        """Open the form that starts a jar."""
        state = self.model.state
        if state is None or not state.lots:
            return
        self._open(self.jar_panel)
        self.jar_panel.open_with(self.forms.new_jar(), state.lots, state.now, self.forms.remembered())

    def correct_jar(self) -> None:
        """Open the form that corrects the chosen jar."""
        state = self.model.state
        row = (state.selected_row or state.selected_plan) if state else None
        if state is None or row is None:
            return
        self._open(self.jar_panel)
        self.jar_panel.open_to_correct(row.jar, self.forms.jar_as_it_is(row.jar), state.lots)

    def register_lot(self) -> None:
        """Open the form that registers a lot."""
        state = self.model.state
        if state is None:
            return
        self._open(self.lot_panel)
        self.lot_panel.open_with(self.forms.new_lot(), state.now)

    def correct_lot(self, lot_id: str | bool = "") -> None:
        """Open the form that corrects a lot: the one named, that of the jar in hand, or the newest."""
        state = self.model.state
        if state is None or not state.lots:
            return
        wanted = lot_id if isinstance(lot_id, str) and lot_id else self._lot_in_hand  # a button hands over a bool
        lot = next((each for each in state.lots if each.id == wanted), state.lots[-1])
        self._open(self.lot_panel)
        self.lot_panel.open_to_correct(lot, self.forms.lot_as_it_is(lot), state.lots, state.now)

    @property
    def _lot_in_hand(self) -> str:
        """The lot of the jar in hand, else the one that is shown alone."""
        state = self.model.state
        if state is None:
            return ""
        return state.selected_row.jar.lot_id if state.selected_row else state.lot

    def split_lot(self) -> None:
        """Open the form that splits a lot: that of the jar in hand, or the newest."""
        state = self.model.state
        if state is None or not state.lots:
            return
        self._open(self.split_panel)
        form = self.split_model.new(self._lot_in_hand)
        self.split_panel.open_with(form, state.lots, state.now, may_plan=self.split_model.may_plan)

    def inspect(self) -> None:
        """Open the form that notes how the metal of the jar in hand looks."""
        row = self.model.state.selected_row if self.model.state else None
        if row is None:
            return
        self._open(self.inspect_panel)
        self.inspect_panel.open_for(row.jar)

    def register_residue(self, attempt: int = 0) -> None:
        """Open the form that registers residue of an attempt, by its number, or of the newest one."""
        if self.workspace.document is None:
            return
        self._open(self.residue_entry)
        self.residue_entry.open_for(attempt or None)

    def hand_over(self) -> None:
        """Open the form that notes where the chosen residue went."""
        row = self.model.state.selected_row if self.model.state else None
        if row is None or not row.jar.is_residue:
            return
        self._open(self.hand_over_panel)
        self.hand_over_panel.open_for(row.jar.id)

    # -- judging and accepting ---------------------------------------------------------------------

    def _judge_jar(self, form: JarForm) -> None:
        self.jar_panel.show_read(self.forms.read_jar(form, self.jar_panel.corrects), self.workspace.decimal)

    def _judge_lot(self, form: LotForm) -> None:
        self.lot_panel.show_read(self.forms.read_lot(form, self.lot_panel.corrects), self.workspace.decimal)

    def _judge_split(self, form: SplitForm) -> None:
        read = self.split_model.read(form)
        self.split_panel.show_read(read, self.workspace.decimal)
        self.split_model.foretell(read)

    def _judge_look(self) -> None:
        panel, document = self.inspect_panel, self.workspace.document
        if panel.jar is None or document is None:
            return
        look = panel.look.value or ""
        panel.show_asked(
            is_alarming=is_alarming(document.state.settings, look),
            takes_back=self.forms.takes_alarm_back(panel.jar, look),
            decimal=self.workspace.decimal,
        )

    def _accept_jar(self) -> None:
        panel = self.jar_panel
        corrects = panel.corrects
        done = self.forms.correct_jar(panel.form, corrects) if corrects else self.forms.start_jar(panel.form)
        if done:
            self.close("jar")

    def _accept_lot(self) -> None:
        panel = self.lot_panel
        corrects = panel.corrects
        done = self.forms.correct_lot(panel.form, corrects) if corrects else self.forms.register_lot(panel.form)
        if done:
            self.close("lot")

    def _accept_look(self) -> None:
        panel = self.inspect_panel
        if panel.jar is None or panel.look.value is None:
            return
        if self.forms.inspect(panel.jar.id, panel.look.value, panel.reason.text()):
            self.close("residue" if panel.jar.is_residue else "jar")

    def _accept_split(self) -> None:
        made = self.split_model.split(self.split_panel.form)
        if made:
            document = self.workspace.document
            started = document is not None and any(jar.id in made for jar in document.state.shelf)
            self.close("jar" if started else "planned")

    def _accept_hand_over(self) -> None:
        if self.model.hand_over(self.hand_over_panel.to.text()):
            self.close("residue")
