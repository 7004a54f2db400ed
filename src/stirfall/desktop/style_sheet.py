"""The one application style sheet, made from the tokens of a theme.

Fusion draws the edges of controls from the window colour, which makes them nearly vanish on dark surfaces; the
edges are therefore drawn here, in the theme's line colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.theme import HEADING_PT, LARGE_PT
from stirfall.storage.shipped import shipped

if TYPE_CHECKING:
    from stirfall.desktop.theme import Theme


def style_sheet(theme: Theme, scale: float = 1.0) -> str:
    """Return the style sheet of a theme at a text size."""
    return (
        _text(theme, scale)
        + _surfaces(theme)
        + _buttons(theme, scale)
        + _fields(theme)
        + _indicators(theme)
        + _scroll_bars(theme)
    )


def _text(theme: Theme, scale: float) -> str:
    return f"""
*[textRole="heading"] {{ font-size: {HEADING_PT * scale:.1f}pt; font-weight: 600; }}
*[textRole="large"] {{ font-size: {LARGE_PT * scale:.1f}pt; font-weight: 600; }}
*[textRole="muted"] {{ color: {theme.muted}; }}
*[textRole="caution"] {{ color: {theme.caution}; }}
*[textRole="error"] {{ color: {theme.danger}; }}
*[textRole="accent"] {{ color: {theme.accent}; }}
QToolTip {{ color: {theme.text}; background: {theme.raised}; border: 1px solid {theme.line}; padding: 3px; }}
"""


def _surfaces(theme: Theme) -> str:
    edge = f"1px solid {theme.line}" if theme.surface == theme.raised else "none"
    return f"""
QFrame[surfaceRole="raised"] {{ background: {theme.raised}; border: {edge}; }}
QFrame[surfaceRole="caution"] {{ background: {theme.caution_surface}; border-left: 4px solid {theme.caution}; }}
QFrame[surfaceRole="danger"] {{ background: {theme.raised}; border: 3px solid {theme.danger}; }}
QFrame[surfaceRole="note"] {{ background: {theme.raised}; border-left: 4px solid {theme.line}; }}
QFrame[surfaceRole="rule"] {{ background: {theme.grid}; border: none; }}
QMenuBar, QMenu {{ background: {theme.surface}; color: {theme.text}; }}
QMenuBar::item {{ padding: 5px 10px; }}
QMenu {{ border: 1px solid {theme.line}; padding: 4px; }}
QMenu::item {{ padding: 6px 24px; }}
QMenuBar::item:selected, QMenu::item:selected {{ background: {theme.accent}; color: {theme.on_accent}; }}
QMenu::item:disabled {{ color: {theme.muted}; background: {theme.surface}; }}
QMenu::separator {{ height: 1px; background: {theme.grid}; margin: 4px 8px; }}
QHeaderView::section {{
    background: {theme.surface}; color: {theme.muted}; border: none; border-bottom: 1px solid {theme.line};
    padding: 5px 6px; font-weight: 600; }}
QListWidget::item {{ padding: 6px 8px; }}
QListWidget::item:selected {{ background: {theme.accent}; color: {theme.on_accent}; }}
QAbstractItemView {{ background: {theme.raised}; border: 1px solid {theme.line}; gridline-color: {theme.grid}; }}
"""


def _buttons(theme: Theme, scale: float) -> str:
    plain = f"background: {theme.raised}; color: {theme.text}; border: 1px solid {theme.line}; border-radius: 4px;"
    return f"""
QPushButton, QToolButton {{ {plain} padding: 6px 14px; }}
QToolButton {{ padding: 6px 8px; }}
QPushButton:hover, QToolButton:hover {{ border-color: {theme.accent}; color: {theme.accent}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {theme.band}; color: {theme.text}; }}
QPushButton:checked, QToolButton:checked {{
    background: {theme.accent}; color: {theme.on_accent}; border-color: {theme.accent}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {theme.muted}; border: 1px dashed {theme.line}; }}
QPushButton[buttonRole="primary"] {{
    background: {theme.accent}; color: {theme.on_accent}; border-color: {theme.accent};
    padding: 7px 18px; font-weight: 600; }}
QPushButton[buttonRole="primary"]:hover {{ border-color: {theme.text}; }}
QPushButton[buttonRole="primary"]:disabled {{
    background: {theme.surface}; color: {theme.muted}; border: 1px dashed {theme.line}; }}
