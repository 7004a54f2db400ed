"""The large time of the step: digits that never jump, the target, what is left, and a calm bar."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.run.look import DIGITS, GAP, SENTENCE, SMALL, RunLabel, pixels
from stirfall.desktop.run.shapes import Shape, ShapeSign
from stirfall.desktop.theme import LIGHT, Theme
from stirfall.session.run_shown import RunView

_BAR = 18
_CELLS = 5  # digits and colons of a usual time, "12:34"; an hour takes two cells more


@dataclass(frozen=True)
class StepTime:
    """Seconds of the step, whole ones: counted, planned and left (None where none are planned), and overdue."""

    elapsed_s: int = 0
    target_s: int | None = None
    left_s: int | None = None
    is_due: bool = False
    overdue_s: int = 0

    @classmethod
    def of(cls, view: RunView) -> StepTime:
        """Return the times of a view."""
        return cls(view.elapsed_s, view.target_s, view.remaining_s, view.is_due, view.overdue_s)

    @property
    def large(self) -> int:
        """The seconds that are shown large: what is left, beyond the target by how much, or what has passed."""
        if self.target_s is None:
            return self.elapsed_s
        return self.overdue_s if self.is_due else self.left_s or 0


def clock_face(seconds: int) -> str:
    """Return seconds as ``m:ss``, from an hour on as ``h:mm:ss``."""
    hours, rest = divmod(seconds, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def said_time(seconds: int) -> str:
    """Return seconds in whole minutes, as they are spoken."""
    return f"{seconds // 60}{THIN_SPACE}min" if seconds >= 60 else "less than a minute"


class TimerDigits(QWidget):
    """The elapsed time in cells of one width; only the cells that changed are drawn anew."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_digits")
        self._text = clock_face(0)
        self._theme = LIGHT
        self._font = QFont()
        self._cell, self._colon = 1, 1
        self._is_low = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._measure()

    @property
    def text(self) -> str:
        """The time that is shown."""
        return self._text

    def show_text(self, text: str) -> None:
        """Show a time; the same again draws nothing."""
        old, self._text = self._text, text
        if len(old) != len(text):
            self._measure()
            self.update()
            return
        for place, (before, after) in enumerate(zip(old, text, strict=True)):
            if before != after:
                self.update(self._place(place).toAlignedRect())

    def set_low(self, is_low: bool) -> None:
        """Keep to the least height of the digits where there is little room."""
        self._is_low = is_low
        self._measure()

    def digit_height(self) -> int:
        """Return the height of a digit in pixels."""
        return QFontMetrics(self._font).capHeight()

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme and the text scale of the moment."""
        self._theme = theme
        self._measure()
        self.update()

    def _measure(self) -> None:
        """Take the largest font up to the text scale that lets the time fit; the digits stay 80 pixels high."""
        made = QFont(QApplication.font())
        made.setWeight(QFont.Weight.DemiBold)
        made.setPixelSize(1000)
        cap = QFontMetrics(made).capHeight() / 1000
        wanted = DIGITS if self._is_low else max(pixels(DIGITS), DIGITS)
        made.setPixelSize(round(wanted / cap))
        self._font = made
        self._count()
        if self.width() > 100 and self._length() > self.width():
            least = round(DIGITS / cap)
            made.setPixelSize(max(int(made.pixelSize() * self.width() / self._length()), least))
            self._count()
        self.setFixedHeight(self.digit_height() + 2 * GAP)

    def _count(self) -> None:
        metrics = QFontMetrics(self._font)
        self._cell = max(metrics.horizontalAdvance(digit) for digit in "0123456789")
        self._colon = metrics.horizontalAdvance(":") + 4

    def _length(self) -> int:
        text = self._text if len(self._text) > _CELLS else "00:00"
        return sum(self._colon if sign == ":" else self._cell for sign in text)

    def minimumSizeHint(self) -> QSize:
        """Return room for the time."""
        return QSize(self._length(), self.height())

    def sizeHint(self) -> QSize:
        """Return room for the time."""
        return QSize(self._length(), self.height())

    def resizeEvent(self, event: object) -> None:
        """Fit the digits to the width."""
        del event
        self._measure()

    def _place(self, place: int) -> QRectF:
        left = sum(self._colon if sign == ":" else self._cell for sign in self._text[:place])
        wide = self._colon if self._text[place] == ":" else self._cell
        return QRectF(left, 0, wide, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the cells that are asked for."""
        painter = QPainter(self)
        painter.setFont(self._font)
        painter.setPen(self._theme.colour("text"))
        base = GAP + self.digit_height()
        metrics = QFontMetrics(self._font)
        for place, sign in enumerate(self._text):
            cell = self._place(place)
            if event.rect().intersects(cell.toAlignedRect()):
                painter.drawText(round(cell.center().x() - metrics.horizontalAdvance(sign) / 2), base, sign)
        painter.end()


