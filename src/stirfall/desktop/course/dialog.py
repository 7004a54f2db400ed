"""The course of one attempt in a dialog: the picture, its logs, more of them, the peak, and the exports."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtWidgets import QComboBox, QFileDialog, QMenu, QToolButton, QVBoxLayout, QWidget

from stirfall.bench.units import format_quantity
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, TARGET, button, guard_from_wheel, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.course.export import course_image, course_table, save_course
from stirfall.desktop.course.importing import LogImport
from stirfall.desktop.course.plot import CoursePlot
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.save_dialog import ask_where
from stirfall.reporting.course_words import course_sentences
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import CorrectAttempt
from stirfall.session.course import Course, read_course

if TYPE_CHECKING:
    from stirfall.bench.records import Attempt
    from stirfall.bench.running import TemperatureLog
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.commands import Changes

LOG_FILTER = "Temperature logs (*.csv *.txt *.tsv *.log *.dat *.xlsx);;All files (*)"
_SAME_C = 0.05
_LEAST_PLOT = 300


class CourseDialog(FramedDialog):
    """Shows the course of the attempt with an id; a logger's file may be dropped on it."""

    def __init__(self, workspace: Workspace, attempt_id: str, parent: QWidget | None = None) -> None:
        super().__init__("Course of the attempt", parent)
        self._workspace, self.attempt_id = workspace, attempt_id
        self.course: Course | None = None
        self.import_: LogImport | None = None
        self._logs: tuple[TemperatureLog, ...] | None = None  # read once: a log may have a hundred thousand points
        self.setAcceptDrops(True)
        self.plot = CoursePlot(workspace.theme)
        self.caption = text_label()
        self.caption.setObjectName("course_caption")
        self.add = button("Add a temperature log…", "course_add")
        self.peak = button("", "course_peak")
        self.logs = QComboBox()
        self.logs.setObjectName("course_log")
        guard_from_wheel(self.logs)
        self.logs.setMinimumHeight(TARGET)
        name_control(self.logs, "Temperature log", "Which log of the attempt is drawn")
        self.picture = QToolButton()
        self._build()
        self.add.clicked.connect(self._ask_for_file)
        self.peak.clicked.connect(self.take_peak)
        self.logs.currentIndexChanged.connect(self.refresh)
        workspace.document_changed.connect(self._on_changes)
        workspace.document_opened.connect(self.reject)
        workspace.theme_changed.connect(self._wear)
        self.refresh()

    def _build(self) -> None:
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(self.plot, 1)
        column.addWidget(self.caption)
        foot = QWidget()
        row = FlowLayout(foot)
        for each in (self.add, self.logs, self.peak, self.picture):
            row.addWidget(each)
        column.addWidget(foot)
        self.picture.setObjectName("course_picture_menu")
        self.picture.setText("Picture")
        self.picture.setMinimumHeight(TARGET)
        self.picture.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        name_control(self.picture, "Picture", "Show as table, copy or save the picture")
        menu = QMenu(self.picture)
        menu.addAction("Show as &table", self.show_table)
        menu.addAction("&Copy picture", self.copy_picture)
        for kind, text in (("png", "Save as &PNG"), ("svg", "Save as &SVG"), ("csv", "Save numbers as CS&V")):
            menu.addAction(text, partial(self._ask_where, kind))
        self.picture.setMenu(menu)
        self.build(content, "&Close", cancel="").clicked.connect(self.accept)
        self.plot.setMinimumHeight(_LEAST_PLOT)
        self.take_room(1000, 680)

    # -- showing -----------------------------------------------------------------------------------

    @property
    def attempt(self) -> Attempt | None:
        """The attempt, or None where undo took it away."""
        document = self._workspace.document
        if document is None:
            return None
        return next((each for each in document.state.attempts if each.id == self.attempt_id), None)

    def _on_changes(self, changes: Changes) -> None:
        if self.attempt is None:
            self.reject()
        elif self.attempt_id in changes.attempts or changes.runs or changes.settings:
            self._logs = None
            self.refresh()

    def _wear(self, theme: object) -> None:
        del theme
        self.plot.apply_theme(self._workspace.theme)
        self.refresh()

    def refresh(self) -> None:
        """Show the attempt as it is kept now."""
        document, attempt = self._workspace.document, self.attempt
        if document is None or attempt is None:
            return
        decimal = self._workspace.decimal
        if self._logs is None:
            self._logs = document.logs(attempt.id)
        logs = self._logs
        with QSignalBlocker(self.logs):
            chosen = self.logs.currentIndex() if self.logs.count() == len(logs) else len(logs) - 1
            self.logs.clear()
            self.logs.addItems([log.name for log in logs])
            self.logs.setCurrentIndex(chosen)
        self.logs.setVisible(len(logs) > 1)
        self.course = read_course(document.state, attempt, logs[chosen] if logs else None)
        self.setWindowTitle(f"Course of attempt {attempt.number}")
        words = " ".join(course_sentences(self.course, decimal=decimal))
        self.plot.setVisible(not self.course.is_empty)
        self.plot.show_course(self.course, words, decimal=decimal)
        self.caption.setText(words)
        self.picture.setEnabled(not self.course.is_empty)
        may_change = not document.read_only
        self.add.setEnabled(may_change)
        self._show_peak(attempt, may_change=may_change)

    def _show_peak(self, attempt: Attempt, *, may_change: bool) -> None:
        peak = self.course.peak if self.course is not None else None
        known = attempt.facts.peak_c
        is_new = peak is not None and (known is None or abs(known - peak[1]) > _SAME_C)
        self.peak.setVisible(is_new and may_change)
        if peak is not None:
            text = format_quantity(peak[1], "C", digits=4, decimal=self._workspace.decimal)
            self.peak.setText(f"Keep {text} as the highest")
            name_control(self.peak, self.peak.text(), "Corrects the attempt; the old value and the reason are kept")

    # -- acting ------------------------------------------------------------------------------------

    def take_peak(self) -> None:
        """Correct the attempt's highest temperature to that of the log, with the reason."""
        attempt, course = self.attempt, self.course
        if attempt is None or course is None or course.peak is None:
            return
        facts = replace(attempt.facts, peak_c=round(course.peak[1], 2))
        reason = sentence("course.peak_reason", {"name": course.name})
        if self._workspace.execute(CorrectAttempt(attempt.id, {"facts": facts}, reason), origin=self) is not None:
            peak = format_quantity(course.peak[1], "C", digits=4, decimal=self._workspace.decimal)
            params = {"number": attempt.number, "peak": peak, "name": course.name}
            text = sentence("course.peak_taken", params)
            self._workspace.notifier.info(text, "Undo", self._workspace.undo)

    def _ask_for_file(self) -> None:
        dialog = QFileDialog(self, "Add a temperature log", "", LOG_FILTER)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.fileSelected.connect(self.add_log)
        dialog.open()

    def add_log(self, path: str) -> LogImport | None:
        """Take in the file of a logger."""
        attempt, document = self.attempt, self._workspace.document
        if attempt is None or document is None:
            return None
        run = document.state.run(attempt.run_id)
        started = run.started_at if run is not None else attempt.started_at
        self.import_ = LogImport(self._workspace, attempt.id, started, self)
        self.show_problem("")
        self.import_.refused.connect(self.show_problem)
        self.import_.start(path)
        return self.import_

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome one local file."""
        if any(url.isLocalFile() for url in event.mimeData().urls()) and self.add.isEnabled():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take the first dropped file."""
        paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        if paths and self.add.isEnabled():
            self.add_log(paths[0])
            event.acceptProposedAction()

    # -- leaving -----------------------------------------------------------------------------------

    def show_table(self) -> None:
        """Open the numbers as a table."""
        if self.course is not None:
            table = course_table(self.course, decimal=self._workspace.decimal)
            dialog = TableDialog(table, self.caption.text(), self)
            dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
            dialog.open()

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        if self.course is not None:
            QGuiApplication.clipboard().setImage(course_image(self.course, decimal=self._workspace.decimal))
            self._workspace.notifier.info(sentence("course.copied"))

    def _ask_where(self, kind: str) -> None:
        number = self.course.number if self.course is not None else 0
        ask_where(
            self,
            "Save picture",
            document=self._workspace.document,
            name=f"course-of-attempt-{number}.{kind}",
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save(Path(path)),
        )

    def save(self, path: Path) -> None:
        """Write the picture or its numbers as the suffix says, and tell how it went."""
        if self.course is None:
            return
        try:
            save_course(self.course, path, decimal=self._workspace.decimal)
        except OSError as error:
            params = {"name": path.name, "reason": error.strerror or str(error)}
            self._workspace.notifier.warn(sentence("course.not_saved", params))
            return
        self._workspace.notifier.info(sentence("course.saved", {"name": path.name}))


def attempt_in_hand(workspace: Workspace) -> str | None:
    """Return the id of the attempt that is looked at, else of the newest; None where there is none."""
    document = workspace.document
    attempts = document.state.attempts if document is not None else ()
    if workspace.in_hand.source == "attempt":
        label = workspace.in_hand.label
        for attempt in reversed(attempts):
            if label == f"Attempt {attempt.number}":
                return attempt.id
    return attempts[-1].id if attempts else None
