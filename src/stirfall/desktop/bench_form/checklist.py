"""Cautions that never leave the bench form, and the start checklist before the first attempt of a day."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, QSize, Qt, Signal
from PySide6.QtGui import QMouseEvent, QShowEvent
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from stirfall.bench.materials import Caution, Cautions
from stirfall.desktop.bench_form.checks import vital_lines
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, heading, text_label, unbroken
from stirfall.desktop.bench_form.state import ChecklistState
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import set_primary, set_surface_role, set_text_role

_LIST_HEIGHT = 4 * TARGET


class ModestScroll(QScrollArea):
    """A scroll area that takes what others leave, and at least its least height: it never pushes them away."""

    def sizeHint(self) -> QSize:
        """Ask for the least height only."""
        return QSize(super().sizeHint().width(), self.minimumHeight() or super().sizeHint().height())


def quiet_scroll(content: QWidget, name: str, *, least: int = 0) -> QScrollArea:
    """Return a frameless vertical scroll area that the keyboard can reach and scroll.

    With ``least`` it asks for this height only and takes what is left.
    """
    area = ModestScroll()
    area.setMinimumHeight(least)
    area.setObjectName(name)
    area.setWidget(content)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.viewport().setAutoFillBackground(False)
    content.setAutoFillBackground(False)
    return area


class CautionStrip(QFrame):
    """Headline and the most vital lines of the class; the full list opens in place. There is no close button."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("cautions")
        set_surface_role(self, "caution")
        self.headline = text_label(role="")
        self.headline.setObjectName("caution_headline")
        self.lines = text_label()
        self.lines.setObjectName("caution_lines")
        self.more = button("All cautions", "all_cautions", height=32)
        self.more.setCheckable(True)
        self.more.toggled.connect(self._show_all)
        self._all = text_label()
        self._all.setTextFormat(Qt.TextFormat.RichText)
        self._all.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.full = quiet_scroll(self._all, "caution_list")
        self.full.setAccessibleName("All cautions with their sources")
        self.full.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.full.setFixedHeight(_LIST_HEIGHT)
        self.full.hide()
        top = QHBoxLayout()
        top.setSpacing(GAP)
        top.addWidget(self.headline, 1)
        top.addWidget(self.more, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, HALF_GAP)
        column.setSpacing(HALF_GAP)
        column.addLayout(top)
        column.addWidget(self.lines)
        column.addWidget(self.full, 1)

    def show_state(self, cautions: Cautions) -> None:
        """Show the cautions of a class."""
        self.headline.setText(f"⚠ <b>{cautions.headline}</b>")
        # One paragraph, not a list: the strip must leave room for the form on a low screen.
        self.lines.setText(" ".join(unbroken(f"• {line}") for line in vital_lines(cautions)))
        items = "".join(
            f"<p style='margin:0 0 6px 0'>{unbroken(item.text)}<br><i>Source: {item.source}</i></p>"
            for item in cautions.items
        )
        self._all.setText(items)
        self.more.setAccessibleDescription(f"{len(cautions.items)} cautions with their sources")

    def _show_all(self, shown: bool) -> None:
        self.lines.setHidden(shown)  # the full list holds them
        self.full.setVisible(shown)
        self.more.setText("Fewer" if shown else "All cautions")
        self.more.setAccessibleName("Show fewer cautions" if shown else "All cautions")


class CheckLine(QWidget):
    """One line of the checklist: a large check box whose sentence wraps; a press anywhere on the line ticks it.

    Signals:
        ticked(str, bool): the key of the line, and whether it is ticked now.
    """

    ticked = Signal(str, bool)

    def __init__(self, item: Caution) -> None:
        super().__init__()
        self.box = QCheckBox()
        self.box.setObjectName(f"check {item.key}")
        name_control(self.box, item.text, f"Source: {item.source}")
        self.box.toggled.connect(lambda on: self.ticked.emit(item.key, on))
        label = QLabel(unbroken(item.text))
        label.setWordWrap(True)
        label.setToolTip(f"Source: {item.source}")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GAP)
        row.addWidget(self.box)
        row.addWidget(label, 1)
        self.setMinimumHeight(TARGET)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Tick the line, on release."""
        if event.button() == Qt.MouseButton.LeftButton and self.rect().contains(event.position().toPoint()):
            self.box.toggle()
            self.box.setFocus(Qt.FocusReason.MouseFocusReason)


class ChecklistPanel(QFrame):
    """Stands in the place of the record button until each line was ticked today.

    Signals:
        ticked(str, bool): one line.
        finished(): the person says that the work may start.
    """

    ticked = Signal(str, bool)
    finished = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("checklist")
        set_surface_role(self, "raised")
        self._items: tuple[Caution, ...] = ()
        self.lines: dict[str, CheckLine] = {}
        self._content = QWidget()
        self._column = QVBoxLayout(self._content)
        self._column.setContentsMargins(HALF_GAP, 0, 0, 0)  # room for the ring around a box
        self._column.setSpacing(0)
        self.count = text_label(role="muted")
        self.count.setObjectName("checklist_count")
        self.start = button("All true, start the day", "finish_checklist", height=TARGET + GAP)
        set_primary(self.start)
        self.start.clicked.connect(self.finished)
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP, GAP, GAP, GAP)
        column.setSpacing(HALF_GAP)
        column.addWidget(heading("Before the first attempt of today"))
        self._scroll = quiet_scroll(self._content, "checklist_lines", least=3 * TARGET)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        column.addWidget(self._scroll, 1)
        foot = QHBoxLayout()
        foot.addWidget(self.count, 1)
        foot.addWidget(self.start)
        column.addLayout(foot)

    def show_state(self, state: ChecklistState) -> None:
        """Show which lines are ticked."""
        keys = tuple(item.key for item in state.items)
        if state.items != self._items:  # two classes may share a key and differ in its words
            self._rebuild(state.items)
            self._items = state.items
        for key, line in self.lines.items():
            with QSignalBlocker(line.box):
                line.box.setChecked(key in state.ticked)
        done = sum(key in state.ticked for key in keys)
        self.count.setText(f"{done} of {len(keys)} ticked. Recording opens when each line is true.")
        set_text_role(self.count, "muted")
        self.start.setEnabled(state.is_complete)
        self.start.setAccessibleDescription(self.count.text())

    def showEvent(self, event: QShowEvent) -> None:
        """Begin at the first line, on each new day."""
        super().showEvent(event)
        self._scroll.verticalScrollBar().setValue(0)

    def _rebuild(self, items: tuple[Caution, ...]) -> None:
        for line in self.lines.values():
            self._column.removeWidget(line)
            line.hide()  # it is deleted later, and must not be seen until then
            line.deleteLater()
        self.lines = {}
        for item in items:
            line = CheckLine(item)
            line.ticked.connect(self.ticked)
            self._column.addWidget(line)
            self.lines[item.key] = line
