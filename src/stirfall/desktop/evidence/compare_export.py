"""A comparison as a table and as a picture of a fixed size on the light theme, and the menu that offers them."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QGuiApplication, QPainter
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QGraphicsItem,
    QGraphicsScene,
    QGraphicsView,
    QMenu,
    QStyleOptionGraphicsItem,
    QToolButton,
    QWidget,
)

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.evidence.compare_plot import Ink, draw
from stirfall.desktop.evidence.compare_state import Picture
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.table_dialog import PictureTable, TableDialog, as_csv
from stirfall.desktop.picture_sheet import PictureSheet
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import LIGHT
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence
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


class CompareExport(QToolButton):
    """A button with a menu; ``told`` gives the picture and its caption."""

    def __init__(self, workspace: Workspace, told: Callable[[], tuple[Picture, str] | None]) -> None:
        super().__init__()
        self.setObjectName("compare_picture")
        self.setText("Picture")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setMinimumHeight(TARGET)
        name_control(self, "Picture", "The picture as a table, a copy or a file")
        self._workspace, self._told = workspace, told
        self.dialog: QWidget | None = None
        menu = QMenu(self)
        menu.addAction("Show as &table", self.show_table)
        menu.addAction("&Copy picture", self.copy_picture)
        for kind, text in (("png", "Save as &PNG"), ("svg", "Save as &SVG"), ("csv", "Save numbers as CS&V")):
            menu.addAction(text, partial(self._ask_where, kind))
        self.setMenu(menu)

    def show_table(self) -> None:
        """Open the numbers as a table."""
        if (told := self._told()) is not None:
            dialog = TableDialog(compare_table(told[0]), told[1], self.window())
            dialog.open()
            self.dialog = dialog

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        if (told := self._told()) is not None:
            QGuiApplication.clipboard().setImage(self._sheet(*told).image())
            self._workspace.notifier.info(sentence("course.copied"))

    def _sheet(self, picture: Picture, caption: str) -> PictureSheet:
        ink = Ink(LIGHT, QApplication.font(), self._workspace.decimal, "raised")
        size = QSize(WIDTH, math.ceil(draw(None, picture, ink, float(WIDTH))))
        return PictureSheet(TITLE, caption, size, lambda _fine: _Canvas(picture, ink, size))

    def _ask_where(self, kind: str) -> None:
        ask_where(
            self.window(),
            "Save picture",
            document=self._workspace.document,
            name=f"comparison.{kind}",
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save(Path(path)),
        )

    def save(self, path: Path) -> None:
        """Write the picture or its numbers as the suffix says, and tell how it went."""
        if (told := self._told()) is None:
            return
        try:
            if path.suffix.lower() == ".csv":
                write_atomic(path, as_csv(compare_table(told[0])).encode("utf-8"))
            elif path.suffix.lower() == ".svg":
                self._sheet(*told).save_svg(path)
            else:
                self._sheet(*told).save_png(path)
        except OSError as error:
            params = {"name": path.name, "reason": error.strerror or str(error)}
            self._workspace.notifier.warn(sentence("course.not_saved", params))
            return
        self._workspace.notifier.info(sentence("course.saved", {"name": path.name}))


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
