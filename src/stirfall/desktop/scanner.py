"""A scanner types: its keys are kept from the fields and become codes; what a person types passes in order."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QWindow
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from stirfall.bench.scan_codes import ScanCode
from stirfall.desktop.lone_keys import press_shortcut
from stirfall.desktop.scan_burst import GAP_MS, Burst

_Type, _Key = QEvent.Type, Qt.Key
_KEYS = frozenset({_Type.KeyPress, _Type.KeyRelease, _Type.ShortcutOverride})
_TURNS = frozenset(
    {
        _Type.MouseButtonPress,
        _Type.MouseButtonDblClick,
        _Type.TouchBegin,
        _Type.FocusAboutToChange,
        _Type.WindowDeactivate,
        _Type.InputMethod,
    }
)
_ENDS = frozenset({_Key.Key_Return, _Key.Key_Enter, _Key.Key_Tab})
_SILENT = frozenset(
    {_Key.Key_Shift, _Key.Key_CapsLock, _Key.Key_NumLock, _Key.Key_ScrollLock, _Key.Key_AltGr, _Key.Key_unknown}
)
_WITH = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier
_LATE_END_MS = 250.0  # an Enter so soon after a scan still belongs to it


class ScanRouter(QObject):
    """Sees every key of the application before the widgets do.

    A letter that can begin a code is kept back until the next key, or for 80 ms where none comes; then it goes to
    where it was typed, before everything that was typed after it. Nothing typed is lost, doubled or moved.

    Attributes:
        then: is asked about every press that is no part of a scan; where it says True, the press goes no further.

    Signals:
        scanned(ScanCode): a code was scanned; none of its keys reaches a widget.
        misread(): a scan was read wrongly; none of its keys reaches a widget.
    """

    scanned = Signal(object)
    misread = Signal()

    def __init__(
        self,
        app: QApplication,
        *,
        stamp: Callable[[QKeyEvent], float] | None = None,
        parent: QObject | None = None,
    ) -> None:
        """Watch the keys of ``app``; ``stamp`` says when a key came, in ms (tests bring their own clock)."""
        super().__init__(parent or app)
        self.then: Callable[[QKeyEvent], bool] | None = None
        self._app = app
        self._stamp = stamp or _stamp
        self._burst = Burst()
        self._kept: list[tuple[QObject, QKeyEvent]] = []
        self._swallowed: set[int] = set()
        self._quiet_until = float("-inf")
        self._replays = False
        self._timer = self._timer_of(round(GAP_MS), self._wait_once_more)
        # Keys that waited while the window was busy come before this one fires.
        self._last_chance = self._timer_of(0, self.settle)
        app.installEventFilter(self)

    def _timer_of(self, interval_ms: int, slot: Callable[[], None]) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setTimerType(Qt.TimerType.PreciseTimer)
        timer.setInterval(interval_ms)
        timer.timeout.connect(slot)
        return timer

    def stop(self) -> None:
        """Let all keys pass from now on; what is kept back is given out first."""
        self.settle()
        self._app.removeEventFilter(self)

    @property
    def is_waiting(self) -> bool:
        """Whether letters are kept back now."""
        return bool(self._kept)

    # -- keys --------------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep back what may be a scan; everything else passes, after what was typed before it."""
        kind = event.type()
        if kind not in _KEYS:
            if self._kept and not self._replays:
                if kind in _TURNS:
                    self.settle()
                elif kind == _Type.Close:  # perhaps of a list that is destroyed: no key may be sent in there
                    self._wait_once_more()
            return False
        if self._replays or not isinstance(event, QKeyEvent) or not isinstance(watched, (QWidget, QWindow)):
            return False
        if kind == _Type.KeyRelease:
            return self._on_release(watched, event)
        is_kept = self._is_kept(event)
        if kind == _Type.ShortcutOverride:
            if is_kept:
                event.accept()  # else a shortcut of this one letter would come before the field sees it
            return is_kept or self._is_taken(event)
        if is_kept:
            self._keep(watched, event)
        else:
            self._swallowed.discard(event.key())
        return is_kept or self._is_taken(event)

    def _is_taken(self, event: QKeyEvent) -> bool:
        return self.then is not None and self.then(event)

    def _is_kept(self, event: QKeyEvent) -> bool:
        """Whether this press stays away from the widgets; what was kept before it is given out where it is not."""
        if event.key() in _SILENT:
            return False
        now = self._stamp(event)
        if self._kept and self._burst.is_over(now):
            self.settle()
        is_plain = not (event.modifiers() & _WITH or event.isAutoRepeat())
        if is_plain and event.key() in _ENDS:
            if now <= self._quiet_until or self._burst.result(ended=True) is not None:
                return True
        elif is_plain and len(event.text()) == 1:
            if self._burst.takes(event.text(), now):
                return True
            self.settle()
            return self._burst.takes(event.text(), now)
        self.settle()
        return False

    def _keep(self, watched: QObject, event: QKeyEvent) -> None:
        if event.key() in _ENDS:
            self._swallowed.add(event.key())
            if self._kept:
                self._finish(ended=True)
            return
        self._burst.take(event.text(), self._stamp(event))
        self._swallowed.discard(event.key())
        self._kept.append((watched, _copy(event)))
        self._last_chance.stop()
        self._timer.start()

    def _on_release(self, watched: QObject, event: QKeyEvent) -> bool:
        if event.isAutoRepeat():
            return False
        if event.key() in self._swallowed:
            self._swallowed.discard(event.key())
            return True
        if any(each.key() == event.key() for _, each in self._kept):
            self._kept.append((watched, _copy(event)))
            return True
        return False

    # -- what becomes of them ----------------------------------------------------------------------

    def _wait_once_more(self) -> None:
        self._last_chance.start()

    def settle(self) -> None:
        """The time is over: what is kept back is a code, or goes to where it was typed."""
        if self._kept and not self._replays:
            self._finish(ended=False)

    def _finish(self, *, ended: bool) -> None:
        result = self._burst.result(ended=ended)
        kept, self._kept = self._kept, []
        last = self._burst.times[-1]
        self._burst.clear()
        self._timer.stop()
        self._last_chance.stop()
        if result is None:
            self._replay(kept)
            return
        released = {event.key() for _, event in kept if event.type() == _Type.KeyRelease}
        pressed = {event.key() for _, event in kept if event.type() == _Type.KeyPress}
        self._swallowed |= pressed - released
        self._quiet_until = float("-inf") if ended else last + GAP_MS + _LATE_END_MS
        if isinstance(result, ScanCode):
            self.scanned.emit(result)
        else:
            self.misread.emit()

    def _replay(self, kept: list[tuple[QObject, QKeyEvent]]) -> None:
        self._replays = True
        try:
            for watched, event in kept:
                target = watched if isValid(watched) else QApplication.focusWidget()
                if target is None:
                    continue
                if event.type() == _Type.KeyPress and press_shortcut(target, event):
                    continue
                QCoreApplication.sendEvent(target, event)
        finally:
            self._replays = False


def _stamp(event: QKeyEvent) -> float:
    """Return when the key was pressed by the window system, else when it came here, in ms."""
    return float(event.timestamp()) or time.monotonic() * 1000.0


def _copy(event: QKeyEvent) -> QKeyEvent:
    return QKeyEvent(
        event.type(),
        event.key(),
        event.modifiers(),
        event.nativeScanCode(),
        event.nativeVirtualKey(),
        event.nativeModifiers(),
        event.text(),
        event.isAutoRepeat(),
        event.count(),
    )
