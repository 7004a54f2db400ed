"""The head of the first part: the file, its sheet, and how it was read."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QCheckBox, QSpinBox, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import HALF_GAP, TARGET, button, guard_from_wheel
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.importing.state import ImportState
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.reporting.import_words import DELIMITER_WORDS, ENCODING_WORDS, reading_text, reason_text

if TYPE_CHECKING:
    from stirfall.desktop.importing.model import ImportModel

_LAST_ROW = 1_048_576
_CODES = ("import.formulas_refused", "import.formulas_stored")


class FilePart(QWidget):
    """Says how the file was read, and lets that be changed.

    Signals:
        another_wanted(): another file shall be chosen.
    """

    another_wanted = Signal()

    def __init__(self, model: ImportModel) -> None:
        super().__init__()
        self._model = model
        self.how, self.remarks = wrapped_label("import_how"), wrapped_label("import_remarks", "muted")
        self.another = button("Another &file…", "import_another")
        self.sheet, self.encoding, self.delimiter = CalmCombo(), CalmCombo(), CalmCombo()
        self.heading = QSpinBox()
        self.stored = QCheckBox("Take the &values stored with formulas")
        self._groups: dict[str, QWidget] = {}
        self._build()
        self.another.clicked.connect(self.another_wanted)
        self.sheet.activated.connect(lambda _at: self._read_again())
        self.encoding.activated.connect(lambda _at: self._read_again())
        self.delimiter.activated.connect(lambda _at: self._read_again())
        self.heading.editingFinished.connect(self._heading_typed)
        self.stored.toggled.connect(lambda _on: self._read_again())

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        for mark, words in DELIMITER_WORDS.items():
            self.delimiter.addItem(words, mark)
        for code, words in ENCODING_WORDS.items():
            self.encoding.addItem(words, code)
        self.heading.setRange(1, _LAST_ROW)
        self.stored.setObjectName("import_stored")
        name_control(self.stored, "Take the values stored with formulas", "Otherwise a formula is refused")
        titles = (
            ("sheet", "&Sheet", self.sheet, "The sheet of the workbook that is read"),
            ("encoding", "&Letters", self.encoding, "How the letters are coded in the file"),
            ("delimiter", "Cells a&part by", self.delimiter, "What stands between the cells of a row"),
            ("heading", "&Headings in row", self.heading, "The row that names the columns"),
        )
        for name, title, editor, words in titles:
            editor.setObjectName(f"import_{name}")
            editor.setMinimumHeight(TARGET)
            guard_from_wheel(editor)
            if isinstance(editor, CalmCombo):
                editor.setMinimumContentsLength(10)
            group = row_of(labelled(title, editor, description=words), editor)
            self._groups[name] = group
        column.addWidget(self.how)
        column.addWidget(row_of(self.another, *self._groups.values(), self.stored))
        column.addWidget(self.remarks)

    def render_state(self, state: ImportState) -> None:
        """Show how the file was read."""
        table = state.table
        is_text = table is not None and bool(table.delimiter)
        self.how.setText(f"{state.name}. {reading_text(table)}" if table is not None else state.name)
        show_text(self.remarks, "" if table is None else "  ".join(map(reason_text, table.remarks)))
        for name in ("encoding", "delimiter"):
            self._groups[name].setVisible(is_text)
        self._groups["sheet"].setVisible(len(state.sheets) > 1)
        self._groups["heading"].setVisible(table is not None)
        has_formulas = table is not None and any(each.code in _CODES for each in table.remarks)
        self.stored.setVisible(has_formulas)
        if table is None:
            return
        with QSignalBlocker(self.sheet), QSignalBlocker(self.heading), QSignalBlocker(self.stored):
            self.sheet.clear()
            for each in state.sheets:
                self.sheet.addItem(
                    f"{each.name} (hidden)" if each.is_hidden else each.name or "the table", each.name
                )
            self.sheet.setCurrentIndex(max(0, self.sheet.findData(table.sheet)))
            self.heading.setValue(table.heading)
            self.stored.setChecked(state.choices.stored)
        with QSignalBlocker(self.encoding), QSignalBlocker(self.delimiter):
            self.encoding.setCurrentIndex(max(0, self.encoding.findData(table.encoding)))
            self.delimiter.setCurrentIndex(max(0, self.delimiter.findData(table.delimiter)))

    def _heading_typed(self) -> None:
        table = self._model.state.table
        if table is not None and self.heading.value() != table.heading:
            self._read_again(heading=self.heading.value())

    def _read_again(self, heading: int | None = None) -> None:
        state = self._model.state
        sheet = str(self.sheet.currentData() or "")
        is_other = state.table is not None and sheet != state.table.sheet
        choices = replace(
            state.choices,
            encoding=str(self.encoding.currentData()),
            delimiter=str(self.delimiter.currentData()),
            heading=None if is_other else heading or state.choices.heading,
            stored=self.stored.isChecked(),
        )
        self._model.read_again(sheet, choices)
