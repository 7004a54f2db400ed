"""Taking in a logger's file: read off the window's thread, asked about where it does not tell, then kept."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QVBoxLayout, QWidget

from stirfall.bench.errors import StirfallError
from stirfall.bench.units import format_quantity
from stirfall.desktop.bench_form.look import GAP, TARGET, guard_from_wheel, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import labelled
from stirfall.reporting.course_words import reading_lines
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import AttachLog
from stirfall.storage.log_times import SystemZone
from stirfall.storage.temperature_log import (
    CHANNEL,
    DATES,
    TIME,
    UNIT,
    LogReading,
    Question,
    ScannedLog,
    read_points,
    scan_log,
)

if TYPE_CHECKING:
    from datetime import datetime

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

_TITLES = {TIME: "Times", DATES: "Dates", CHANNEL: "Temperature", UNIT: "Unit"}
_SLOT = "temperature log"
_CHOOSE = "choose…"
_FIRST_SHOWN = 3
_WIDTH = 76 * GAP


class LogImport(QObject):
    """Brings one file into the session.

    Signals:
        asked(LogDialog): the file leaves something open; the dialog is on the screen.
        attached(str): the log was kept with the attempt with this id.
        refused(str): why the file cannot be used, in a sentence.
    """

    asked = Signal(object)
    attached = Signal(str)
    refused = Signal(str)

    def __init__(self, workspace: Workspace, attempt_id: str, started_at: datetime | None, parent: QWidget) -> None:
        super().__init__(parent)
        self._workspace, self._attempt_id, self._started_at = workspace, attempt_id, started_at
        self._parent = parent
        self.zone = SystemZone()

    def start(self, path: str) -> None:
        """Read a file; what is wrong with it is told by ``refused``."""
        document = self._workspace.document

        def job(_token: object) -> tuple[ScannedLog, LogReading]:
            log = scan_log(Path(path))
            return log, self.read(log, {})

        self._workspace.submit(job, partial(self._take, document), self._refuse, slot=_SLOT)

    def _refuse(self, error: Exception) -> None:
        if isinstance(error, StirfallError):
            self.refused.emit(error_sentence(error, decimal=self._workspace.decimal))
        else:
            self._workspace.notifier.fail(error)

    def read(self, log: ScannedLog, answers: dict[str, str]) -> LogReading:
        """Return the points under these answers, or what is still open."""
        return read_points(log, zone=self.zone, start=self._started_at, answers=answers)

    def _take(self, document: Document | None, found: tuple[ScannedLog, LogReading]) -> None:
        if self._workspace.document is not document:
            return
        log, reading = found
        is_away = any(note.code == "logger.note_away" for note in reading.notes)
        if not reading.questions and not is_away:
            self.attach(log, reading)
            return
        dialog = LogDialog(self._workspace, self, log, reading, self._parent)
        dialog.open()
        self.asked.emit(dialog)

    def attach(self, log: ScannedLog, reading: LogReading) -> bool:
        """Keep the points with the attempt, and say what was kept."""
        command = AttachLog(self._attempt_id, log.name, reading.points)
        document = self._workspace.document
        if document is None or self._workspace.execute(command, origin=self) is None:
            return False
        summary = " ".join(reading_lines(reading, self.zone, decimal=self._workspace.decimal))
        number = document.attempt(self._attempt_id).number
        text = sentence("logger.attached", {"name": log.name, "number": number, "summary": summary})
        self._workspace.notifier.info(text, "Undo", self._workspace.undo)
        self.attached.emit(self._attempt_id)
        return True


class LogDialog(FramedDialog):
    """Asks what a file does not tell, and shows what comes of the answers."""

    def __init__(
        self, workspace: Workspace, source: LogImport, log: ScannedLog, reading: LogReading, parent: QWidget
    ) -> None:
        super().__init__(f"Temperature log {log.name}", parent)
        self._workspace, self._source, self._log = workspace, source, log
        self.reading = reading
        self.choosers: dict[str, QComboBox] = {}
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * GAP)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(GAP)
        self._grid.setVerticalSpacing(GAP)
        self._grid.setColumnStretch(1, 1)
        column.addLayout(self._grid)
        self.lines = text_label(_first_lines(log), "muted")
        self.lines.setObjectName("log_lines")
        self.preview = text_label()
        self.preview.setObjectName("log_preview")
        column.addWidget(self.lines)
        column.addWidget(self.preview)
        column.addStretch(1)
        self.keep = self.build(content, "&Keep the log")
        self.keep.clicked.connect(self._keep)
        self._ask(reading.questions)
        self._show(reading)
        self.fit(_WIDTH)

    def _ask(self, questions: tuple[Question, ...]) -> None:
        for question in questions:
            if question.key in self.choosers:
                continue
            chooser = QComboBox()
            chooser.setObjectName(f"log_{question.key}")
            guard_from_wheel(chooser)
            chooser.setMinimumHeight(TARGET)
            chooser.addItem(_CHOOSE, None)
            for option in question.options:
                words = sentence(option.words.code, option.words.params, decimal=self._workspace.decimal)
                chooser.addItem(words, option.key)
            row = self._grid.rowCount()
            why = sentence(question.why.code, question.why.params)
            self._grid.addWidget(text_label(why), row, 0, 1, 2)
            self._grid.addWidget(labelled(_TITLES[question.key], chooser, description=why), row + 1, 0)
            self._grid.addWidget(chooser, row + 1, 1)
            chooser.currentIndexChanged.connect(self._read_again)
            self.choosers[question.key] = chooser

    @property
    def answers(self) -> dict[str, str]:
        """What was answered so far, by question."""
        return {
            key: str(chooser.currentData())
            for key, chooser in self.choosers.items()
            if chooser.currentData() is not None
        }

    def _read_again(self) -> None:
        answers = self.answers
        read = partial(self._source.read, self._log, answers)
        self.keep.setEnabled(False)
        self._workspace.submit(lambda _token: read(), self._show, self._fail, slot=_SLOT)

    def _fail(self, error: Exception) -> None:
        self.reading = LogReading()
        self.preview.setText("")
        if isinstance(error, StirfallError):
            self.show_problem(error_sentence(error, decimal=self._workspace.decimal))
        else:
            self._workspace.notifier.fail(error)

    def _show(self, reading: LogReading) -> None:
        self.reading = reading
        self.show_problem("")
        known = len(self.choosers)
        self._ask(reading.questions)
        self.keep.setEnabled(bool(reading.points))
        lines = reading_lines(reading, self._source.zone, decimal=self._workspace.decimal)
        if reading.points:
            first = ", ".join(
                f"{at.astimezone(self._source.zone):%H:%M:%S} "
                f"{format_quantity(value, 'C', digits=4, decimal=self._workspace.decimal)}"
                for at, value in reading.points[:_FIRST_SHOWN]
            )
            lines = (*lines, f"It begins: {first}")
        had_preview = bool(self.preview.text())
        self.preview.setText("\n".join(lines))
        if len(self.choosers) > known or (lines and not had_preview):
            self.fit(_WIDTH)

    def _keep(self) -> None:
        if self.reading.points and self._source.attach(self._log, self.reading):
            self.accept()


def _first_lines(log: ScannedLog) -> str:
    """Return the first lines of the data as they stand in the file, with their headers."""
    table = log.table
    rows = [[column.header for column in table.columns]] if any(column.header for column in table.columns) else []
    rows += [[column.cells[place] for column in table.columns] for place in range(min(_FIRST_SHOWN, table.rows))]
    return "\n".join("   |   ".join(row) for row in rows)
