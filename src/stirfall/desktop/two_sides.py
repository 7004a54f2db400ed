"""Work and its side in one window of any shape: beside each other, one above the other, or one at a time."""

from __future__ import annotations

from typing import Literal

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QSplitter, QWidget

from stirfall.desktop.theme import SPACING

Arrangement = Literal["beside", "stacked", "one"]
Part = Literal["work", "side"]
USUAL_SHARE = 0.44


def arrangement(room: QSize, work: QSize, side: QSize, handle: int = SPACING) -> Arrangement:
    """Return how both parts find their room: in an upright window rather stacked, else rather beside."""
    fits: dict[Arrangement, bool] = {
        "beside": room.width() >= work.width() + side.width() + handle,
        "stacked": room.height() >= work.height() + side.height() + handle
        and room.width() >= max(work.width(), side.width()),
    }
    is_upright = room.height() > room.width()
    order: tuple[Arrangement, ...] = ("stacked", "beside") if is_upright else ("beside", "stacked")
    return next((each for each in order if fits[each]), "one")


class TwoSides(QSplitter):
    """Holds both parts and arranges them anew when the room or what they need changes.

    Attributes:
        arrangement: how the parts stand now.
        front: which part is in front where there is room for one.

    Signals:
        arranged(str): the parts stand in another way, or another one is in front.
    """

    arranged = Signal(str)

    def __init__(self, work: QWidget, side: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal)
        self.arrangement: Arrangement = "beside"
        self.front: Part = "work"
        self._parts: dict[Part, QWidget] = {"work": work, "side": side}
        self._needs = {"work": QSize(), "side": QSize()}
        self._share = USUAL_SHARE
        self._is_shared = False
        self.addWidget(work)
        self.addWidget(side)
        self.setChildrenCollapsible(False)
        self.setHandleWidth(SPACING)
        self.splitterMoved.connect(self._remember)

    def set_needs(self, work: QSize, side: QSize) -> None:
        """Say how much room each part needs to be of use."""
        if self._needs != {"work": work, "side": side}:
            self._needs = {"work": work, "side": side}
            self._arrange()
            self._show()

    def bring(self, part: Part) -> None:
        """Bring a part to the front, where there is room for one only."""
        if part != self.front:
            self.front = part
            self._show()

    # -- the share of the width --------------------------------------------------------------------

    def take_share(self, sizes: tuple[int, ...]) -> None:
        """Take the widths of the last time, where they are known."""
        if len(sizes) == 2 and min(sizes) > 0:
            self._share = sizes[0] / sum(sizes)
            self._is_shared = False

    def shares(self) -> tuple[int, ...]:
        """Return the widths at both sides, as they are or as they would be beside each other."""
        if self.arrangement == "beside" and self._is_shared:
            return tuple(self.sizes())
        left = round(1000 * self._share)
        return left, 1000 - left

    def share_room(self) -> None:
        """Share the room, once for each arrangement, when the parts are really shown."""
        if self._is_shared or not self.isVisible() or self.arrangement == "one":
            return
        self._is_shared = True
        whole = self.width() if self.arrangement == "beside" else self.height()
        first = round(whole * (self._share if self.arrangement == "beside" else self._upper_share()))
        for place, size in enumerate((first, whole - first)):
            self.setStretchFactor(place, size)
        self.setSizes([first, whole - first])

    def _upper_share(self) -> float:
        work, side = self._needs["work"].height(), self._needs["side"].height()
        return work / max(work + side, 1)

    def _remember(self) -> None:
        """Keep what the person chose for the next time that both stand beside each other."""
        left, right = self.sizes()
        if self.arrangement == "beside" and left + right > 0:
            self._share = left / (left + right)

    # -- arranging ---------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Arrange the parts for the new room."""
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        new = arrangement(self.size(), self._needs["work"], self._needs["side"], self.handleWidth())
        if new == self.arrangement:
            return
        self.arrangement = new
        self._is_shared = False
        self.setOrientation(Qt.Orientation.Vertical if new == "stacked" else Qt.Orientation.Horizontal)
        self._show()
        self.share_room()

    def _show(self) -> None:
        for name, part in self._parts.items():
            part.setVisible(self.arrangement != "one" or name == self.front)
            part.setMinimumWidth(self._needs[name].width() if self.arrangement == "beside" else 0)
        self.arranged.emit(self.arrangement)
