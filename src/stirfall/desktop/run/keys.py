"""The keys of a run: which act a key press means, and which presses are not meant."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit

from stirfall.bench.running import Step
from stirfall.desktop.run.fields_part import NumberLine
from stirfall.desktop.run.foot import MARK_KEYS
from stirfall.desktop.run.side import NO_THERMOMETER

if TYPE_CHECKING:
    from stirfall.desktop.run.page import RunPage

DOUBLE_PRESS_S = 0.3
"""Two presses for another step within this time are taken for one."""

_PLAIN = (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier, Qt.KeyboardModifier.ShiftModifier)
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
_SCROLLS = {Qt.Key.Key_Up: -0.2, Qt.Key.Key_Down: 0.2, Qt.Key.Key_PageUp: -0.9, Qt.Key.Key_PageDown: 0.9}
_SIGNS = (".", ",", "-", "\u2212")


class Once:
    """Lets the first of two quick presses through, and not the second."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._last_s: float | None = None

    def __call__(self) -> bool:
        """Return whether this press counts, and remember it."""
        now = self._clock()
        counts = self._last_s is None or now - self._last_s >= DOUBLE_PRESS_S
        if counts:
            self._last_s = now
        return counts


class RunKeys(QObject):
    """Turns the keys of a run page into its acts, wherever in the page the keyboard is."""

    def __init__(self, page: RunPage) -> None:
        super().__init__(page)
        self._page = page
        self._watched: set[QLineEdit] = set()

    def watch_lines(self) -> None:
        """Look at the keys of all lines of the page first; to be called again when lines were added."""
        for line in self._page.findChildren(QLineEdit):
            if line not in self._watched:
                self._watched.add(line)
                line.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let a number line keep its digits, and a line of words all but Escape; the rest belongs to the run."""
        if event.type() != QEvent.Type.KeyPress or not isinstance(event, QKeyEvent):
            return super().eventFilter(watched, event)
        key = event.key()
        if not isinstance(watched, NumberLine):
            if key == Qt.Key.Key_Escape:
                self._escape()
            return key == Qt.Key.Key_Escape
        if not _is_plain(event) or watched.takes(key, event.text()):
            return False
        if key in _ENTER and watched is not self._page.side.reading.line:
            self._go_on_from(watched)
            return True
        # Where a number stood, one rub-out too many must not lead back a step.
        return key == Qt.Key.Key_Backspace or self.take(event)

    def take(self, event: QKeyEvent) -> bool:
        """Do what a key means in the run; False for keys that mean nothing. A held key does nothing more."""
        if self._page.view is None or not _is_plain(event):
            return False
        act = self._act(event)
        if act is None:
            return self._scroll(event.key())
        if not event.isAutoRepeat():
            act()
        return True

    def _act(self, event: QKeyEvent) -> Callable[[], object] | None:
        page, text = self._page, event.text()
        acts: dict[int, Callable[[], object]] = {
            Qt.Key.Key_Space: page.go_next,
            Qt.Key.Key_Return: page.enter,
            Qt.Key.Key_Enter: page.enter,
            Qt.Key.Key_Backspace: self._backspace,
            Qt.Key.Key_Escape: self._escape,
            Qt.Key.Key_N: page.middle.note.open,
            Qt.Key.Key_T: self._toggle_tares,
            Qt.Key.Key_O: page.model.danger_is_over,
            Qt.Key.Key_C: page.model.lift_without_thermometer,
            **{letter: partial(page.mark, word) for letter, word in MARK_KEYS.items()},
        }
        if len(text) == 1 and text in "0123456789":
            return partial(self._digit, text)
        if text in _SIGNS:
            return partial(self._type_on, text)
        return acts.get(event.key())

    # -- what keys do ------------------------------------------------------------------------------

    def _digit(self, digit: str) -> None:
        """Answer, grade or choose where that is asked for; else type a number."""
        page, place = self._page, int(digit) - 1
        view = page.view
        if view is None:
            return
        if view.questions:
            page.middle.ask.choose(place)
        elif view.step is Step.GRADE:
            if 0 <= place < 4:
                page.model.grade(place + 1)
        elif view.closing:
            page.middle.list.choose(place)
        elif view.step is Step.WEIGH:
            line = page.middle.weigh.next_line(None)
            if line is not None:
                line.setFocus()
                line.insert(digit)
                line.textEdited.emit(line.text())
        else:
            self._type_on(digit)

    def _type_on(self, sign: str) -> None:
        """Go on with the reading of the thermometer; a sign alone begins none."""
        view, line = self._page.view, self._page.side.reading.line
        if view is None or view.step in NO_THERMOMETER or view.questions:
            return
        line.end(False)
        line.insert(sign)
        self._page.side.rest.ensureWidgetVisible(line)

    def _backspace(self) -> None:
        line = self._page.side.reading.line
        if self._page.typed():
            line.end(False)
            line.backspace()
        else:
            self._page.go_back()

    def _escape(self) -> None:
        """Close what is open; nothing that was typed is thrown away."""
        panel = self._page.middle.panel
        if panel is not None:
            panel.close_panel()
        self._page.setFocus()

    def _toggle_tares(self) -> None:
        weigh = self._page.middle.weigh
        if not weigh.isHidden():
            weigh.with_tares.toggle()

    def _go_on_from(self, line: NumberLine) -> None:
        """Go from a mass to the next, from the last one to the page."""
        weigh = self._page.middle.weigh
        after = weigh.next_line(line) if line.objectName() in weigh.names else None
        if after is None:
            self._page.setFocus()
            return
        after.setFocus()
        after.selectAll()
        self._page.middle.scroller.ensureWidgetVisible(after)

    def _scroll(self, key: int) -> bool:
        share = _SCROLLS.get(Qt.Key(key))
        if share is None:
            return False
        bar = self._page.middle.scroller.verticalScrollBar()
        bar.setValue(bar.value() + round(share * self._page.middle.scroller.height()))
        return True


def _is_plain(event: QKeyEvent) -> bool:
    """Whether a key was pressed without Ctrl or Alt."""
    return event.modifiers() in _PLAIN
