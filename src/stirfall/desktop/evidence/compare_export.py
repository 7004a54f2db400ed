"""A comparison as a table and as a picture of a fixed size on the light theme, and the menu that offers them."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QGraphicsItem,
    QGraphicsScene,
    QGraphicsView,
    QStyleOptionGraphicsItem,
    QWidget,
)

from stirfall.desktop.evidence.compare_plot import Ink, draw
from stirfall.desktop.evidence.compare_state import Picture
from stirfall.desktop.odds.table_dialog import PictureTable, as_csv
from stirfall.desktop.picture_button import PictureButton
from stirfall.desktop.picture_sheet import PictureSheet
from stirfall.desktop.theme import LIGHT
from stirfall.desktop.workspace import Workspace
from stirfall.storage.copies import write_atomic

WIDTH = 720
TITLE = "Is it chance?"
_HEADER = ("What", "Value and interval")
_EXACT = ("what", "kind", "value", "lower", "upper")


def compare_table(picture: Picture) -> PictureTable:
    """Return both groups and the differences as rows; shares and their differences from 0 to 1 in files."""
    rows = [("group", each) for each in picture.strips] + [("difference", each) for each in picture.bars]
    return PictureTable(
        title=TITLE,
        header=_HEADER,
        shown=tuple((each.name, each.told) for _, each in rows),
        exact_header=_EXACT,
        exact=tuple(
            (each.name, kind, *(_exact(value) for value in (each.value, each.lower, each.upper)))
            for kind, each in rows
        ),
    )


class CompareExport(PictureButton):
    """A button with a menu; ``told`` gives the picture and its caption."""

    def __init__(self, workspace: Workspace, told: Callable[[], tuple[Picture, str] | None]) -> None:
        super().__init__(workspace, "comparison", "compare_picture", "The picture as a table, a copy or a file")
        self._told = told

    def _table(self) -> tuple[PictureTable, str] | None:
        told = self._told()
        return None if told is None else (compare_table(told[0]), told[1])

    def _image(self) -> QImage | None:
        told = self._told()
        return None if told is None else self._sheet(*told).image()

    def _write(self, path: Path) -> bool:
        if (told := self._told()) is None:
            return False
        if path.suffix.lower() == ".csv":
            write_atomic(path, as_csv(compare_table(told[0])).encode("utf-8"))
        elif path.suffix.lower() == ".svg":
            self._sheet(*told).save_svg(path)
        else:
            self._sheet(*told).save_png(path)
        return True

    def _sheet(self, picture: Picture, caption: str) -> PictureSheet:
        ink = Ink(LIGHT, QApplication.font(), self._workspace.decimal, "raised")
        size = QSize(WIDTH, math.ceil(draw(None, picture, ink, float(WIDTH))))
        return PictureSheet(TITLE, caption, size, lambda _fine: _Canvas(picture, ink, size))


class _Drawn(QGraphicsItem):
    """The picture as an item of a scene."""

    def __init__(self, picture: Picture, ink: Ink, size: QSize) -> None:
        super().__init__()
        self._picture, self._ink, self._size = picture, ink, size

    def boundingRect(self) -> QRectF:
        """Return the whole picture."""
        return QRectF(0.0, 0.0, self._size.width(), self._size.height())

    def paint(
        self, painter: QPainter, _option: QStyleOptionGraphicsItem, _widget: QWidget | None = None, /
    ) -> None:
        """Draw it."""
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw(painter, self._picture, self._ink, float(self._size.width()))


class _Canvas(QGraphicsView):
    """A view of just the picture, as a sheet renders it."""

    def __init__(self, picture: Picture, ink: Ink, size: QSize) -> None:
        super().__init__()
        self.setFrameShape(QFrame.Shape.NoFrame)
        for policy in (self.setHorizontalScrollBarPolicy, self.setVerticalScrollBarPolicy):
            policy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.resize(size)
        self.viewport().resize(size)  # it is never shown, so nothing else lays it out
        scene = QGraphicsScene(0.0, 0.0, size.width(), size.height(), self)
        scene.addItem(_Drawn(picture, ink, size))
        self.setScene(scene)


def _exact(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
