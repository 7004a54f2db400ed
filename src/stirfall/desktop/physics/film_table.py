"""The inputs of two jars beside each other, and what each alone does to the first jar's film index."""

from __future__ import annotations

import math

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QWidget

from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.physics.film_state import FilmContent, FilmRow
from stirfall.desktop.theme import SPACING, Theme, set_text_role
from stirfall.reporting.sentences import sentence

_BAR_PX = 9 * SPACING
_LEAST_REACH = 3.0
_LABEL, _FIRST, _SECOND, _EFFECT, _BAR = range(5)


class EffectBar(QWidget):
    """A bar from the middle: to the right for more film, to the left for less, on a log scale of ``reach``."""

    def __init__(self) -> None:
        super().__init__()
        self._factor: float | None = None
        self._reach = _LEAST_REACH
        self._ink, self._line = QColor(), QColor()
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)

    def sizeHint(self) -> QSize:
        """Return room for the bar."""
        return QSize(_BAR_PX, 2 * SPACING)

    def show_factor(self, factor: float | None, reach: float, theme: Theme) -> None:
        """Show a factor; None leaves the place empty."""
        self._factor, self._reach = factor, reach
        self._ink, self._line = theme.colour("accent"), theme.colour("line")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the bar and the line that stands for no difference."""
        del event
        if self._factor is None or self._factor <= 0:
            return
        painter = QPainter(self)
        middle, high = self.width() / 2, self.height()
        share = min(max(math.log(self._factor) / math.log(self._reach), -1.0), 1.0)
        length = share * (middle - 1)
        painter.fillRect(
            round(min(middle, middle + length)), high // 2 - 4, max(round(abs(length)), 1), 9, self._ink
        )
        painter.fillRect(round(middle), 0, 1, high, self._line)
        painter.end()


class FilmTable(QWidget):
    """A grid of labels: one row per input, the film index first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("film_rows")
        self.setAccessibleName("Inputs of both jars")
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(SPACING)
        self._grid.setVerticalSpacing(SPACING // 2)
        for column, stretch in ((_LABEL, 6), (_FIRST, 4), (_SECOND, 4), (_EFFECT, 3)):
            self._grid.setColumnStretch(column, stretch)
        self._cells: list[tuple[QLabel, ...]] = []
        self._bars: list[EffectBar] = []

    def show_content(self, content: FilmContent, *, theme: Theme, is_stale: bool) -> None:
        """Show a comparison; showing it twice changes nothing."""
        head = (
            "",
            f"● {content.names[0]}",
            f"■ {content.names[1]}",
            sentence("film_page.effect"),
        )
        known = [text or sentence("film_page.unknown") for text in content.indices]
        self._show(0, head, role="muted", theme=theme)
        self._show(1, (sentence("film_page.index"), *known, ""), theme=theme, is_bold=True)
        factors = [row.factor for row in content.rows if row.factor is not None and row.factor > 0]
        reach = max([_LEAST_REACH, *(max(factor, 1.0 / factor) for factor in factors)])
        for place, row in enumerate(content.rows, start=2):
            self._show(
                place, _words(row), role="muted" if is_stale else "", factor=row.factor, reach=reach, theme=theme
            )
        for place in range(len(content.rows) + 2, len(self._cells)):
            for cell in (*self._cells[place], self._bars[place]):
                cell.setVisible(False)
        self.setAccessibleDescription(" ".join(spoken(row, content.names) for row in content.rows))

    def _show(
        self,
        place: int,
        texts: tuple[str, ...],
        *,
        theme: Theme,
        role: str = "",
        factor: float | None = None,
        reach: float = _LEAST_REACH,
        is_bold: bool = False,
    ) -> None:
        while len(self._cells) <= place:
            self._add_row()
        for cell, text in zip(self._cells[place], texts, strict=True):
            cell.setText(text)
            set_text_role(cell, role)
            font = cell.font()
            if font.bold() != is_bold:
                font.setBold(is_bold)
                cell.setFont(font)
            cell.setVisible(True)
        self._bars[place].show_factor(factor, reach, theme)
        self._bars[place].setVisible(True)

    def _add_row(self) -> None:
        place = len(self._cells)
        cells = tuple(wrapped_label(f"film_cell_{place}_{column}") for column in range(_BAR))
        for column, cell in enumerate(cells):
            cell.setAlignment(Qt.AlignmentFlag.AlignTop)
            self._grid.addWidget(cell, place, column)
        bar = EffectBar()
        self._grid.addWidget(bar, place, _BAR, Qt.AlignmentFlag.AlignTop)
        self._cells.append(cells)
        self._bars.append(bar)

    def texts(self) -> list[tuple[str, ...]]:
        """Return the texts of the rows that are shown."""
        return [tuple(cell.text() for cell in row) for row in self._cells if row[0].isVisibleTo(self)]


def _words(row: FilmRow) -> tuple[str, str, str, str]:
    values = [
        sentence("film_page.usual", {"value": text}) if usual else text
        for text, usual in zip((row.first, row.second), row.assumed, strict=True)
    ]
    return row.label, values[0], values[1], row.effect or sentence("film_page.not_counted")


def spoken(row: FilmRow, names: tuple[str, str]) -> str:
    """Say a row as one sentence."""
    _label, first, second, effect = _words(row)
    return f"{row.label}: {names[0]} {first}, {names[1]} {second}{'; ' + effect if effect else ''}."
