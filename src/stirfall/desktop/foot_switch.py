"""A foot switch is a keyboard of one key: in a guided run it means "next", elsewhere its key is as ever."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QKeyCombination, QObject, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication

from stirfall.desktop.lone_keys import takes_text
from stirfall.desktop.workspace import Workspace

NEXT = "NEXT"
_Key = Qt.Key
_PLAIN = Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
_HAVE_A_MEANING = frozenset(
    {
        _Key.Key_Escape,
        _Key.Key_Tab,
        _Key.Key_Backtab,
        _Key.Key_Return,
        _Key.Key_Enter,
        _Key.Key_Backspace,
        _Key.Key_Delete,
        _Key.Key_Left,
        _Key.Key_Right,
        _Key.Key_Up,
        _Key.Key_Down,
        _Key.Key_F1,
    }
)
MODIFIERS = frozenset(
    {
        _Key.Key_Shift,
        _Key.Key_Control,
        _Key.Key_Alt,
        _Key.Key_AltGr,
        _Key.Key_Meta,
        _Key.Key_CapsLock,
        _Key.Key_NumLock,
        _Key.Key_unknown,
    }
)


class FootSwitch(QObject):
    """Asks the run for its next step when the key of the foot switch comes and a run is in front.

    Attributes:
        key: the key as text, such as ``"PgDown"``; "" for no foot switch.
    """

    def __init__(self, workspace: Workspace, key: str, is_running: Callable[[], bool]) -> None:
        super().__init__(workspace)
        self.key = key
        self._workspace = workspace
        self._is_running = is_running

    def take(self, event: QKeyEvent) -> bool:
        """Take a key that is on its way to a widget; returns whether it was the foot switch's and is used up."""
        if not self.key or combination_text(event) != self.key or not self._is_running():
            return False
        if event.text() and event.text().isprintable() and takes_text(QApplication.focusWidget()):
            return False
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
        elif event.type() == QEvent.Type.KeyPress and not event.isAutoRepeat():
            self._workspace.request_act(NEXT)
        return event.type() != QEvent.Type.KeyRelease


def combination_text(event: QKeyEvent) -> str:
    """Return the key of an event as the setting keeps it."""
    modifiers = event.modifiers() & ~_PLAIN
    return QKeySequence(QKeyCombination(modifiers, _Key(event.key()))).toString(
        QKeySequence.SequenceFormat.PortableText
    )


def shown_key(key: str) -> str:
    """Return the name of a key in the words of the system; "" for none."""
    return QKeySequence.fromString(key).toString(QKeySequence.SequenceFormat.NativeText)


def may_be_learned(event: QKeyEvent) -> bool:
    """Whether the key has no meaning of its own in a run or in a form: no letter, digit or menu key."""
    is_typed = event.text().strip() != "" and event.text().isprintable()
    has_modifier = bool(event.modifiers() & ~_PLAIN)
    return event.key() not in _HAVE_A_MEANING and not has_modifier and not is_typed
