"""The grade: four classes, each with its number, shape and word, and the photo that the class was agreed on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, Qt, Signal
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.run.big_button import BigButton, ButtonGrid
from stirfall.desktop.run.look import GAP, SENTENCE, SMALL, RunLabel
from stirfall.desktop.theme import Theme

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.workspace import Workspace

GRADES = (Outcome.NOTHING_PARTED, Outcome.PARTLY_PARTED, Outcome.PARTED_BEADS, Outcome.CLEAN)
_PHOTO_HEIGHT, _PHOTO_WIDTH = 150, 220
_SLOT = "run_anchors"


class GradePart(QWidget):
    """Four large buttons, 1 to 4.

    Signals:
        graded(int): 1 nothing parted to 4 clean.
    """

    graded = Signal(int)

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.setObjectName("run_grades")
        self._workspace = workspace
        self._ids: tuple[object, ...] = ()
        self.same = RunLabel(SENTENCE, bold=True, name="run_same_as_photo")
        self.none = RunLabel(SMALL, name="run_no_anchors")
        self.buttons = tuple(
            BigButton(titled(outcome.value), f"run_grade_{number}", key=str(number), base=SENTENCE)
            for number, outcome in enumerate(GRADES, start=1)
        )
        for number, button in enumerate(self.buttons, start=1):
            button.setCheckable(True)
            button.clicked.connect(lambda _on=False, grade=number: self._choose(grade))
        self.grid = ButtonGrid(self.buttons, most=4)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(self.same)
        column.addWidget(self.grid)
        column.addWidget(self.none)
        self.hide()

    def dress(self, theme: Theme) -> None:
        """Take the marks of a theme."""
        for outcome, button in zip(GRADES, self.buttons, strict=True):
            mark = theme.mark(outcome)
            button.show_glyph(mark.glyph, mark.colour)

    def set_low(self, is_low: bool) -> None:
        """Take less height: the keys beside the words."""
        for button in self.buttons:
            button.set_low(is_low)
        self.grid.place()

    def _choose(self, grade: int) -> None:
        # What is shown as chosen follows from the run, not from the press.
        self.buttons[grade - 1].setChecked(not self.buttons[grade - 1].isChecked())
        self.graded.emit(grade)

    def show_grade(self, grade: int | None) -> None:
        """Show which class was chosen."""
        for number, button in enumerate(self.buttons, start=1):
            if button.isChecked() != (number == grade):
                button.setChecked(number == grade)

    def load_photos(self) -> None:
        """Fetch the photos of the classes, off the window's thread; what is shown already is not fetched again."""
        document = self._workspace.document
        anchors = {} if document is None else dict(document.anchors())
        photos = {outcome: photo.data for outcome, photo in anchors.items() if outcome in GRADES}
        ids = tuple(sorted((outcome.value, hash(data)) for outcome, data in photos.items()))
        self._say(bool(photos))
        if ids == self._ids:
            return
        self._ids = ids

        def read(token: CancelToken) -> Mapping[Outcome, QImage]:
            del token
            return {outcome: small_image(data) for outcome, data in photos.items()}

        self._workspace.submit(read, self._show_photos, slot=_SLOT)

    def _say(self, has_photos: bool) -> None:
        self.same.say("Same as the photo?" if has_photos else "How did it come out?")
        self.none.say("" if has_photos else "No class has a photo yet. The ledger can keep one for each.")

    def _show_photos(self, images: Mapping[Outcome, QImage]) -> None:
        for outcome, button in zip(GRADES, self.buttons, strict=True):
            image = images.get(outcome)
            has_one = image is not None and not image.isNull()
            button.show_picture(QPixmap.fromImage(image) if image is not None and has_one else None)
        self.grid.place()


def small_image(data: bytes) -> QImage:
    """Return a photo scaled to the room above a word; a null image where it cannot be read."""
    image = QImage.fromData(QByteArray(data))
    if image.isNull():
        return image
    keep, smooth = Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
    return image.scaled(_PHOTO_WIDTH, _PHOTO_HEIGHT, keep, smooth)
