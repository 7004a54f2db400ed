"""The checks before a run and the closing list after it: large lines to tick, some with an answer to choose."""

from __future__ import annotations

from PySide6.QtCore import QRect, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter
from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.run.big_button import BigButton, ButtonGrid
from stirfall.desktop.run.look import APART, GAP, PRESS, SENTENCE, SMALL, RunLabel, font, pixels
from stirfall.desktop.run.shapes import Shape, draw_shape, draw_ticked
from stirfall.desktop.run.words import clock_time, said
from stirfall.desktop.theme import LIGHT, Theme
from stirfall.session.run_shown import ClosingLine

_LEFT = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignVCenter) | int(Qt.AlignmentFlag.AlignLeft)
_BOX = 40


class TickButton(BigButton):
    """A line to tick: a large box, the sentence, and at the right the key that ticks it."""

    is_done = False

    def show_done(self, is_done: bool, key: str) -> None:
        """Show whether the line is ticked, and the key that would tick it."""
        if (is_done, key) == (self.is_done, self.key):
            return
        self.is_done, self.key = is_done, key
        self._name()
        self.setAccessibleName(f"{self.text()}: {'done' if is_done else 'not done yet'}")
        self.update()

    def height_for(self, width: int) -> int:
        """Return the height of the sentence beside its box."""
        metrics = QFontMetrics(font(self._base, bold=True))
        room = QRect(0, 0, max(self._words_width(width), 60), 10_000)
        return max(metrics.boundingRect(room, _LEFT, self.text()).height() + 2 * GAP, PRESS)

    def least_width(self) -> int:
        """Return room for the box and a few words."""
        return pixels(_BOX) + pixels(260)

    def _key_width(self) -> int:
        return QFontMetrics(font(SMALL)).horizontalAdvance("Enter") + GAP

    def _words_width(self, width: int) -> int:
        return width - pixels(_BOX) - 4 * GAP - self._key_width()

    def _draw_inside(self, painter: QPainter, ink: object) -> None:
        del ink
        colour = self._theme.colour("text")
        side = pixels(_BOX)
        box = QRectF(2 * GAP, (self.height() - side) / 2, side, side)
        if self.is_done:
            draw_ticked(painter, box, colour)
        else:
            draw_shape(painter, Shape.BOX, box, colour, colour)
        painter.setPen(colour)
        painter.setFont(font(self._base, bold=not self.is_done))
        words = QRect(round(box.right()) + GAP, 0, self._words_width(self.width()), self.height())
        painter.drawText(words, _LEFT, self.text())
        if self.key:
            painter.setFont(font(SMALL))
            right = QRect(self.width() - self._key_width() - GAP, 0, self._key_width(), self.height())
            painter.drawText(right, int(Qt.AlignmentFlag.AlignCenter), self.key)


class ListLine(QWidget):
    """One line, with its answers below where it has some.

    Signals:
        ticked(str, str): key of the line, and the answer, "" where a tick is enough.
        shelf_wanted(): the shelf is wanted, to register residue.
    """

    ticked = Signal(str, str)
    shelf_wanted = Signal()

    def __init__(self, key: str, theme: Theme) -> None:
        super().__init__()
        self.key = key
        self._options: tuple[str, ...] = ()
        self._theme = theme
        self.tick = TickButton("", f"run_tick_{key}", base=SENTENCE)
        self.tick.clicked.connect(self._tick)
        self.answers: list[BigButton] = []
        self.grid = ButtonGrid(most=4)
        self.hint = RunLabel(SMALL, name=f"run_hint_{key}")
        self.shelf = BigButton("Open the shelf, to register it", f"run_shelf_{key}")
        self.shelf.clicked.connect(self.shelf_wanted)
        self.shelf.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(self.tick)
        column.addWidget(self.hint)
        column.addWidget(self.grid)
        column.addWidget(self.shelf)
        for part in (self.tick, self.hint, self.shelf):
            part.dress(theme)

    def dress(self, theme: Theme) -> None:
        """Remember the theme for answers to come."""
        self._theme = theme

    def show_line(self, line: ClosingLine, key: str, digits: bool, decimal: str) -> None:
        """Show the line; ``key`` is what ticks it, ``digits`` says that 1 to 4 choose among its answers."""
        self._options = line.options
        self.tick.say(said(line.text, decimal))
        self.tick.show_done(line.is_done, "" if line.options else key)
        done = f"{titled(line.said)} at {clock_time(line.at)}" if line.said and line.at else ""
        self.shelf.setVisible(line.hint is not None and not line.is_done)
        self.hint.say(done or ("" if line.is_done else said(line.hint, decimal)))
        while len(self.answers) < len(line.options):
            place = len(self.answers)
            button = BigButton("", f"run_option_{self.key}_{place + 1}")
            button.dress(self._theme)
            button.clicked.connect(lambda _on=False, chosen=place: self.choose(chosen))
            self.answers.append(button)
        for place, option in enumerate(line.options):
            button = self.answers[place]
            button.key = str(place + 1) if digits else ""
            button.say(titled(option))
            button.setCheckable(True)
            button.setChecked(option == line.said)
        wants = bool(line.options) and not line.is_done
        self.grid.setVisible(wants)
        if wants:
            self.grid.hold(tuple(self.answers))

    def choose(self, place: int) -> bool:
        """Give the answer at a place."""
        if not 0 <= place < len(self._options):
            return False
        self.ticked.emit(self.key, self._options[place])
        return True

    def _tick(self) -> None:
        if not self._options:
            self.ticked.emit(self.key, "")


class ListPart(QWidget):
    """All lines; Enter ticks the first that is open, 1 to 4 choose among its answers.

    Signals:
        ticked(str, str): key of the line, and the answer.
        shelf_wanted(): the shelf is wanted, to register residue.
    """

    ticked = Signal(str, str)
    shelf_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_list")
        self._theme = LIGHT
        self._shown: tuple[ClosingLine, ...] = ()
        self.lines: dict[str, ListLine] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(APART)
        self.hide()

    def dress(self, theme: Theme) -> None:
        """Remember the theme for lines to come."""
        self._theme = theme

    @property
    def open_line(self) -> ClosingLine | None:
        """The first line that is not ticked yet."""
        return next((line for line in self._shown if not line.is_done), None)

    def show_lines(self, lines: tuple[ClosingLine, ...], decimal: str) -> None:
        """Show the lines; the same again draws nothing."""
        if lines == self._shown:
            return
        self._shown = lines
        for line in lines:
            if line.key not in self.lines:
                made = ListLine(line.key, self._theme)
                made.ticked.connect(self.ticked)
                made.shelf_wanted.connect(self.shelf_wanted)
                self.lines[line.key] = made
                self._column.addWidget(made)
        waiting = self.open_line
        keys = {line.key: line for line in lines}
        for key, part in self.lines.items():
            part.setVisible(key in keys)
            if key in keys:
                is_next = waiting is not None and waiting.key == key
                part.show_line(keys[key], "Enter" if is_next else "", is_next, decimal)
        self.setVisible(bool(lines))

    def tick_next(self) -> bool:
        """Tick the first open line; False when it wants an answer, or there is none."""
        line = self.open_line
        if line is None or line.options:
            return False
        self.ticked.emit(line.key, "")
        return True

    def choose(self, place: int) -> bool:
        """Choose an answer of the first open line; False when it has none."""
        line = self.open_line
        return line is not None and bool(line.options) and self.lines[line.key].choose(place)
