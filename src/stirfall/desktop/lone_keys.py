"""What a key without Control or Alt means where the keyboard is: text for a field, or a shortcut of one key."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence, QShortcut, QWindow
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)

_Context = Qt.ShortcutContext


def takes_text(widget: QWidget | None) -> bool:
    """Whether letters typed at this widget become text."""
    if isinstance(widget, QComboBox):
        return widget.isEditable()
    if isinstance(widget, (QLineEdit, QPlainTextEdit, QTextEdit)):
        return not widget.isReadOnly()
    return isinstance(widget, QAbstractSpinBox)


def press_shortcut(target: QObject, event: QKeyEvent) -> bool:
    """Do what a shortcut of this one key does, unless a field wants the key as text; returns whether one did.

    Qt looks for shortcuts only in keys that come from the window system; a key that is given out later asks here.
    """
    widget = QApplication.focusWidget() if isinstance(target, QWindow) else target
    if not isinstance(widget, QWidget) or takes_text(widget):
        return False
    keys = QKeySequence(event.key())
    found = next((each for each in _shortcuts(widget.window()) if _answers(each, keys, widget)), None)
    if found is None:
        return False
    override = QKeyEvent(QEvent.Type.ShortcutOverride, event.key(), event.modifiers(), event.text())
    override.ignore()
    QCoreApplication.sendEvent(widget, override)
    if override.isAccepted():
        return False
    if isinstance(found, QShortcut):
        found.activated.emit()
    else:
        found.trigger()
    return True


def _shortcuts(window: QWidget) -> list[QShortcut | QAction]:
    return [*window.findChildren(QShortcut), *window.findChildren(QAction)]


def _answers(shortcut: QShortcut | QAction, keys: QKeySequence, widget: QWidget) -> bool:
    known = shortcut.keys() if isinstance(shortcut, QShortcut) else shortcut.shortcuts()
    if keys not in known or not shortcut.isEnabled():
        return False
    owner = shortcut.parent()
    if not isinstance(owner, QWidget) or not owner.isVisible():
        return False
    context = shortcut.context() if isinstance(shortcut, QShortcut) else shortcut.shortcutContext()
    if context == _Context.WidgetShortcut:
        return owner is widget
    if context == _Context.WidgetWithChildrenShortcut:
        return owner is widget or owner.isAncestorOf(widget)
    return True
