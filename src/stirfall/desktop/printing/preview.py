"""The preview of a print job: the page as it will be printed, with what it holds said in words as well."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QImage, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import button
from stirfall.desktop.printing.preview_model import PreviewModel, PreviewState
from stirfall.desktop.theme import LIGHT, SPACING, set_text_role

_MARGIN = SPACING
_LEAST = QSize(300, 460)


class PageView(QWidget):
    """One page, as large as its place allows; ``outlines`` are places to show that are not printed, in mm.

    Signals:
        pressed(QPointF): where on the page the mouse pressed, in mm.
        resolution_wanted(float): dots per mm at which the page is shown.
    """

    pressed = Signal(QPointF)
    resolution_wanted = Signal(float)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("print_page")
        self.setAccessibleName("Preview")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(_LEAST)
        self._image: QImage | None = None
        self._page_mm = (210.0, 297.0)
        self._outlines: tuple[QRectF, ...] = ()

    def show_page(self, image: QImage | None, page_mm: tuple[float, float], outlines: tuple[QRectF, ...]) -> None:
        """Show a page."""
        changed = page_mm != self._page_mm
        self._image, self._page_mm, self._outlines = image, page_mm, outlines
        if changed:
            self._ask()
        self.update()

    def page_rect(self) -> QRectF:
        """Return where the page lies in the widget: whole, in the middle, at most at true size times three."""
        width, height = self._page_mm
        room = QRectF(self.rect()).adjusted(_MARGIN, _MARGIN, -_MARGIN, -_MARGIN)
        scale = min(room.width() / width, room.height() / height, 12.0)
        size = (width * scale, height * scale)
        return QRectF(room.center().x() - size[0] / 2, room.top(), *size)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Ask for a picture that is sharp at the new size."""
        super().resizeEvent(event)
        self._ask()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Say where on the page was pressed."""
        page = self.page_rect()
        if page.contains(event.position()):
            scale = self._page_mm[0] / page.width()
            self.pressed.emit((event.position() - page.topLeft()) * scale)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the paper, the page, and the outlines over it."""
        del event
        painter = QPainter(self)
        painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
        page = self.page_rect()
        painter.fillRect(page, LIGHT.colour("raised"))
        if self._image is not None:
            painter.drawImage(page, self._image)
        scale = page.width() / self._page_mm[0]
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(LIGHT.colour("grid"), 1.0))
        for place in self._outlines:
            painter.drawRect(QRectF(page.topLeft() + place.topLeft() * scale, place.size() * scale))
        painter.setPen(QPen(LIGHT.colour("line"), 1.0))
        painter.drawRect(page)

    def _ask(self) -> None:
        self.resolution_wanted.emit(self.page_rect().width() / self._page_mm[0] * self.devicePixelRatioF())


class Preview(QWidget):
    """The page with the line below it that says what it is and turns pages."""

    def __init__(self, model: PreviewModel) -> None:
        super().__init__()
        self.model = model
        self.page = PageView()
        self.words = QLabel()
        self.words.setObjectName("print_words")
        self.words.setWordWrap(True)
        self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        set_text_role(self.words, "muted")
        self.before = button("&Back", "print_page_before")
        self.after = button("Ne&xt page", "print_page_after")
        self.before.setAccessibleName("Page before")
        self.after.setAccessibleName("Page after")
        self.outlines: tuple[QRectF, ...] = ()
        foot = QHBoxLayout()
        foot.setSpacing(SPACING)
        foot.addWidget(self.words, 1)
        foot.addWidget(self.before)
        foot.addWidget(self.after)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING)
        column.addWidget(self.page, 1)
        column.addLayout(foot)
        self.page.resolution_wanted.connect(model.set_resolution)
        self.before.clicked.connect(lambda: model.turn(-1))
        self.after.clicked.connect(lambda: model.turn(1))
        model.changed.connect(self.render_state)
        self.render_state(model.state)

    def show_outlines(self, outlines: tuple[QRectF, ...]) -> None:
        """Show the places of a sheet that stay empty; they are not printed."""
        self.outlines = outlines
        self.render_state(self.model.state)

    def render_state(self, state: PreviewState) -> None:
        """Show the state; showing it twice changes nothing."""
        size = state.job.page_mm if state.job is not None else (210.0, 297.0)
        outlines = self.outlines if state.page == 0 and state.job is not None else ()
        self.page.show_page(state.image if state.job is not None else None, size, outlines)
        text = f"Page {state.page + 1} of {state.count}, {_size(size)}" if state.count else "Nothing to print yet"
        self.words.setText(text)
        self.page.setAccessibleDescription(text)
        for act, can in ((self.before, state.page > 0), (self.after, state.page + 1 < state.count)):
            act.setVisible(state.count > 1)
            act.setEnabled(can)


def _size(page_mm: tuple[float, float]) -> str:
    from stirfall.reporting.label_sheet import size_text

    return size_text(page_mm)
