"""The dialog "Report and bundle": what to write, which photos, with names or not, and what will be in it."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, QSize, Qt, QUrl
from PySide6.QtGui import QDesktopServices, QIcon, QPixmap
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, page_sheet, text_label
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.report_job import SIDE, SmallPhoto
from stirfall.desktop.report_model import FORMS, PAPERS, ReportModel, ReportState
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import set_surface_role
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted

if TYPE_CHECKING:
    from PySide6.QtWidgets import QFileDialog

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

TITLE = "Report and bundle"
_BULLET = "• "


class ReportDialog(FramedDialog):
    """Shows a ReportState and hands presses to its model.

    Attributes:
        asked: the file dialog that was opened last, for tests.
    """

    def __init__(self, workspace: Workspace, document: Document, parent: QWidget | None = None) -> None:
        super().__init__(TITLE, parent)
        self._workspace, self._document = workspace, document
        self.model = ReportModel(workspace, document, self)
        self.asked: QFileDialog | None = None
        self._folder: Path | None = None
        self.ticks: dict[str, QCheckBox] = {}
        self.forms = Segments("What to write", tuple(FORMS), columns=2, may_be_empty=False)
        self.papers = Segments("Paper", tuple(PAPERS), columns=2, may_be_empty=False)
        self.names = QCheckBox("Name the operators")
        self.stop = button("S&top writing", "report_stop")
        self.folder = button("Show the &folder", "report_folder")
        self._labels()
        self._build()
        self._connect()
        self._wear()
        self.take_room(1040, 690)
        self.render_state(self.model.state)
        self.model.begin()

    # -- building ------------------------------------------------------------------------------------

    def _labels(self) -> None:
        self.about = text_label("", "muted")
        self.about.setObjectName("report_about")
        self.paper_title = text_label("Paper", "heading")
        self.names_hint = text_label("", "muted")
        self.photo_title = text_label("", "heading")
        self.photo_title.setObjectName("report_photo_title")
        self.photo_hint = text_label(sentence("report.photos_hint"), "muted")
        self.preview_title = wrapped_label("report_preview_title", "heading")
        self.preview = wrapped_label("report_preview")
        self.progress = text_label("", "muted")
        self.progress.setObjectName("report_progress")

    def _build(self) -> None:
        content = QWidget()
        row = QHBoxLayout(content)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(3 * GAP)
        row.addWidget(self._choices(), 3)
        row.addWidget(self._outlook(), 2)
        self.verb = self.build(content, "&Write…", cancel="Close")
        for act in (self.folder, self.stop):
            self.add_act(act)
        self.insert_above_problem(self.progress)

    def _choices(self) -> QWidget:
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        self.all_photos = button("Choose &all", "report_all_photos")
        self.no_photos = button("Choose n&one", "report_no_photos")
        self.photos = QWidget()
        self.photos.setObjectName("report_photos")
        self._photo_row = FlowLayout(self.photos)
        self.names.setMinimumHeight(TARGET)
        self.names.setObjectName("report_names")
        name_control(self.names, "Name the operators", "Otherwise they stand as operator A, operator B and so on")
        parts = (
            text_label("What to write", "heading"),
            self.forms,
            self.about,
            self.paper_title,
            self.papers,
            self.names,
            self.names_hint,
            self.photo_title,
            self.photo_hint,
            row_of(self.all_photos, self.no_photos),
            self.photos,
        )
        for part in parts:
            column.addWidget(part)
        column.addStretch(1)
        return side

    def _outlook(self) -> QWidget:
        side = QWidget()
        side.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        set_surface_role(side, "raised")
        column = QVBoxLayout(side)
        column.setContentsMargins(2 * GAP, GAP, 2 * GAP, GAP)
        column.setSpacing(HALF_GAP)
        column.addWidget(text_label("What will be in it", "heading"))
        column.addWidget(self.preview_title)
        column.addWidget(self.preview)
        column.addStretch(1)
        return side

    def _connect(self) -> None:
        model = self.model
        self.forms.chosen.connect(model.choose_form)
        self.papers.chosen.connect(model.choose_paper)
        self.names.toggled.connect(model.set_with_names)
        self.all_photos.clicked.connect(partial(model.choose_all_photos, True))
        self.no_photos.clicked.connect(partial(model.choose_all_photos, False))
        self.verb.clicked.connect(self.ask_where_to_write)
        self.stop.clicked.connect(model.stop)
        self.folder.clicked.connect(self._show_folder)
        model.changed.connect(self.render_state)
        model.written.connect(self._on_written)
        self._workspace.document_opened.connect(self.reject)
        self._workspace.theme_changed.connect(self._wear)
        self.finished.connect(model.leave)

    def _wear(self, *_unused: object) -> None:
        self.setStyleSheet(page_sheet(self._workspace.theme))

    # -- acts ----------------------------------------------------------------------------------------

    def ask_where_to_write(self) -> None:
        """Ask for a place and write there."""
        self.asked = ask_where(
            self,
            TITLE,
            document=self._document,
            name=self.model.file_name,
            file_filter=FORMS[self.model.state.form][1],
            done=self.model.write,
        )

    def _on_written(self, path: Path) -> None:
        self._folder = path.parent
        self.render_state(self.model.state)

    def _show_folder(self) -> None:
        if self._folder is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._folder)))

    # -- showing -------------------------------------------------------------------------------------

    def render_state(self, state: ReportState) -> None:
        """Show a state."""
        self.forms.set_value(state.form)
        self.papers.set_value(state.paper)
        self.paper_title.setVisible(state.asks_for_paper)
        self.papers.setVisible(state.asks_for_paper)
        self.about.setText(sentence(f"report.about_{FORMS[state.form][0].removeprefix('.')}"))
        self._show_names(state)
        self._show_photos(state)
        self._show_foreseen(state)
        show_text(self.progress, sentence(state.step) if state.is_busy else state.done)
        self.show_problem(state.problem)
        was_at_verb, was_at_stop = self.verb.hasFocus(), self.stop.hasFocus()
        for part in (self.verb, self.forms, self.papers, self.photos, self.all_photos, self.no_photos):
            part.setEnabled(not state.is_busy)
        if was_at_stop and not state.is_busy:
            self.verb.setFocus(Qt.FocusReason.OtherFocusReason)
        self.stop.setVisible(state.is_busy)
        if was_at_verb and state.is_busy:  # the verb rests meanwhile: the keyboard goes to what stops it, and back
            self.stop.setFocus(Qt.FocusReason.OtherFocusReason)
        self.folder.setVisible(self._folder is not None and not state.is_busy)

    def _show_names(self, state: ReportState) -> None:
        with QSignalBlocker(self.names):
            self.names.setChecked(state.with_names)
        self.names.setEnabled(state.may_name and not state.is_busy)
        if state.foreseen is None:
            hint = ""
        elif not state.may_name:
            hint = sentence("report.names_none")
        else:
            hint = sentence("report.names_on" if state.with_names else "report.names_off")
        show_text(self.names_hint, hint)

    def _show_photos(self, state: ReportState) -> None:
        photos = state.photos
        if photos is None:
            self.photo_title.setText(sentence("report.photos_reading"))
        elif not photos:
            self.photo_title.setText(sentence("report.photos_none"))
        else:
            count = counted(len(photos), "photo")
            self.photo_title.setText(
                sentence("report.photos_count", {"some": len(state.chosen) or "none", "photos": count})
            )
        for part in (self.photo_hint, self.all_photos, self.no_photos, self.photos):
            part.setVisible(bool(photos))
        if photos and not self.ticks:
            for photo in photos:
                self._photo_row.addWidget(self._tick(photo))
            widest = max(tick.sizeHint().width() for tick in self.ticks.values())
            for tick in self.ticks.values():
                tick.setFixedWidth(widest)
        for photo_id, tick in self.ticks.items():
            with QSignalBlocker(tick):
                tick.setChecked(photo_id in state.chosen)

    def _tick(self, photo: SmallPhoto) -> QCheckBox:
        tick = QCheckBox(f"Attempt {photo.number}\n{photo.grade}")
        tick.setObjectName(f"report_photo_{photo.id}")
        if not photo.image.isNull():
            tick.setIcon(QIcon(QPixmap.fromImage(photo.image)))
        tick.setIconSize(QSize(SIDE, SIDE))
        tick.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        name_control(tick, f"Photo of attempt {photo.number}, {photo.grade}", photo.name)
        tick.toggled.connect(partial(self.model.choose_photo, photo.id))
        self.ticks[photo.id] = tick
        return tick

    def _show_foreseen(self, state: ReportState) -> None:
        foreseen = state.foreseen
        if foreseen is None:
            self.preview_title.setText("")
            code = "report.preview_failed" if state.is_unforeseen else "report.preview_reading"
            self.preview.setText(sentence(code))
            return
        self.preview_title.setText(foreseen.title)
        parts = [f"{_BULLET}{part}" for part in foreseen.parts]
        self.preview.setText("\n".join([*foreseen.lines, "", sentence("report.parts"), *parts]))
