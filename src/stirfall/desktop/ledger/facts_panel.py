"""The panel that opens in place and shows all that one attempt keeps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QWidget

from stirfall.bench.records import Attempt
from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.bench_form.checklist import quiet_scroll
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, text_label
from stirfall.desktop.labelled import name_control
from stirfall.desktop.ledger.facts import FactLine, FactSection
from stirfall.desktop.ledger.panels import Panel
from stirfall.desktop.photos.attempt_photos import AttemptPhotos

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_LEAST_ROWS, _MOST_ROWS = 2, 7


class FactsPanel(Panel):
    """What was seen, limits gone past with reasons, the weighing sheet, the photos, and the way to the course."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__("facts_panel")
        self._workspace = workspace
        self._attempt: Attempt | None = None
        self.labels: list[QLabel] = []
        self._content = QWidget()
        self._grid = QGridLayout(self._content)
        self._grid.setContentsMargins(0, 0, HALF_GAP, 0)
        self._grid.setHorizontalSpacing(2 * GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        self._grid.setColumnStretch(1, 1)
        self.area = quiet_scroll(self._content, "facts_list")
        self.area.setAccessibleName("All that the attempt keeps")
        self.area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.area.setMinimumHeight(_LEAST_ROWS * TARGET)
        self.area.setMaximumHeight(_MOST_ROWS * TARGET)
        self.close_button = button("Close", "facts_close")
        self.close_button.clicked.connect(self.left)
        self.photos = AttemptPhotos(workspace)
        self.photo_area = quiet_scroll(self.photos, "facts_photos")
        self.photo_area.setMinimumHeight(_LEAST_ROWS * TARGET)
        self.photo_area.setMaximumHeight(_MOST_ROWS * TARGET)
        self.photo_button = button("Photos", "facts_photo_button")
        self.photo_button.setCheckable(True)
        self.course_button = button("Course…", "facts_course")
        name_control(self.course_button, "Course of the attempt", "The temperature log with the events of the run")
        self.column.addWidget(self.area)
        self.column.addWidget(self.photo_area)
        self.photo_area.hide()
        self.photo_button.toggled.connect(self._show_photos)
        self.photos.counted.connect(self._count)
        self.course_button.clicked.connect(self._open_course)
        foot = QHBoxLayout()
        foot.setSpacing(GAP)
        foot.addWidget(self.photo_button)
        foot.addWidget(self.course_button)
        foot.addStretch(1)
        foot.addWidget(self.close_button)
        self.column.addLayout(foot)

    def open_for(self, attempt: Attempt, sections: tuple[FactSection, ...]) -> None:
        """Open for an attempt."""
        self.title.setText(f"Attempt {attempt.number}")
        self._attempt = attempt
        self.photos.show_attempt(attempt.id)
        for old in self.labels:
            self._grid.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.labels = []
        for section in sections:
            self._add_head(section.title)
            for line in section.lines:
                self._add_line(line)
        self._grid.setRowStretch(self._grid.rowCount(), 1)
        self.area.verticalScrollBar().setValue(0)
        self.area.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_photos(self, wanted: bool) -> None:
        self.area.setVisible(not wanted)
        self.photo_area.setVisible(wanted)

    def _count(self, count: int) -> None:
        self.photo_button.setText(f"Photos ({count})" if count else "Photos")
        name_control(self.photo_button, f"Photos of the attempt, {count}", "Show the photos in place of the facts")

    def _open_course(self) -> None:
        from stirfall.desktop.course.dialog import CourseDialog

        if self._attempt is not None:
            CourseDialog(self._workspace, self._attempt.id, self.window()).open()

    def _add_head(self, text: str) -> None:
        head = text_label(f"<b>{text}</b>", wrap=False)
        self._put(head, self._grid.rowCount(), 0, 2)

    def _add_line(self, line: FactLine) -> None:
        row, role = self._grid.rowCount(), "caution" if line.is_warning else ""
        if line.label.startswith("⚠ ") and len(line.label) > len("⚠ To look at"):
            self._put(text_label(line.label, role), row, 0, 2)  # a warning in its own words takes the whole width
            self._put(text_label(line.text), row + 1, 0, 2)
            return
        label = text_label(line.label, role or "muted", wrap=False)
        self._put(label, row, 0)
        self._put(text_label(line.text.replace(THIN_SPACE, "\u202f"), role), row, 1)

    def _put(self, label: QLabel, row: int, column: int, span: int = 1) -> None:
        label.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.labels.append(label)
        self._grid.addWidget(label, row, column, 1, span)
