"""The third part: what comes in, the attempts as they will be, and every refused cell."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QFontMetrics, QGuiApplication
from PySide6.QtWidgets import QAbstractItemView, QCheckBox, QSizePolicy, QTableView, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, TARGET, button, heading
from stirfall.desktop.importing.grids import (
    REFUSED_HEADER,
    Grid,
    preview_cells,
    preview_header,
    refused_cells,
)
from stirfall.desktop.importing.state import ImportState
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.parts import row_of
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.save_dialog import ask_where
from stirfall.reporting.import_words import refused_csv, summary_lines
from stirfall.reporting.sentences import sentence
from stirfall.storage.copies import write_atomic

if TYPE_CHECKING:
    from stirfall.desktop.importing.model import ImportModel
    from stirfall.desktop.workspace import Workspace

_LEAST_TABLE = 110
_WIDTHS = (8, 24, 12, 28)
_REFUSED_WIDTHS = (30, 26)
_OPTIONS = (
    ("leaves_out", "&Leave out the rows with refused cells"),
    ("takes_twins", "Take in rows that the session has &already"),
    ("widens", "&Widen the ranges of factors to hold all rows"),
    ("without_result", "The table tells &no outcome, and that is right"),
)


class PreviewPart(QWidget):
    """Says in words and rows what would be written."""

    def __init__(self, model: ImportModel, workspace: Workspace) -> None:
        super().__init__()
        self._model, self._workspace = model, workspace
        self.summary = wrapped_label("import_summary")
        self.options = {name: QCheckBox(text) for name, text in _OPTIONS}
        self.grid, self.refused_grid = Grid(self), Grid(self)
        self.table, self.refused = QTableView(), QTableView()
        self.refused_title = heading("Refused cells")
        self.copy, self.save = button("&Copy them", "import_copy"), button("Sa&ve them…", "import_save")
        self.acts = row_of(self.copy, self.save)
        self._build()
        for name, box in self.options.items():
            box.toggled.connect(partial(self._toggled, name))
        self.copy.clicked.connect(self.copy_refused)
        self.save.clicked.connect(self._ask_where)

    def _build(self) -> None:
        for table, grid, name, title in (
            (self.table, self.grid, "import_preview", "Attempts as they will be"),
            (self.refused, self.refused_grid, "import_refused", "Refused cells"),
        ):
            set_up_rows(table, grid, name=name, title=title, row_height=32)
            table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
            table.setMinimumHeight(_LEAST_TABLE)
            table.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        for name, box in self.options.items():
            box.setObjectName(f"import_{name}")
            box.setMinimumHeight(TARGET)
            name_control(box, box.text().replace("&", ""))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(self.summary)
        column.addWidget(row_of(*self.options.values()))
        column.addWidget(self.table, 2)
        column.addWidget(self.refused_title)
        column.addWidget(self.refused, 1)
        column.addWidget(self.acts)
        column.addStretch(0)  # only where no table takes the room

    def render_state(self, state: ImportState) -> None:
        """Show what would come in."""
        decimal, found, plan = self._workspace.decimal, state.imported, state.plan
        for name, box in self.options.items():
            with QSignalBlocker(box):
                box.setChecked(state.leaves_out if name == "leaves_out" else bool(getattr(plan, name, False)))
        if found is None or plan is None:
            for part in (self.table, self.refused_title, self.refused, self.acts, *self.options.values()):
                part.setVisible(False)
            self.summary.setText(state.busy or state.trouble)
            return
        self.summary.setText("\n".join(summary_lines(found, state.beyond, decimal=decimal)))
        self.options["leaves_out"].setVisible(bool(found.refused))
        self.options["takes_twins"].setVisible(bool(found.twins) or plan.takes_twins)
        self.options["widens"].setVisible(bool(found.outside) or plan.widens)
        self.options["without_result"].setVisible(not plan.result_columns)
        self.table.setVisible(bool(found.attempts))
        header = preview_header(state, decimal)
        self.grid.show_rows(header, len(found.attempts), lambda row: preview_cells(state, row, decimal))
        _set_widths(self.table, (*_WIDTHS, *(14 for _ in header[4:])))
        is_refused = bool(found.refused)
        for part in (self.refused_title, self.refused, self.acts):
            part.setVisible(is_refused)
        self.refused_grid.show_rows(
            REFUSED_HEADER, len(found.refused), lambda row: refused_cells(found.refused[row], decimal)
        )
        _set_widths(self.refused, _REFUSED_WIDTHS)

    def _toggled(self, name: str, on: bool) -> None:
        if name == "leaves_out":
            self._model.set_leaves_out(on)
        else:
            self._model.set_plan(**{name: on})

    # -- refused cells leave -----------------------------------------------------------------------

    def copy_refused(self) -> None:
        """Put the refused cells on the clipboard, as a table."""
        found = self._model.state.imported
        if found is not None:
            QGuiApplication.clipboard().setText(refused_csv(found.refused, decimal=self._workspace.decimal))
            self._workspace.notifier.info(sentence("import.refused_copied", {"count": len(found.refused)}))

    def _ask_where(self) -> None:
        ask_where(
            self,
            "Save the refused cells",
            document=self._workspace.document,
            name="refused-cells.csv",
            file_filter="CSV (*.csv)",
            done=lambda path: self.save_refused(Path(path)),
        )

    def save_refused(self, path: Path) -> None:
        """Write the refused cells as CSV, and say how it went."""
        found = self._model.state.imported
        if found is None:
            return
        try:
            write_atomic(path, refused_csv(found.refused, decimal=self._workspace.decimal).encode())
        except OSError as error:
            params = {"name": path.name, "reason": error.strerror or str(error)}
            self._workspace.notifier.warn(sentence("course.not_saved", params))
            return
        self._workspace.notifier.info(sentence("import.refused_saved", {"name": path.name}))


def _set_widths(table: QTableView, letters: tuple[int, ...]) -> None:
    """Give each column room for so many letters, or for its title."""
    letter, model = table.fontMetrics().averageCharWidth(), table.model()
    font = table.horizontalHeader().font()
    font.setBold(True)
    metrics = QFontMetrics(font)
    for at, width in enumerate(letters[: max(0, model.columnCount() - 1)]):
        title = str(model.headerData(at, Qt.Orientation.Horizontal))
        table.setColumnWidth(at, max(width * letter, metrics.horizontalAdvance(title) + 3 * GAP))
