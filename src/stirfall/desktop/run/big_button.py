"""A button for gloves: a word, the key that does the same, and where it helps a picture or a shape."""

from __future__ import annotations

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPainter, QPaintEvent, QPen, QPixmap, QResizeEvent
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from stirfall.desktop.run.look import APART, PRESS, SMALL, WORD, font
from stirfall.desktop.theme import LIGHT, Theme

_PAD = 10
_WRAP = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignCenter)


class BigButton(QPushButton):
    """At least 76 pixels high and wide; acts on release; ``kind`` is plain, primary, danger or quiet.

    The keyboard reaches it by Tab. A click leaves the keyboard where it is, so the keys of the run go on working,
    and a press by key gives it back to whatever the buttons stand on.
    """

    def __init__(self, word: str, name: str, *, key: str = "", kind: str = "plain", base: int = WORD) -> None:
        super().__init__(word)
        self.key, self.kind = key, kind
        self.is_wanted = True
        self.is_low = False
        self._base = base
        self._theme = LIGHT
        self._glyph: tuple[str, str] | None = None
        self._picture: QPixmap | None = None
        self.setObjectName(name)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setAutoDefault(False)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setMinimumSize(PRESS, PRESS)
        self._name()
        self.clicked.connect(self._give_back)

    def _give_back(self) -> None:
        """Give the keyboard back, so that a second press of the space bar is not a second press of this button."""
        around = self.parentWidget()
        while around is not None and around.focusPolicy() != Qt.FocusPolicy.StrongFocus:
            around = around.parentWidget()
        if self.hasFocus() and around is not None:
            around.setFocus()

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme and the text scale of the moment."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def set_low(self, is_low: bool) -> None:
        """Write the key beside the word where there is little height."""
        self.is_low = is_low
        self.update()

    def say(self, word: str) -> None:
        """Show another word; nothing happens when it is the same."""
        if word != self.text():
            self.setText(word)
            self._name()
            self.updateGeometry()

    def want(self, is_wanted: bool) -> bool:
        """Show the button or not; returns whether that changed, so that its grid is to be placed anew."""
        changed = is_wanted != self.is_wanted
        self.is_wanted = is_wanted
        self.setVisible(is_wanted)
        return changed

    def show_glyph(self, glyph: str, colour: str) -> None:
        """Put a mark of the outcome before the word."""
        self._glyph = (glyph, colour)
        self.update()

    def show_picture(self, picture: QPixmap | None) -> None:
        """Put a picture above the word, or none."""
        self._picture = picture
        self.updateGeometry()
        self.update()

    def _name(self) -> None:
        self.setAccessibleName(self.text())
        self.setAccessibleDescription(f"Key: {self.key}" if self.key else "")

    # -- size --------------------------------------------------------------------------------------

    def height_for(self, width: int) -> int:
        """Return the height that the word, the key and the picture need at a width."""
        metrics = QFontMetrics(font(self._base, bold=True))
        taken = 2 * _PAD + self._glyph_width(metrics) + self._key_width()
        room = QRect(0, 0, max(width - taken, 20), 10_000)
        high = metrics.boundingRect(room, _WRAP, self.text()).height()
        if self.key and not self.is_low:
            high += QFontMetrics(font(SMALL)).height() + 2
        return max(high + self._picture_height() + 2 * _PAD, PRESS)

    def least_width(self) -> int:
        """Return the width below which a word would be cut."""
        metrics = QFontMetrics(font(self._base, bold=True))
        widest = max((metrics.horizontalAdvance(word) for word in self.text().split()), default=0)
        keys = QFontMetrics(font(SMALL)).horizontalAdvance(self.key)
        return max(widest + self._glyph_width(metrics) + self._key_width(), keys) + 2 * _PAD + 4

    def sizeHint(self) -> QSize:
        """Return the size for the word in one line."""
        metrics = QFontMetrics(font(self._base, bold=True))
        width = metrics.horizontalAdvance(self.text()) + self._glyph_width(metrics) + 4 * _PAD
        width = max(width, PRESS, self.least_width())
        return QSize(width, self.height_for(width))

    def minimumSizeHint(self) -> QSize:
        """Return the least size; never below 76 pixels a side."""
        width = max(self.least_width(), PRESS)
        return QSize(width, self.height_for(width))

    def hasHeightForWidth(self) -> bool:
        """The word may take more lines where there is less width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height at a width."""
        return self.height_for(width)

    def _key_width(self) -> int:
        """Return what the key takes beside the word, where there is no height for it below."""
        if not self.key or not self.is_low:
            return 0
        return QFontMetrics(font(SMALL)).horizontalAdvance(self.key) + _PAD

    def _glyph_width(self, metrics: QFontMetrics) -> int:
        return metrics.horizontalAdvance(f"{self._glyph[0]}  ") if self._glyph else 0

    def _picture_height(self) -> int:
        return self._picture.height() + _PAD if self._picture is not None else 0

    # -- drawing -----------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw ground, edge, picture, word and key."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ground, ink, edge = self._colours()
        pen = QPen(edge, 2.0 if self.kind != "danger" else 3.0)
        if not self.isEnabled():
            pen.setStyle(Qt.PenStyle.DashLine)
        painter.setPen(pen)
        painter.setBrush(ground)
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 2, -2, -2), 8, 8)
        self._draw_inside(painter, ink)
        painter.end()

    def _draw_inside(self, painter: QPainter, ink: QColor) -> None:
        top = _PAD
        if self._picture is not None:
            painter.drawPixmap((self.width() - self._picture.width()) // 2, top, self._picture)
            top += self._picture_height()
        keys = QFontMetrics(font(SMALL)).height() + 2 if self.key and not self.is_low else 0
        wide = self.width() - 2 * _PAD - self._key_width()
        words = QRect(_PAD, top, wide, self.height() - top - keys - _PAD)
        painter.setFont(font(self._base, bold=True))
        if self._glyph is not None:
            self._draw_glyph(painter, words)
            words.setLeft(words.left() + self._glyph_width(painter.fontMetrics()))
        painter.setPen(ink)
        painter.drawText(words, _WRAP, self.text())
        if self.key:
            painter.setFont(font(SMALL))
            place = QRect(_PAD, self.height() - keys - _PAD + 4, self.width() - 2 * _PAD, keys)
            if self.is_low:
                place = QRect(self.width() - _PAD - self._key_width(), 0, self._key_width(), self.height())
            painter.drawText(place, int(Qt.AlignmentFlag.AlignCenter), self.key)

    def _draw_glyph(self, painter: QPainter, words: QRect) -> None:
        assert self._glyph is not None
        glyph, colour = self._glyph
        painter.setPen(QColor(colour))
        metrics = painter.fontMetrics()
        room = QRect(0, 0, max(words.width() - self._glyph_width(metrics), 20), 10_000)
        wide = metrics.boundingRect(room, _WRAP, self.text()).width()
        left = words.left() + max((words.width() - self._glyph_width(metrics) - wide) // 2, 0)
        painter.drawText(QRect(left, words.top(), words.width(), words.height()), _LEFT, glyph)

    def _colours(self) -> tuple[QColor, QColor, QColor]:
        theme = self._theme
        colour = theme.colour
        if not self.isEnabled():
            return colour("raised"), colour("muted"), colour("line")
        if self.isDown():
            return colour("band"), colour("text"), colour("accent")
        if self.kind == "primary" or self.isChecked():
            return colour("accent"), colour("on_accent"), colour("text" if self.underMouse() else "accent")
        if self.kind == "danger":
            return colour("raised"), colour("text"), colour("danger")
        return colour("raised"), colour("text"), colour("accent" if self.underMouse() else "line")


_LEFT = int(Qt.AlignmentFlag.AlignVCenter) | int(Qt.AlignmentFlag.AlignLeft)


class ButtonGrid(QWidget):
    """Lays buttons out in as few rows as their words allow, all alike, with gaps that a glove respects."""

    def __init__(self, buttons: tuple[BigButton, ...] = (), *, most: int = 8) -> None:
        super().__init__()
        self._buttons: tuple[BigButton, ...] = ()
        self._most = most
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.hold(buttons)

    @property
    def buttons(self) -> tuple[BigButton, ...]:
        """The buttons that are held, shown or not."""
        return self._buttons

    def hold(self, buttons: tuple[BigButton, ...]) -> None:
        """Take these buttons; those held before that are not among them are left alone."""
        self._buttons = buttons
        for button in buttons:
            if button.parentWidget() is not self:
                button.setParent(self)
            button.setVisible(button.is_wanted)
        self.place()

    def place(self) -> None:
        """Lay out anew; wanted after a button was shown or hidden, or its word changed."""
        self._arrange(self.width())
        self.updateGeometry()

    def dress(self, theme: Theme) -> None:
        """Lay out anew for the text scale of the moment."""
        del theme
        self.place()

    def _shown(self) -> list[BigButton]:
        return [button for button in self._buttons if button.is_wanted]

    def _columns(self, width: int) -> int:
        shown = self._shown()
        if not shown:
            return 1
        least = max(button.least_width() for button in shown)
        fit = max(min((width + APART) // (max(least, PRESS) + APART), self._most, len(shown)), 1)
        rows = -(-len(shown) // fit)
        return -(-len(shown) // rows)

    def _row_height(self, width: int) -> int:
        columns = self._columns(width)
        each = (width - (columns - 1) * APART) // columns
        return max((button.height_for(each) for button in self._shown()), default=0)

    def height_for(self, width: int) -> int:
        """Return the height of all rows at a width."""
        shown = len(self._shown())
        if not shown:
            return 0
        rows = -(-shown // self._columns(width))
        return rows * self._row_height(width) + (rows - 1) * APART

    def hasHeightForWidth(self) -> bool:
        """Fewer columns make more rows."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows at a width."""
        return self.height_for(width)

    def sizeHint(self) -> QSize:
        """Return the room at the width of the moment."""
        width = max(self.width(), self.minimumSizeHint().width())
        return QSize(width, self.height_for(width))

    def minimumSizeHint(self) -> QSize:
        """Return the width of the widest word; the height follows from the width."""
        return QSize(max((button.least_width() for button in self._shown()), default=0), 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out for the new width."""
        del event
        self._arrange(self.width())

    def _arrange(self, width: int) -> None:
        columns, high = self._columns(width), self._row_height(width)
        each = (width - (columns - 1) * APART) / columns
        shown = self._shown()
        rows = -(-len(shown) // columns)
        for place, button in enumerate(shown):
            # The last button stands at the end of the last row, wherever the others leave off.
            row, column = divmod(place if button is not shown[-1] else rows * columns - 1, columns)
            left = round(column * (each + APART))
            button.setGeometry(left, row * (high + APART), round(each), high)
