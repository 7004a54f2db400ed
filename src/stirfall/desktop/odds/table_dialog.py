"""The numbers of a picture as a table: to read, to hear, to copy, to save."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.factors import Factor
from stirfall.bench.open_text import safe_cell
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.phrases import value_text
from stirfall.desktop.odds.state import CurvePicture, MapPicture, OutcomePicture, TimePicture
from stirfall.desktop.odds.time_picture import hours_text
from stirfall.desktop.theme import SPACING
from stirfall.reporting.axis_ticks import from_axis
from stirfall.reporting.shares import percent, span

_TRIED = ("yes", "no")


@dataclass(frozen=True)
class PictureTable:
    """A picture as rows: ``shown`` as people read them, ``exact`` for files (a decimal point, shares in [0, 1])."""

    title: str
    header: tuple[str, ...]
    shown: tuple[tuple[str, ...], ...]
    exact_header: tuple[str, ...]
    exact: tuple[tuple[str, ...], ...]


def curve_table(picture: CurvePicture, *, decimal: str = ".") -> PictureTable:
    """Return the curve as rows: value, probability, lower and upper bound, gates, tried or not."""
    factor = picture.factor
    gate_names = tuple(word for word, _ in picture.gates)
    shown, exact = [], []
    for index, x in enumerate(picture.x):
        value = factor.levels[index] if factor.is_choice else float(x)
        shares = [float(part[index]) for part in (picture.mean, picture.lower, picture.upper)]
        shares += [float(line[index]) for _, line in picture.gates]
        tried = _TRIED[0] if picture.was_tried(value) else _TRIED[1]
        shown.append((value_text(factor, value, decimal=decimal), *map(percent, shares), tried))
        exact.append((str(value) if factor.is_choice else _exact(value), *map(_share, shares), tried))
    level = f"{round(100 * picture.level)} %"
    return PictureTable(
        title=f"Probability of clean separation along {factor.name}",
        header=(factor.name, "probability", f"lower, {level}", f"upper, {level}", *gate_names, "tried"),
        shown=tuple(shown),
        exact_header=(_column(factor), "probability", "lower", "upper", *gate_names, "tried"),
        exact=tuple(exact),
    )


def outcome_table(picture: OutcomePicture, *, decimal: str = ".") -> PictureTable:
    """Return the outcomes as rows: value, then share, lower and upper bound of each outcome, tried or not."""
    factor = picture.factor
    shown, exact = [], []
    for index, x in enumerate(picture.x):
        value = factor.levels[index] if factor.is_choice else float(x)
        tried = _TRIED[0] if picture.was_tried(value) else _TRIED[1]
        bands = [[float(part[index]) for part in (band.mean, band.lower, band.upper)] for band in picture.bands]
        cells = [f"{percent(mean)}, {span(lower, upper)}" for mean, lower, upper in bands]
        shown.append((value_text(factor, value, decimal=decimal), *cells, tried))
        numbers = [_share(part) for band in bands for part in band]
        exact.append((str(value) if factor.is_choice else _exact(value), *numbers, tried))
    level = f"{round(100 * picture.level)} %"
    words = [band.word for band in picture.bands]
    return PictureTable(
        title=f"Probability of each outcome along {factor.name}",
        header=(factor.name, *(f"{word}, {level}" for word in words), "tried"),
        shown=tuple(shown),
        exact_header=(
            _column(factor),
            *(name for word in words for name in (word, f"{word}, lower", f"{word}, upper")),
            "tried",
        ),
        exact=tuple(exact),
    )


def time_table(picture: TimePicture, *, decimal: str = ".") -> PictureTable:
    """Return the time to a clean batch as rows: age, hours with bounds, chance within the horizon, tried or not."""
    factor, shown, exact = picture.factor, [], []
    for index, x in enumerate(picture.x):
        hours = [float(part[index]) for part in (picture.mean, picture.lower, picture.upper)]
        tried = _TRIED[0] if picture.was_tried(float(x)) else _TRIED[1]
        chance = float(picture.chance[index])
        said = [hours_text(each, decimal=decimal) for each in hours]
        shown.append((value_text(factor, float(x), decimal=decimal), *said, percent(chance), tried))
        exact.append((_exact(float(x)), *(f"{each:.2f}" for each in hours), _share(chance), tried))
    level = f"{round(100 * picture.level)} %"
    within = f"clean within {hours_text(picture.horizon_h, decimal=decimal)}"
    return PictureTable(
        title=f"Time to a clean batch along {factor.name}",
        header=(factor.name, "time", f"lower, {level}", f"upper, {level}", within, "tried"),
        shown=tuple(shown),
        exact_header=(_column(factor), "hours", "lower", "upper", "chance within the horizon", "tried"),
        exact=tuple(exact),
    )


def map_table(picture: MapPicture, *, decimal: str = ".") -> PictureTable:
    """Return the map as rows of x, y and probability."""
    shown, exact = [], []
    for row, y in enumerate(picture.y):
        for column, x in enumerate(picture.x):
            x_value, y_value = from_axis(picture.x_factor, float(x)), from_axis(picture.y_factor, float(y))
            share = float(picture.mean[row, column])
            shown.append(
                (
                    value_text(picture.x_factor, x_value, decimal=decimal),
                    value_text(picture.y_factor, y_value, decimal=decimal),
                    percent(share),
                )
            )
            exact.append((_exact(x_value), _exact(y_value), _share(share)))
    return PictureTable(
        title=f"Probability of clean separation over {picture.x_factor.name} and {picture.y_factor.name}",
        header=(picture.x_factor.name, picture.y_factor.name, "probability"),
        shown=tuple(shown),
        exact_header=(_column(picture.x_factor), _column(picture.y_factor), "probability"),
        exact=tuple(exact),
    )


def as_csv(table: PictureTable) -> str:
    """Return the exact numbers as CSV after RFC 4180: commas, quotes where needed, CR LF at line ends."""
    return _written(table, delimiter=",")


def as_tsv(table: PictureTable) -> str:
    """Return the exact numbers with tabs, as spreadsheets take them from the clipboard."""
    return _written(table, delimiter="\t")


def _written(table: PictureTable, *, delimiter: str) -> str:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow(map(safe_cell, table.exact_header))
    writer.writerows(map(safe_cell, row) for row in table.exact)
    return text.getvalue()


def _column(factor: Factor) -> str:
    return f"{factor.name} [{factor.unit}]" if factor.unit else factor.name


def _exact(value: float | str) -> str:
    return f"{float(value):.6g}"


def _share(share: float) -> str:
    return f"{share:.4f}"


class TableDialog(QDialog):
    """A table of numbers with a button that copies them."""

    def __init__(self, table: PictureTable, caption: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_table_dialog")
        self.setWindowTitle(table.title)
        self._table = table
        about = QLabel(caption)
        about.setWordWrap(True)
        self.view = _filled(table)
        buttons = QDialogButtonBox()
        self.copy_button = buttons.addButton("Copy table", QDialogButtonBox.ButtonRole.ActionRole)
        self.copy_button.setObjectName("odds_table_copy")
        self.copy_button.clicked.connect(self.copy)
        buttons.addButton(QDialogButtonBox.StandardButton.Close).clicked.connect(self.close)
        QShortcut(QKeySequence.StandardKey.Copy, self.view, self.copy)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * SPACING, 2 * SPACING, 2 * SPACING, 2 * SPACING)
        column.setSpacing(SPACING)
        for widget in (about, self.view, buttons):
            column.addWidget(widget)
        self.resize(640, 520)

    def copy(self) -> None:
        """Put the whole table on the clipboard, tab separated."""
        QGuiApplication.clipboard().setText(as_tsv(self._table))


def _filled(table: PictureTable) -> QTableWidget:
    view = QTableWidget(len(table.shown), len(table.header))
    view.setObjectName("odds_table")
    name_control(view, table.title)
    view.setHorizontalHeaderLabels(list(table.header))
    view.verticalHeader().setVisible(False)
    view.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
    view.setTabKeyNavigation(False)
    view.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
    for row, cells in enumerate(table.shown):
        for column, cell in enumerate(cells):
            view.setItem(row, column, QTableWidgetItem(cell))
    return view
