"""One photo as large as the window has room, the next and the one before it by a key."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent, QPainter, QPaintEvent, QPixmap, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QMenu, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import button, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import name_control
from stirfall.desktop.photos.scaling import LONGEST, thumbnail
from stirfall.desktop.photos.strip import Shot
from stirfall.session.regrading import CLASSES

_STEP = 1.25
_LEAST, _MOST = 0.1, 16.0


class Picture(QWidget):
    """A picture that fits into its place, or is shown at a zoom of its own pixels."""

    def __init__(self, least: QSize | None = None) -> None:
        super().__init__()
        self._picture = QPixmap()
        self.zoom: float | None = None
        self._least = least or QSize(160, 120)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def show_image(self, image: QImage, name: str) -> None:
        """Show a picture under the name that screen readers say; a null image clears the place."""
        self._picture = QPixmap.fromImage(image)
        self.setAccessibleName(name)
        self.set_zoom(None)

    @property
    def has_picture(self) -> bool:
        """Whether there is a picture."""
        return not self._picture.isNull()

    def set_zoom(self, zoom: float | None) -> None:
        """Show it at so many screen pixels for one of its own; None fits it into the place."""
        self.zoom = None if zoom is None else min(max(zoom, _LEAST), _MOST)
        self.setMinimumSize(self._least if self.zoom is None else self._picture.size() * self.zoom)
        self.updateGeometry()
        self.update()

    def shown_scale(self) -> float:
        """Return the screen pixels for one of the picture's own."""
        if self.zoom is not None or self._picture.isNull():
            return self.zoom or 1.0
        fitted = self._picture.size().scaled(self.size(), Qt.AspectRatioMode.KeepAspectRatio)
        return fitted.width() / max(1, self._picture.width())

    def sizeHint(self) -> QSize:
        """Ask for no more than the least: the picture takes what room there is."""
        return self._least

    def minimumSizeHint(self) -> QSize:
        """Return the least size in which something can be seen."""
        return self._least

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the picture in the middle of its place."""
        del event
        if self._picture.isNull():
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        size = self._picture.size() * self.shown_scale()
        left, top = (self.width() - size.width()) // 2, (self.height() - size.height()) // 2
        painter.drawPixmap(left, top, size.width(), size.height(), self._picture)


class PhotoViewer(FramedDialog):
    """Photos one by one: left and right go on, plus and minus zoom, F fits, Escape closes.

    Signals:
        example_chosen(int, Outcome): the photo at this place shall be the example of a class.
    """

    example_chosen = Signal(int, object)

    def __init__(
        self, shots: Sequence[Shot], at: int, title: str, parent: QWidget | None, *, offers_example: bool = False
    ) -> None:
        super().__init__(title, parent)
        self._shots, self.at = tuple(shots), at
        self.picture = Picture()
        self._area = QScrollArea()
        self._area.setObjectName("photo_area")
        self._area.setWidgetResizable(True)
        self._area.setFrameShape(QScrollArea.Shape.NoFrame)
        self._area.setWidget(self.picture)
        self._area.viewport().installEventFilter(self)
        self.caption = text_label()
        self.caption.setObjectName("photo_caption")
        self.previous = button("‹ Previous", "photo_previous")
        self.next = button("Next ›", "photo_next")
        self.fit_button = button("Fit", "photo_fit")
        self.full = button("Full size", "photo_full")
        self.example = button("Use as example…", "photo_example")
        self.example.setVisible(offers_example)
        self.build(self._content_widget(), "&Close", cancel="").clicked.connect(self.accept)
        self.example.setMenu(self._class_menu())
        self.previous.clicked.connect(lambda: self.go(-1))
        self.next.clicked.connect(lambda: self.go(1))
        self.fit_button.clicked.connect(lambda: self.picture.set_zoom(None))
        self.full.clicked.connect(lambda: self.picture.set_zoom(1.0))
        self.take_room(1100, 800)
        self._show()
        self.next.setFocus()

    def _content_widget(self) -> QWidget:
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._area, 1)
        column.addWidget(self.caption)
        foot = QWidget()
        row = FlowLayout(foot)
        for each in (self.previous, self.next, self.fit_button, self.full, self.example):
            row.addWidget(each)
        column.addWidget(foot)
        for each, keys in (
            (self.previous, "Left arrow"),
            (self.next, "Right arrow"),
            (self.fit_button, "F"),
            (self.full, "0"),
        ):
            name_control(each, each.text().strip("‹› "), f"Key: {keys}")
        return content

    def _class_menu(self) -> QMenu:
        menu = QMenu(self.example)
        for outcome in CLASSES:
            action = menu.addAction(f"Example of “{outcome.value}”")
            action.triggered.connect(lambda _on=False, chosen=outcome: self.example_chosen.emit(self.at, chosen))
        return menu

    def go(self, steps: int) -> None:
        """Show another photo; beyond the last one nothing happens."""
        at = self.at + steps
        if 0 <= at < len(self._shots):
            self.at = at
            self._show()

    def _show(self) -> None:
        shot, count = self._shots[self.at], len(self._shots)
        name = f"Photo {self.at + 1} of {count}: {shot.name}"
        self.picture.show_image(thumbnail(shot.data, LONGEST), name)
        self.caption.setText(name if self.picture.has_picture else f"{name}. It cannot be shown.")
        self.previous.setEnabled(self.at > 0)
        self.next.setEnabled(self.at < count - 1)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on by the arrows, zoom by plus, minus, F and 0."""
        key = event.key()
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.go(1 if key == Qt.Key.Key_Right else -1)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal, Qt.Key.Key_Minus):
            self._zoom_by(1 / _STEP if key == Qt.Key.Key_Minus else _STEP)
        elif key == Qt.Key.Key_F:
            self.picture.set_zoom(None)
        elif key == Qt.Key.Key_0:
            self.picture.set_zoom(1.0)
        else:
            super().keyPressEvent(event)

    def _zoom_by(self, factor: float) -> None:
        self.picture.set_zoom(self.picture.shown_scale() * factor)

    def eventFilter(self, watched: object, event: QEvent) -> bool:
        """Zoom with the wheel over the picture."""
        del watched
        if isinstance(event, QWheelEvent) and event.angleDelta().y():
            self._zoom_by(_STEP if event.angleDelta().y() > 0 else 1 / _STEP)
            return True
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """A fitted picture takes the new room."""
        super().resizeEvent(event)
        self.picture.update()
