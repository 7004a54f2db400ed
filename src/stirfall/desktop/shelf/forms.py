"""What the short forms of the shelf share: they open in place, with problems beside the entries."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime

from PySide6.QtCore import QDateTime, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDateTimeEdit,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.estimates import Reason
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, guard_from_wheel, heading, text_label
from stirfall.desktop.labelled import labelled, show_problem
from stirfall.desktop.theme import set_primary, set_surface_role
from stirfall.reporting.sentences import sentence


class InPlaceForm(QFrame):
    """A form that opens in the page: labelled rows with their problems, a verb and a way out.

    Signals:
        accepted(): the verb was pressed; the page reads the form.
        left(): the person does not want it.
    """

    accepted = Signal()
    left = Signal()

    def __init__(self, title: str, verb: str, name: str) -> None:
        super().__init__()
        set_surface_role(self, "raised")
        self.setObjectName(name)
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(GAP, GAP, GAP, GAP)
        self.grid.setHorizontalSpacing(GAP)
        self.grid.setVerticalSpacing(HALF_GAP)
        self.grid.setColumnStretch(1, 1)
        self.grid.setColumnStretch(3, 1)
        self.title = heading(title)
        self.grid.addWidget(self.title, 0, 0, 1, 4)
        self._problems: dict[str, tuple[QWidget, QLabel]] = {}
        self._labels: dict[str, QLabel] = {}
        self.accept: QPushButton = button(verb, f"{name}_accept")
        set_primary(self.accept)
        self.cancel = button("Cancel", f"{name}_cancel")
        self.accept.clicked.connect(self.accepted)
        self.cancel.clicked.connect(self.left)

    def add(
        self,
        name: str,
        label: str,
        editor: QWidget,
        row: int,
        *,
        column: int = 0,
        span: int = 1,
        grid: QGridLayout | None = None,
    ) -> None:
        """Place a labelled editor with a line for its problem below, in a grid of a fold where one is given."""
        place = grid or self.grid
        editor.setMinimumHeight(TARGET)
        problem = text_label(role="error")
        problem.hide()
        self._labels[name] = labelled(label, editor)
        place.addWidget(self._labels[name], 2 * row - 1, column)
        place.addWidget(editor, 2 * row - 1, column + 1, 1, span)
        place.addWidget(problem, 2 * row, column + 1, 1, span)
        self._problems[name] = (editor, problem)

    def rename(self, title: str, verb: str) -> None:
        """Give the form another title and verb."""
        self.title.setText(title)
        self.accept.setText(verb)
        self.accept.setAccessibleName(verb)

    def set_row_visible(self, name: str, is_visible: bool) -> None:
        """Show or hide an entry with its label; a hidden one has no problem."""
        editor, problem = self._problems[name]
        editor.setVisible(is_visible)
        self._labels[name].setVisible(is_visible)
        problem.setVisible(is_visible and bool(problem.text()))

    def finish(self, row: int) -> None:
        """Place the buttons below the last row."""
        line = QHBoxLayout()
        line.setSpacing(GAP)
        line.addStretch(1)
        line.addWidget(self.cancel)
        line.addWidget(self.accept)
        self.grid.addLayout(line, 2 * row, 0, 1, 4)

    def show_problems(self, problems: Mapping[str, Reason], decimal: str) -> None:
        """Say each problem beside its entry; the verb waits until there is none."""
        for name, (editor, label) in self._problems.items():
            reason = problems.get(name)
            show_problem(editor, label, sentence(reason.code, reason.params, decimal=decimal) if reason else "")
        self.accept.setEnabled(not problems)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class Fold(QWidget):
    """A titled part of a form that is folded away until its button is pressed."""

    def __init__(self, title: str, name: str, content: QWidget) -> None:
        super().__init__()
        self._title, self._content = title, content
        self.toggle = button(title, name)
        self.toggle.setCheckable(True)
        self.toggle.setProperty("kind", "fold")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addWidget(self.toggle)
        column.addWidget(content)
        self.toggle.toggled.connect(self._fold)
        self._fold(False)

    def _fold(self, is_open: bool) -> None:
        self._content.setVisible(is_open)
        self.toggle.setText(f"{'▾' if is_open else '▸'} {self._title}")
        self.toggle.setAccessibleName(self._title)
        self.toggle.setAccessibleDescription("open" if is_open else "folded")


def line(name: str, changed: Callable[[], object], placeholder: str = "") -> QLineEdit:
    """Return a line that tells of every change."""
    edit = QLineEdit()
    edit.setObjectName(name)
    edit.setPlaceholderText(placeholder)
    edit.textChanged.connect(lambda _text: changed())
    return edit


def moment(name: str, changed: Callable[[], object]) -> QDateTimeEdit:
    """Return an editor of a local date and time that tells of every change."""
    edit = QDateTimeEdit()
    edit.setObjectName(name)
    edit.setDisplayFormat("yyyy-MM-dd HH:mm")
    edit.setCalendarPopup(False)
    guard_from_wheel(edit)
    for inner in edit.findChildren(QLineEdit):
        inner.setTextMargins(GAP, 0, 0, 0)  # the padding of the style sheet does not reach it
    edit.dateTimeChanged.connect(lambda _moment: changed())
    return edit


def read_moment(edit: QDateTimeEdit) -> datetime:
    """Return the moment in UTC, to the minute that is shown."""
    return datetime.fromtimestamp(edit.dateTime().toSecsSinceEpoch(), UTC)


def show_moment(edit: QDateTimeEdit, at: datetime) -> None:
    """Show a moment in local time."""
    edit.setDateTime(QDateTime.fromSecsSinceEpoch(int(at.timestamp())))
