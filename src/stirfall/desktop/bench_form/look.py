"""Sizes and the style sheet of the work pages, made from the roles of the theme."""

from __future__ import annotations

import re

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QSizePolicy, QWidget

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.theme import SPACING, Theme, set_surface_role, set_text_role

TARGET = 44
"""The least height of anything that is pressed on the bench, in device-independent pixels."""

NARROW_SPACE = "\u202f"
"""Looks like the thin space before a unit, and a line never ends there."""

_NUMBER_AND_UNIT = re.compile(r"(\d) (K|°C|%|mm|min|h|s|g)(?!\w)")
GAP = SPACING
HALF_GAP = SPACING // 2


def page_sheet(theme: Theme) -> str:
    """Return the style sheet of a work page: segments, steppers and fields."""
    return f"""
QPushButton[kind="segment"], QPushButton[kind="stepper"] {{
    background: {theme.raised}; color: {theme.text}; border: 1px solid {theme.line}; border-radius: 4px;
    padding: 0px 8px; min-height: {TARGET - 2}px; }}
QPushButton[kind="stepper"] {{ min-width: {TARGET - 2}px; max-width: {TARGET - 2}px; padding: 0px;
    font-size: 16pt; }}
QPushButton[kind="segment"]:hover, QPushButton[kind="stepper"]:hover {{ border-color: {theme.text}; }}
QPushButton[kind="segment"]:checked {{
    background: {theme.accent}; color: {theme.on_accent}; border-color: {theme.accent}; }}
QPushButton[kind="segment"]:disabled, QPushButton[kind="stepper"]:disabled {{
    background: {theme.surface}; color: {theme.muted}; border: 1px dashed {theme.line}; }}
QPushButton[kind="segment"]:focus, QPushButton[kind="stepper"]:focus {{ border-color: {theme.focus}; }}
QPushButton[kind="fold"], QPushButton[kind="fold"]:checked {{
    background: transparent; color: {theme.text}; border: none; border-bottom: 1px solid {theme.grid};
    border-radius: 0px; padding: 0px {HALF_GAP}px; text-align: left; }}
QPushButton[kind="fold"]:hover {{ border-bottom-color: {theme.accent}; }}
QPushButton[kind="close"] {{ padding-left: {GAP}px; padding-right: {GAP}px; }}
QLineEdit[kind="value"] {{
    background: {theme.raised}; color: {theme.text}; border: 1px solid {theme.line}; border-radius: 4px;
    padding: 0px 8px; min-height: {TARGET - 2}px; }}
QLineEdit[kind="value"] {{ placeholder-text-color: {theme.muted}; }}
QLineEdit[kind="value"]:focus {{ border-color: {theme.focus}; }}
QLineEdit[kind="value"][problem="true"] {{ border: 2px solid {theme.danger}; padding: 0px 7px;
    min-height: {TARGET - 4}px; }}
QLineEdit[kind="value"]:disabled {{ background: {theme.surface}; color: {theme.muted}; }}
QDateTimeEdit, QSpinBox {{ padding: 0px 24px 0px {GAP}px; }}
QTableView::item {{ padding: 0px {GAP}px; }}
QCheckBox::indicator {{ width: 22px; height: 22px; }}
QCheckBox {{ spacing: {GAP}px; min-height: {TARGET}px; }}
"""


def text_label(text: str = "", role: str = "", *, wrap: bool = True) -> QLabel:
    """Return a label with a text role; it wraps unless told otherwise and never takes part in the tab order."""
    label = QLabel(text)
    label.setWordWrap(wrap)
    if role:
        set_text_role(label, role)
    return label


def unbroken(text: str) -> str:
    """Return the text with each number held to its unit, so that no line ends between them."""
    return _NUMBER_AND_UNIT.sub("\\1\u00a0\\2", text).replace(THIN_SPACE, NARROW_SPACE)


def rule() -> QFrame:
    """Return a thin line between two parts of a page."""
    line = QFrame()
    line.setFixedHeight(1)
    set_surface_role(line, "rule")
    return line


def button(text: str, name: str, *, height: int = TARGET) -> QPushButton:
    """Return a plain button; its text is a verb and its accessible name."""
    made = QPushButton(text)
    made.setObjectName(name)
    made.setAccessibleName(text.replace("&", ""))
    made.setMinimumHeight(height)
    made.setAutoDefault(False)
    return made


def set_flag(widget: QWidget, name: str, value: bool) -> None:
    """Set a property that the style sheet looks at, and polish only when it changed."""
    if widget.property(name) != value:
        widget.setProperty(name, value)
        widget.style().unpolish(widget)
        widget.style().polish(widget)


def heading(text: str) -> QLabel:
    """Return a heading."""
    label = text_label(text, "heading", wrap=False)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
    return label


def titled(text: str) -> str:
    """Return the text with a capital first letter, as labels and columns start."""
    return text[:1].upper() + text[1:]


class _WheelGuard(QObject):
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        del watched
        if event.type() == QEvent.Type.Wheel:
            event.ignore()
            return True
        return False


def guard_from_wheel(widget: QWidget) -> None:
    """Let the wheel scroll the page and never change a value that happens to lie under the pointer."""
    widget.installEventFilter(_WheelGuard(widget))
