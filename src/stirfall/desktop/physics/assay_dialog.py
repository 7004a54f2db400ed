"""The assay calculator: results that someone already has, their uncertainty, and what they say of a lot."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.bench_form.look import button, rule
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.physics.assay_form import AssayForm
from stirfall.desktop.physics.assay_inputs import METHODS, MethodKey
from stirfall.desktop.physics.assay_model import AssayModel, AssayState
from stirfall.desktop.theme import SPACING, set_button_role, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_WIDTH = 96 * SPACING
_TARGET = 36


class AssayDialog(FramedDialog):
    """Shows an AssayState and passes wishes on; what is stored goes through one command."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("Assay calculator", parent)
        self.setObjectName("assay_dialog")
        self.model = AssayModel(workspace, self)
        self.forms = {method.key: AssayForm(method, self.model) for method in METHODS}
        self._tabs: dict[MethodKey, QPushButton] = {}
        self.found = wrapped_label("assay_found")
        self.notes = wrapped_label("assay_notes", "muted")
        self.keep = button("&Keep this result", "assay_keep", height=_TARGET)
        self.take = button("Use in the titratio&n", "assay_take", height=_TARGET)
        self.kept: list[tuple[QWidget, QLabel, QPushButton]] = []
        self.mean = wrapped_label("assay_mean")
        self.use = button("&Use for lot…", "assay_use", height=_TARGET)
        self.lot = CalmCombo()
        self.reason = QLineEdit()
        self.store = button("&Store in the lot", "assay_store", height=_TARGET)
        self.store_note = wrapped_label("assay_store_note", "muted")
        self.build(self._content_widget(), "&Close", cancel="").clicked.connect(self.accept)
        self._column.insertWidget(0, self._caution())  # above what scrolls
        self._verb_button.setAutoDefault(False)
        self._verb_button.setDefault(False)
        self._connect()
        self.render_state(self.model.state)
        self.fit(_WIDTH)
        self.forms["titration"].first_field.setFocus()

    # -- building --------------------------------------------------------------------------------------

    def _content_widget(self) -> QWidget:
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, SPACING, 0)
        column.setSpacing(SPACING)
        column.addLayout(self._tab_row())
        for form in self.forms.values():
            column.addWidget(form)
        column.addWidget(rule())
        column.addWidget(self.found)
        set_text_role(self.found, "heading")
        column.addWidget(self.notes)
        acts = QHBoxLayout()
        acts.setSpacing(SPACING)
        for act in (self.keep, self.take):
            acts.addWidget(act)
        acts.addStretch(1)
        column.addLayout(acts)
        self._kept_column = QVBoxLayout()
        self._kept_column.setSpacing(0)
        column.addLayout(self._kept_column)
        column.addWidget(self.mean)
        column.addWidget(self._storing())
        column.addStretch(1)
        return content

    def _caution(self) -> QFrame:
        frame = QFrame()
        set_surface_role(frame, "caution")
        text = wrapped_label("assay_caution")
        text.setText(sentence("assay.trained_only"))
        inside = QVBoxLayout(frame)
        inside.setContentsMargins(SPACING, SPACING, SPACING, SPACING)
        inside.addWidget(text)
        return frame

    def _tab_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(0)
        group = QButtonGroup(self)
        for method in METHODS:
            tab = QPushButton(method.word)
            tab.setObjectName(f"assay_method_{method.key}")
            tab.setCheckable(True)
            tab.setAutoDefault(False)
            set_button_role(tab, "step")
            name_control(tab, method.word.replace("&", ""))
            tab.clicked.connect(lambda _on=False, key=method.key: self.model.choose_method(key))
            group.addButton(tab)
            row.addWidget(tab)
            self._tabs[method.key] = tab
        row.addStretch(1)
        return row

    def _storing(self) -> QWidget:
        holder = QWidget()
        column = QVBoxLayout(holder)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING // 2)
        first = QHBoxLayout()
        first.addWidget(self.use)
        first.addStretch(1)
        column.addLayout(first)
        self._store_row = QWidget()
        row = QHBoxLayout(self._store_row)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SPACING)
        self.lot.setObjectName("assay_lot")
        self.reason.setObjectName("assay_reason")
        self.reason.setPlaceholderText("such as three assays of 3 March")
        for text, editor, stretch in (("&Lot", self.lot, 1), ("R&eason", self.reason, 3)):
            row.addWidget(labelled(text, editor))
            row.addWidget(editor, stretch)
        row.addWidget(self.store)
        self._store_row.hide()
        column.addWidget(self._store_row)
        column.addWidget(self.store_note)
        self.use.setCheckable(True)
        return holder

    def _connect(self) -> None:
        model = self.model
        model.changed.connect(self.render_state)
        self.keep.clicked.connect(model.keep)
        self.take.clicked.connect(model.use_concentration)
        self.use.toggled.connect(self._open_storing)
        self.store.clicked.connect(self._store)
        self.reason.returnPressed.connect(self._store)

    def _open_storing(self, is_open: bool) -> None:
        self._store_row.setVisible(is_open)
        if is_open:
            self.lot.setFocus()
            self._scroll_to(self._store_row)

    def _scroll_to(self, widget: QWidget) -> None:
        QApplication.sendPostedEvents()
        for area in self.findChildren(QScrollArea):
            area.ensureWidgetVisible(widget)

    def _store(self) -> None:
        problem = self.model.store(self.lot.currentText(), self.reason.text())
        self.show_problem(problem)
        if problem:
            self.reason.setFocus()
        else:
            self.reason.clear()
            self.use.setChecked(False)

    # -- showing ---------------------------------------------------------------------------------------

    def render_state(self, state: AssayState) -> None:
        """Show a state; showing it twice changes nothing."""
        key = state.method.key
        self._tabs[key].setChecked(True)
        for name, form in self.forms.items():
            form.setVisible(name == key)
        self.forms[key].show_state(state)
        answer = state.answer
        lines = [f"{label}: {text}" for label, text in answer.results] if answer is not None else []
        self.found.setText("\n".join(lines) or state.problem or state.waiting)
        set_text_role(self.found, "heading" if lines else "error" if state.problem else "muted")
        self.notes.setText("\n".join(answer.notes) if answer is not None else "")
        self.notes.setVisible(bool(self.notes.text()))
        self.keep.setEnabled(answer is not None and answer.percent is not None)
        self.keep.setVisible(key in ("titration", "gas"))
        self.take.setEnabled(answer is not None and answer.concentration is not None)
        self.take.setVisible(key == "titrant")
        self._render_kept(state)

    def _render_kept(self, state: AssayState) -> None:
        while len(self.kept) < len(state.kept):
            self._add_kept()
        for place, (holder, text, drop) in enumerate(self.kept):
            there = place < len(state.kept)
            holder.setVisible(there)
            if there:
                text.setText(state.kept[place])
                drop.setAccessibleName(f"Remove {state.kept[place]}")
        self.mean.setText(state.mean)
        self.mean.setVisible(bool(state.mean))
        self.use.setVisible(bool(state.kept))
        self.use.setEnabled(not state.no_store)
        if tuple(self.lot.itemText(index) for index in range(self.lot.count())) != state.lots:
            self.lot.clear()
            self.lot.addItems(list(state.lots))
        note = state.no_store or state.store_note
        self.store_note.setText(note)
        self.store_note.setVisible(bool(state.kept) and bool(note))
        if not state.kept:
            self.use.setChecked(False)

    def _add_kept(self) -> None:
        place = len(self.kept)
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        text = wrapped_label(f"assay_kept_{place + 1}")
        drop = QPushButton("Remove")
        drop.setObjectName(f"assay_drop_{place + 1}")
        drop.setAutoDefault(False)
        set_button_role(drop, "link")
        drop.clicked.connect(lambda: self.model.drop(place))
        row.addWidget(text, 1)
        row.addWidget(drop)
        self._kept_column.addWidget(holder)
        self.kept.append((holder, text, drop))
