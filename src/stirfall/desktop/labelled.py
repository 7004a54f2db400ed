"""Names for people who cannot see the screen: buddy, accessible name and tooltip in one step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QLabel, QWidget

if TYPE_CHECKING:
    from collections.abc import Iterator

_MARKER = "&"


def plain_text(text: str) -> str:
    """Return a label's text without its mnemonic marker and trailing colon."""
    doubled = "\0"
    return text.replace("&&", doubled).replace(_MARKER, "").replace(doubled, _MARKER).rstrip(":").strip()


def labelled(text: str, editor: QWidget, *, target: QWidget | None = None, description: str = "") -> QLabel:
    """Return a label for ``editor``, with buddy, accessible name and tooltip set.

    ``target`` is the inner widget that takes the keys when ``editor`` is a container; by default it is the
    editor's focus proxy, or the editor.
    """
    inner = target or _innermost(editor)
    label = QLabel(text)
    label.setBuddy(inner)
    name_control(inner, plain_text(text), description)
    if inner is not editor:
        editor.setAccessibleName(plain_text(text))
    return label


def name_control(widget: QWidget, name: str, description: str = "") -> QWidget:
    """Give a widget its accessible name, description and (when none was set) tooltip, and return it."""
    widget.setAccessibleName(name)
    if description:
        widget.setAccessibleDescription(description)
    if not widget.toolTip():
        widget.setToolTip(description or name)
    return widget


def show_problem(editor: QWidget, message_label: QLabel, problem: str) -> None:
    """Show an error sentence beside its field and give it to screen readers; an empty text removes it."""
    message_label.setText(problem)
    message_label.setVisible(bool(problem))
    _innermost(editor).setAccessibleDescription(problem)


def focusable_widgets(root: QWidget) -> Iterator[QWidget]:
    """Yield the visible widgets below ``root`` that the Tab key can reach, in no special order."""
    from PySide6.QtCore import Qt

    for widget in root.findChildren(QWidget):
        is_own = not widget.objectName().startswith("qt_")
        if (
            is_own
            and widget.focusProxy() is None
            and widget.isVisibleTo(root)
            and widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        ):
            yield widget


def _innermost(editor: QWidget) -> QWidget:
    while (proxy := editor.focusProxy()) is not None:
        editor = proxy
    return editor