QPushButton[buttonRole="step"] {{
    background: transparent; border: none; border-bottom: 3px solid {theme.grid}; border-radius: 0;
    padding: 8px 10px; }}
QPushButton[buttonRole="step"]:hover {{ background: {theme.raised}; border-bottom-color: {theme.line}; }}
QPushButton[buttonRole="step"]:checked {{
    background: {theme.raised}; color: {theme.text}; border-bottom: 3px solid {theme.accent}; }}
QPushButton[buttonRole="segment"] {{ padding: 6px 5px; }}
QPushButton[buttonRole="link"] {{
    background: transparent; color: {theme.accent}; border: none; padding: 5px 2px; text-align: left;
    text-decoration: underline; }}
QPushButton[buttonRole="link"]:hover {{ color: {theme.text}; }}
QPushButton[buttonRole="choice"] {{
    padding: 10px 16px; text-align: left; font-size: {HEADING_PT * scale:.1f}pt; font-weight: 600; }}
"""


def _fields(theme: Theme) -> str:
    ink = "white" if theme.is_dark else "black"
    fields = "QLineEdit, QComboBox, QAbstractSpinBox, QPlainTextEdit, QTextEdit"
    return f"""
{fields} {{
    background: {theme.raised}; color: {theme.text}; border: 1px solid {theme.line}; border-radius: 4px;
    placeholder-text-color: {theme.muted}; padding: 5px 7px;
    selection-background-color: {theme.accent}; selection-color: {theme.on_accent}; }}
QLineEdit:disabled, QComboBox:disabled, QAbstractSpinBox:disabled {{
    color: {theme.muted}; border-color: {theme.grid}; }}
QLineEdit:read-only {{ background: {theme.surface}; }}
QAbstractItemView QLineEdit, QAbstractItemView QComboBox {{ padding: 0 3px; border-radius: 0; }}
QComboBox::drop-down {{ border: none; width: 24px; }}
QComboBox::down-arrow {{ image: url({_icon("down", ink)}); width: 14px; height: 14px; }}
QAbstractSpinBox {{ padding-right: 24px; }}
QAbstractSpinBox::up-button, QAbstractSpinBox::down-button {{ border: none; width: 22px; background: transparent; }}
QAbstractSpinBox::up-arrow {{ image: url({_icon("up", ink)}); width: 12px; height: 12px; }}
QAbstractSpinBox::down-arrow {{ image: url({_icon("down", ink)}); width: 12px; height: 12px; }}
"""


def _indicators(theme: Theme) -> str:
    tick = "black" if theme.is_dark else "white"
    return f"""
QRadioButton, QCheckBox {{ spacing: 8px; }}
QRadioButton::indicator, QCheckBox::indicator, QAbstractItemView::indicator {{
    width: 16px; height: 16px; border: 1px solid {theme.line}; background: {theme.raised}; }}
QRadioButton::indicator {{ border-radius: 9px; }}
QCheckBox::indicator, QAbstractItemView::indicator {{ border-radius: 3px; }}
QRadioButton::indicator:hover, QCheckBox::indicator:hover {{ border-color: {theme.accent}; }}
QRadioButton::indicator:checked {{
    border-color: {theme.accent}; background: {theme.accent}; image: url({_icon("dot", tick)}); }}
QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {{
    border-color: {theme.accent}; background: {theme.accent}; image: url({_icon("check", tick)}); }}
QRadioButton::indicator:disabled, QCheckBox::indicator:disabled {{ border-color: {theme.grid}; }}
"""


def _scroll_bars(theme: Theme) -> str:
    return f"""
QScrollBar {{ background: {theme.surface}; border: none; }}
QScrollBar:vertical {{ width: 14px; margin: 0; }}
QScrollBar:horizontal {{ height: 14px; margin: 0; }}
QScrollBar::handle {{ background: {theme.line}; border-radius: 4px; margin: 3px; }}
QScrollBar::handle:vertical {{ min-height: 40px; }}
QScrollBar::handle:horizontal {{ min-width: 40px; }}
QScrollBar::handle:hover {{ background: {theme.accent}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
"""


def _icon(name: str, ink: str) -> str:
    return shipped(f"resources/icons/{name}_{ink}.svg").as_posix()
