"""How the tests look at the window: what is cut, what has no name, which letters are promised, what scrolls."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QApplication,
    QLabel,
    QPushButton,
    QScrollArea,
    QToolButton,
    QWidget,
)

from stirfall.desktop.header import ElidedLabel
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.odds.elided import ElidedLabel as OddsElidedLabel


def laid_out(root: QWidget) -> None:
    """Let every layout below ``root`` come to rest."""
    for _ in range(3):
        QApplication.sendPostedEvents(None, QEvent.Type.LayoutRequest)
        QApplication.processEvents()
    root.ensurePolished()


def cut_texts(root: QWidget) -> list[str]:
    """Return the texts of visible labels and buttons that have less room than they need."""
    cut = []
    for label in root.findChildren(QLabel):
        if not label.isVisibleTo(root) or not label.text() or is_scrolled(label, root) or _gives_way(label):
            continue
        if label.wordWrap():
            too_small = label.height() + 1 < label.heightForWidth(label.width())
        else:
            too_small = label.width() + 1 < label.minimumSizeHint().width()
        if too_small:
            cut.append(f"label {label.objectName()!r}: {label.text()[:60]!r} {label.size().toTuple()}")
    for button in root.findChildren(QAbstractButton):
        if not button.isVisibleTo(root) or not button.text() or not isinstance(button, (QPushButton, QToolButton)):
            continue
        needed = button.fontMetrics().horizontalAdvance(button.text().replace("&", ""))
        if button.width() < needed:
            cut.append(f"button {button.text()!r} {button.width()} < {needed}")
    return cut


def outside(root: QWidget) -> list[str]:
    """Return the visible labels and buttons that reach out of the window and cannot be scrolled into it."""
    found = []
    for widget in (*root.findChildren(QLabel), *root.findChildren(QAbstractButton)):
        if not widget.isVisibleTo(root) or not widget.text() or _scroll_area_of(widget, root) is not None:
            continue
        right = widget.mapTo(root, widget.rect().topRight()).x()
        bottom = widget.mapTo(root, widget.rect().bottomLeft()).y()
        if right >= root.width() or bottom >= root.height():
            found.append(f"{type(widget).__name__} {widget.objectName()!r} {widget.text()[:40]!r} {right} {bottom}")
    return found


def clipped(root: QWidget) -> list[str]:
    """Return the visible labels and buttons that a scroll area without a horizontal bar cuts off at the right."""
    found = []
    for widget in (*root.findChildren(QLabel), *root.findChildren(QAbstractButton)):
        if not widget.isVisibleTo(root) or not widget.text() or is_scrolled(widget, root):
            continue
        area = _scroll_area_of(widget, root)
        if area is None or area.horizontalScrollBarPolicy() != Qt.ScrollBarPolicy.ScrollBarAlwaysOff:
            continue
        right = widget.mapTo(area.viewport(), widget.rect().topRight()).x()
        if right > area.viewport().width():
            name = f"{type(widget).__name__} {widget.objectName()!r} {widget.text()[:40]!r}"
            found.append(f"{name} in {area.objectName()!r} {right} > {area.viewport().width()}")
    return found


def sideways(root: QWidget) -> list[str]:
    """Return the scroll areas, tables and lists left out, that show a horizontal scroll bar."""
    return [
        f"{type(area).__name__} {area.objectName()!r} by {area.horizontalScrollBar().maximum()}"
        for area in root.findChildren(QScrollArea)
        if area.isVisibleTo(root) and area.horizontalScrollBar().maximum() > 0
    ]


def is_scrolled(widget: QWidget, root: QWidget) -> bool:
    """Whether the widget is the inside of an item view, which scrolls and elides by itself."""
    return any(
        isinstance(each, QAbstractItemView)
        or (isinstance(each, QAbstractScrollArea) and each.objectName().endswith("table"))
        for each in _parents(widget, root)
    )


def nameless(root: QWidget) -> list[str]:
    """Return what takes the keyboard and has no name for a screen reader."""
    found = []
    for widget in focusable_widgets(root):
        interface = QAccessible.queryAccessibleInterface(widget)
        name = interface.text(QAccessible.Text.Name) if interface is not None else widget.accessibleName()
        if not (name.strip() or widget.accessibleName().strip()):
            found.append(f"{type(widget).__name__} {widget.objectName()!r}")
    return found


def mnemonics(root: QWidget) -> list[str]:
    """Return the letters that visible labels with a buddy, buttons and the menu bar listen to."""
    texts = [
        label.text()
        for label in root.findChildren(QLabel)
        if label.buddy() is not None and label.isVisibleTo(root) and label.buddy().isVisibleTo(root)
    ]
    texts += [button.text() for button in root.findChildren(QAbstractButton) if button.isVisibleTo(root)]
    bar = getattr(root, "menuBar", None)
    if bar is not None:
        texts += [action.text() for action in bar().actions() if action.isVisible()]
    return list(_letters(texts))


def _gives_way(label: QLabel) -> bool:
    """Whether the label is made to end in an ellipsis and to tell the whole text in its tooltip."""
    return isinstance(label, (ElidedLabel, OddsElidedLabel))


def _letters(texts: list[str]) -> Iterator[str]:
    for text in texts:
        plain = text.replace("&&", "")
        if "&" in plain and plain.index("&") + 1 < len(plain):
            yield plain[plain.index("&") + 1].lower()


def _scroll_area_of(widget: QWidget, root: QWidget) -> QAbstractScrollArea | None:
    return next((each for each in _parents(widget, root) if isinstance(each, QAbstractScrollArea)), None)


def silent_pictures(root: QWidget) -> list[str]:
    """Return the visible pictures that our own code paints and that have no words for a screen reader."""
    found = []
    for widget in root.findChildren(QWidget):
        kind = type(widget)
        is_painted = any("paintEvent" in each.__dict__ for each in kind.__mro__ if _is_ours(each))
        is_plot = any(each.__module__.startswith("pyqtgraph") for each in kind.__mro__)
        if not (is_painted or is_plot) or not widget.isVisibleTo(root) or widget.objectName() in DECORATION:
            continue
        if isinstance(widget, QAbstractButton) and widget.text().strip():
            continue
        if isinstance(widget, QLabel) and widget.pixmap().isNull():
            continue
        around = islice(_parents(widget, root), 2)  # a picture may be told by the part that it stands in
        if _has_words(widget) or any(_has_words(each) for each in around):
            continue
        found.append(f"{kind.__name__} {widget.objectName()!r}")
    return found


def lonely_labels(root: QWidget) -> list[str]:
    """Return the visible labels that promise a letter and lead to no field."""
    return [
        f"label {label.text()!r}"
        for label in root.findChildren(QLabel)
        if label.isVisibleTo(root)
        and label.buddy() is None
        and re.search(r"(?<!&)&\w", label.text())
        and not label.text().lstrip().startswith("<")
        and "&nbsp;" not in label.text()
    ]


DECORATION = ("focus_ring", "qt_scrollarea_viewport")


def _is_ours(kind: type) -> bool:
    return kind.__module__.startswith("stirfall.")


def _has_words(widget: QWidget) -> bool:
    return bool(widget.accessibleName().strip() or widget.accessibleDescription().strip())


def _parents(widget: QWidget, root: QWidget) -> Iterator[QWidget]:
    """Yield the widgets that a widget stands in, below ``root``, the nearest first."""
    parent = widget.parentWidget()
    while parent is not None and parent is not root:
        yield parent
        parent = parent.parentWidget()


_MOST_PARTS = 8  # Tab goes through year, month, day, hour and minute of a date before it leaves the field


def walk(root: QWidget, key: Qt.Key = Qt.Key.Key_Tab) -> list[QWidget]:
    """Press Tab (or Shift+Tab) from where the keyboard is until it comes round; return where it was, in order."""
    backwards = Qt.KeyboardModifier.ShiftModifier if key == Qt.Key.Key_Backtab else Qt.KeyboardModifier.NoModifier
    seen: list[QWidget] = []
    for _ in range(2 * len(list(focusable_widgets(root))) + 40):
        now = root.window().focusWidget()
        if now is None:
            break
        seen.append(now)
        QTest.keyClick(now, key, backwards)
        following = root.window().focusWidget()
        if len(seen) > 2 and following is seen[0]:
            break
        if following is now and seen[-_MOST_PARTS:] == [now] * _MOST_PARTS:
            break  # stuck
    return seen


def wanted_stops(root: QWidget) -> set[QWidget]:
    """Return what Tab must visit: all that takes the keyboard, of a row of answers any one."""
    return {widget for widget in focusable_widgets(root) if widget.isEnabled() and not is_radio_peer(widget)}


def is_radio_peer(widget: QWidget) -> bool:
    """Whether the arrow keys lead to this button, as among the choices of one exclusive group."""
    return isinstance(widget, QAbstractButton) and widget.group() is not None and widget.group().exclusive()
