"""The dialog of the blind second grading: a photo, the four classes with their examples, one key for each."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QIcon, QKeyEvent, QPixmap
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QStackedWidget, QToolButton, QVBoxLayout, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import name_control
from stirfall.desktop.photos.class_words import CLASS_WORDS
from stirfall.desktop.photos.scaling import LONGEST, thumbnail
from stirfall.desktop.photos.viewer import Picture
from stirfall.desktop.regrade.model import RegradeModel, RegradeState
from stirfall.session.regrading import CLASSES

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

TITLE = "Grade again, blind"
_ABOUT = "Grade by what the photo shows. Which attempt it is, and how it was graded, is told at the end."
_EXAMPLE = QSize(150, 84)


class RegradeDialog(FramedDialog):
    """Shows a RegradeState and hands keys and presses to its model."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(TITLE, parent)
        self._workspace = workspace
        self.model = RegradeModel(workspace, self)
        self.stack = QStackedWidget()
        self.buttons: dict[Outcome, QToolButton] = {}
        self._shown: tuple[int, int, str] | None = None
        self.stack.addWidget(self._grading_page())
        self.stack.addWidget(self._end_page())
        self.stop = self.build(self.stack, "&Close", cancel="")
        self.stop.clicked.connect(self.accept)
        self.stop.setDefault(False)
        self.stop.setAutoDefault(False)
        self.model.changed.connect(self.render_state)
        workspace.document_opened.connect(self.reject)
        self.finished.connect(self.model.finish)
        self.take_room(940, 760)
        self.render_state(self.model.state)

    def _grading_page(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        self.progress = text_label("", "heading")
        self.progress.setObjectName("regrade_progress")
        self.picture = Picture(QSize(240, 150))
        self.previous = button("‹", "regrade_previous_photo")
        self.next = button("›", "regrade_next_photo")
        name_control(self.previous, "Previous photo of the same attempt", "Key: left arrow")
        name_control(self.next, "Next photo of the same attempt", "Key: right arrow")
        self.which = text_label("", "muted", wrap=False)
        self.back = button("Back", "regrade_back")
        name_control(self.back, "Back, and take the last grade back")
        self.skip = button("Cannot tell (0)", "regrade_skip")
        name_control(self.skip, "Cannot tell", "Key: 0. The attempt is shown again another time")
        column.addWidget(self.progress)
        column.addWidget(text_label(_ABOUT, "muted"))
        column.addWidget(self.picture, 1)
        foot = QWidget()
        row = FlowLayout(foot)
        for each in (self.previous, self.which, self.next, self.back, self.skip):
            row.addWidget(each)
        column.addWidget(foot)
        column.addWidget(self._class_row())
        self.previous.clicked.connect(lambda: self.model.turn(-1))
        self.next.clicked.connect(lambda: self.model.turn(1))
        self.back.clicked.connect(self.model.back)
        self.skip.clicked.connect(self.model.skip)
        return page

    def _class_row(self) -> QWidget:
        holder = QWidget()
        row = FlowLayout(holder)
        document = self._workspace.document
        anchors = document.anchors() if document is not None else {}
        for key, outcome in enumerate(CLASSES, start=1):
            mark = self._workspace.theme.mark(outcome)
            made = QToolButton()
            made.setObjectName(f"regrade_{key}")
            made.setText(f"{key}  {mark.glyph} {mark.word}")
            made.setMinimumHeight(TARGET)
            made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            photo = anchors.get(outcome)
            if photo is not None:
                made.setIcon(QIcon(QPixmap.fromImage(thumbnail(photo.data, 2 * _EXAMPLE.width()))))
                made.setIconSize(_EXAMPLE)
                made.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            name_control(made, f"{outcome.value}, key {key}", CLASS_WORDS[outcome])
            made.clicked.connect(partial(self.model.grade, outcome))
            self.buttons[outcome] = made
            row.addWidget(made)
        return holder

    def _end_page(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        self.end_title = text_label("", "heading")
        self.end_lines = text_label()
        self.end_lines.setObjectName("regrade_lines")
        self.differing = text_label()
        self.differing.setObjectName("regrade_differing")
        self.end_back = button("Back", "regrade_end_back")
        name_control(self.end_back, "Back, and take the last grade back")
        self.end_back.clicked.connect(self.model.back)
        for each in (self.end_title, self.end_lines, self.differing):
            column.addWidget(each)
        row = QHBoxLayout()
        row.addWidget(self.end_back)
        row.addStretch(1)
        column.addSpacing(HALF_GAP)
        column.addLayout(row)
        column.addStretch(1)
        return page

    def render_state(self, state: RegradeState) -> None:
        """Show a state; doing so twice changes nothing."""
        is_grading = state.stage == "grading"
        self.stack.setCurrentIndex(0 if is_grading else 1)
        self.stop.setText("&Stop here" if is_grading else "&Close")
        if is_grading:
            self._show_photo(state)
            if not self.isVisible() or self.stop.hasFocus():
                self.skip.setFocus()  # so that a stray press of the space bar loses nothing
            return
        self.end_title.setText("Both grades together" if state.stage == "done" else "Nothing to grade now")
        self.end_lines.setText("\n\n".join(state.lines))
        self.differing.setText("\n".join(state.differing))
        self.differing.setVisible(bool(state.differing))
        self.end_back.setVisible(state.can_go_back)
        self.stop.setFocus()

    def _show_photo(self, state: RegradeState) -> None:
        count = len(state.photos)
        self.progress.setText(f"{state.at + 1} of {state.count}")
        self.which.setText(f"Photo {state.photo_at + 1} of {count}")
        for each, is_there in ((self.previous, state.photo_at > 0), (self.next, state.photo_at < count - 1)):
            each.setVisible(count > 1)
            each.setEnabled(is_there)
        self.back.setEnabled(state.can_go_back)
        shown = (state.at, state.photo_at, state.stage)
        if shown != self._shown:
            self._shown = shown
            name = f"Photo {state.photo_at + 1} of {count} of the attempt to grade"
            self.picture.show_image(thumbnail(state.photos[state.photo_at], LONGEST), name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Grade by 1 to 4, 0 cannot tell, the arrows turn the photos, Backspace goes back."""
        digit = event.key() - Qt.Key.Key_1.value
        if self.model.state.stage != "grading":
            super().keyPressEvent(event)
        elif 0 <= digit < len(CLASSES):
            self.model.grade(CLASSES[digit])
        elif event.key() == Qt.Key.Key_0:
            self.model.skip()
        elif event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.model.turn(1 if event.key() == Qt.Key.Key_Right else -1)
        elif event.key() == Qt.Key.Key_Backspace:
            self.model.back()
        else:
            super().keyPressEvent(event)
