"""The labels dialog: which jars, which sheet and its first free position, with the preview beside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QCheckBox,
    QGridLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.bench_form.look import TARGET, button, guard_from_wheel
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.printing.label_pages import place_of
from stirfall.desktop.printing.labels_model import GROUP_TITLES, LabelsModel, LabelsState
from stirfall.desktop.printing.print_dialog import PrintingDialog
from stirfall.desktop.printing.sheet_choice import KINDS, LABELS
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.reporting.label_sheet import PAPERS

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_LIST_ROWS = 5
_PAIRS = (("columns", "rows"), ("width", "height"), ("gap_x", "gap_y"))
_GROUP_VERBS = {"shelf": "S&helf", "planned": "P&lanned", "residue": "&Residue", "products": "Pro&ducts"}
_MOST_COPIES = 20
_HINT = "Or press the first free label in the preview."
_TRUE_SIZE = "Print at true size (100 %), or the labels are missed."


class LabelsDialog(PrintingDialog):
    """Shows a LabelsState and passes wishes on."""

    def __init__(self, workspace: Workspace, parent: QWidget | None, jar_ids: tuple[str, ...] = ()) -> None:
        self.model = LabelsModel(workspace, jar_ids)
        super().__init__(workspace, "Print labels", "labels.pdf", self.model.preview, parent)
        self.setObjectName("labels_dialog")
        self.model.setParent(self)
        self.jars = QListWidget()
        self.groups = {group: button(verb, f"labels_group_{group}") for group, verb in _GROUP_VERBS.items()}
        self.kind, self.paper = CalmCombo(), CalmCombo()
        self.entries = {name: QLineEdit() for name in LABELS}
        self.start, self.copies = QSpinBox(), QSpinBox()
        guard_from_wheel(self.start)
        guard_from_wheel(self.copies)
        self.cut_lines = QCheckBox("&Cut lines, for plain paper")
        self._entry_labels: dict[str, QLabel] = {}
        self._hint, self._true_size = QLabel(_HINT), QLabel(_TRUE_SIZE)
        self.lay_out(self._choices())
        self._connect()
        self.render_state(self.model.state)
        self.kind.setFocus()

    # -- building ----------------------------------------------------------------------------------

    def _choices(self) -> QWidget:
        choices = QWidget()
        column = QVBoxLayout(choices)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING)
        self._add_jars(column)
        for kind in KINDS:
            self.kind.addItem(kind.title, kind.key)
        for paper in PAPERS:
            self.paper.addItem(paper, paper)
        self.kind.setObjectName("labels_kind")
        self.paper.setObjectName("labels_paper")
        self.start.setObjectName("labels_start")
        self.copies.setObjectName("labels_copies")
        self.copies.setRange(1, _MOST_COPIES)
        for spin in (self.start, self.copies):
            spin.lineEdit().setTextMargins(SPACING - 2, 0, 0, 0)
        for name, entry in self.entries.items():
            entry.setObjectName(f"labels_{name}")
        column.addLayout(self._row((("Shee&t", "kind", self.kind),)))
        column.addLayout(self._row((("P&aper", "paper", self.paper),)))
        for pair in _PAIRS:
            column.addLayout(self._row(tuple((LABELS[name], name, self.entries[name]) for name in pair)))
        column.addLayout(
            self._row((("&First free position", "start", self.start), ("&Of each", "copies", self.copies)))
        )
        self.cut_lines.setObjectName("labels_cut_lines")
        self.cut_lines.setMinimumHeight(TARGET)
        name_control(self.cut_lines, "Cut lines, for plain paper")
        for words in (self._hint, self._true_size):
            words.setWordWrap(True)
            set_text_role(words, "muted")
        for part in (self._hint, self.cut_lines, self._true_size):
            column.addWidget(part)
        return choices

    def _add_jars(self, column: QVBoxLayout) -> None:
        self.jars.setObjectName("labels_jars")
        self.jars.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.jars.setFixedHeight(_LIST_ROWS * (self.fontMetrics().height() + 2 * SPACING))
        column.addWidget(labelled("&Jars and products", self.jars))
        column.addWidget(self.jars)
        across = QGridLayout()
        across.setSpacing(SPACING)
        for place, (group, act) in enumerate(self.groups.items()):
            act.setCheckable(True)
            act.setAutoDefault(False)
            name_control(act, f"All {GROUP_TITLES[group]}")
            across.addWidget(act, *divmod(place, 2))
        column.addLayout(across)
        for line in self.model.state.lines:
            item = QListWidgetItem(line.text)
            item.setData(Qt.ItemDataRole.UserRole, line.key)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Unchecked)
            self.jars.addItem(item)

    def _row(self, parts: tuple[tuple[str, str, QWidget], ...]) -> QGridLayout:
        """Return editors side by side, each with its label above."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(2 * SPACING)
        grid.setVerticalSpacing(SPACING // 2)
        for place, (words, name, editor) in enumerate(parts):
            label = labelled(words, editor)
            self._entry_labels[name] = label
            editor.setMinimumHeight(TARGET)
            grid.addWidget(label, 0, place)
            grid.addWidget(editor, 1, place)
            grid.setColumnStretch(place, 1)
        return grid

    def _connect(self) -> None:
        model = self.model
        model.changed.connect(self.render_state)
        self.jars.itemChanged.connect(self._on_item)
        for group, act in self.groups.items():
            act.clicked.connect(lambda on, which=group: model.tick_group(which, on))
        self.kind.activated.connect(lambda _row: model.choose_kind(self.kind.currentData()))
        self.paper.activated.connect(lambda _row: model.choose_paper(self.paper.currentData()))
        for name, entry in self.entries.items():
            entry.textEdited.connect(lambda text, which=name: model.type_entry(which, text))
        self.start.valueChanged.connect(model.start_from)
        self.copies.valueChanged.connect(model.print_copies)
        self.cut_lines.toggled.connect(model.draw_cut_lines)
        self.preview.page.pressed.connect(self._start_where_pressed)

    def _on_item(self, item: QListWidgetItem) -> None:
        self.model.tick(item.data(Qt.ItemDataRole.UserRole), item.checkState() == Qt.CheckState.Checked)

    def _start_where_pressed(self, at: QPointF) -> None:
        sheet = self.model.state.sheet
        if sheet is None or self.preview_model.state.page != 0:
            return
        found = (place for place in range(sheet.per_page) if place_of(sheet, place).contains(at))
        if (place := next(found, None)) is not None:
            self.model.start_from(place + 1)

    # -- showing -----------------------------------------------------------------------------------

    def render_state(self, state: LabelsState) -> None:
        """Show the state; showing it twice changes nothing."""
        with QSignalBlocker(self.jars):
            for row, line in enumerate(state.lines):
                self.jars.item(row).setCheckState(
                    Qt.CheckState.Checked if line.is_ticked else Qt.CheckState.Unchecked
                )
        for group, act in self.groups.items():
            act.setEnabled(any(line.group == group for line in state.lines))
            act.setChecked(state.is_whole(group))
        self.kind.setCurrentIndex(self.kind.findData(state.form.kind))
        self.paper.setCurrentIndex(self.paper.findData(state.form.paper))
        self._show_row("paper", self.paper, "paper" in state.form.asked)
        for name, entry in self.entries.items():
            self._show_row(name, entry, name in state.form.asked)
            if entry.text() != state.form.texts[name]:
                entry.setText(state.form.texts[name])
        sheet = state.sheet
        has_places = sheet is not None and sheet.per_page > 1
        self._show_row("start", self.start, has_places)
        self._hint.setVisible(has_places)
        with QSignalBlocker(self.start), QSignalBlocker(self.cut_lines), QSignalBlocker(self.copies):
            self.copies.setValue(state.copies)
            self.start.setRange(1, sheet.per_page if sheet is not None else 1)
            self.start.setValue(state.start_at)
            self.start.setSuffix(f" of {sheet.per_page}" if sheet is not None else "")
            self.cut_lines.setChecked(state.cut_lines)
        places = range(sheet.per_page) if sheet is not None and has_places else ()
        self.preview.show_outlines(tuple(place_of(sheet, place) for place in places) if sheet is not None else ())

    def _show_row(self, name: str, editor: QWidget, shown: bool) -> None:
        editor.setVisible(shown)
        self._entry_labels[name].setVisible(shown)