class TimeBar(QWidget):
    """How much of the planned time is over; a line at the target, and hatching beyond it."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_bar")
        self._time = StepTime()
        self._theme = LIGHT
        self.setFixedHeight(_BAR)

    def show_time(self, time: StepTime) -> None:
        """Show a time; draws anew only when the bar moves by a pixel."""
        old, self._time = self._time, time
        if self._ends(old) != self._ends(time):
            self.update()

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme
        self.update()

    def _ends(self, time: StepTime) -> tuple[int, int]:
        """Return where the filled part ends and where the target stands, in pixels."""
        if not time.target_s:
            return 0, 0
        whole = max(time.elapsed_s, time.target_s)
        return round(self.width() * time.elapsed_s / whole), round(self.width() * time.target_s / whole)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frame, what is over, and what is beyond the target."""
        del event
        painter = QPainter(self)
        theme = self._theme
        filled, target = self._ends(self._time)
        box = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.setPen(theme.colour("line"))
        painter.setBrush(theme.colour("raised"))
        painter.drawRect(box)
        painter.fillRect(QRectF(1, 1, max(min(filled, target) - 2, 0), self.height() - 2), theme.colour("accent"))
        if filled > target > 0:
            beyond = QRectF(target, 1, filled - target - 1, self.height() - 2)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.colour("caution"))
            painter.drawRect(QRectF(target, 0, 3, self.height()))
            painter.setBrush(Qt.BrushStyle.BDiagPattern)
            brush = painter.brush()
            brush.setColor(theme.colour("caution"))
            painter.fillRect(beyond, brush)
        painter.end()


class TimerPart(QWidget):
    """What the digits mean in words, the digits, the bar, and the plan; told to a screen reader once a minute."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_timer")
        self.setAccessibleName("Time of the step")
        self.digits, self.bar = TimerDigits(), TimeBar()
        self.meaning = RunLabel(SENTENCE, bold=True, name="run_left", wrap=False)
        self.plan = RunLabel(SMALL, name="run_target")
        self.sign = ShapeSign(Shape.CAUTION, "caution", SENTENCE)
        self._time: StepTime | None = None
        row = QHBoxLayout()
        row.setSpacing(GAP)
        row.addWidget(self.sign)
        row.addWidget(self.meaning, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP // 2)
        column.addLayout(row)
        column.addWidget(self.digits)
        column.addWidget(self.bar)
        column.addWidget(self.plan)
        self.sign.hide()
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def show_time(self, time: StepTime) -> None:
        """Show the time of the step; only what changed is drawn."""
        if time == self._time:
            return
        self._time = time
        self.digits.show_text(clock_face(time.large))
        self.bar.show_time(time)
        self.bar.setVisible(bool(time.target_s))
        self.sign.setVisible(time.is_due)
        self.meaning.say(_meaning(time))
        self.plan.say(_plan(time))
        words = _spoken(time)
        if words != self.accessibleDescription():
            self.setAccessibleDescription(words)


def _meaning(time: StepTime) -> str:
    if time.target_s is None:
        return "In this step"
    return "Overdue by" if time.is_due else "Still to go"


def _plan(time: StepTime) -> str:
    if time.target_s is None:
        return "No time is planned."
    if time.is_due:
        return f"{clock_face(time.target_s)} planned, {clock_face(time.elapsed_s)} now"
    return f"{clock_face(time.elapsed_s)} of {clock_face(time.target_s)} done"


def _spoken(time: StepTime) -> str:
    """Return the time in whole minutes, so that a screen reader does not speak each second."""
    if time.is_due:
        return f"The planned time is over, by {said_time(time.overdue_s - time.overdue_s % 60)}"
    words = f"{said_time(time.elapsed_s - time.elapsed_s % 60)} in this step"
    left = time.left_s
    return words if left is None else f"{words}, about {said_time(-(-left // 60) * 60)} left"
