"""Themes of our own: roles of colour, three sizes of text, and the marks of the outcomes.

The only place with colour values. The outcome colours are those of Okabe and Ito, "Color Universal Design"
(2008), a published palette that people with any common form of colour blindness can tell apart; shape and
word always stand beside the colour.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QPalette

from stirfall.bench.collecting import collection_held
from stirfall.bench.outcomes import Outcome

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from PySide6.QtWidgets import QApplication, QWidget

SPACING = 8
"""The rhythm of all spacing, in device-independent pixels."""

BODY_PT, HEADING_PT, LARGE_PT = 10.5, 13.5, 30.0
_STYLED = "wearsFusion"
_OWN_SHEET = "ownSheet"
TEXT_SCALES = (0.9, 1.0, 1.15, 1.3, 1.5, 2.0)


@dataclass(frozen=True)
class Mark:
    """How one outcome is shown: colour, shape (``symbol`` in plots, ``glyph`` in text) and word."""

    colour: str
    symbol: str
    glyph: str
    word: str


@dataclass(frozen=True)
class Theme:
    """One theme as roles; every value is a colour, ``marks`` are the outcome marks."""

    name: str
    surface: str
    raised: str
    text: str
    muted: str
    line: str
    accent: str
    on_accent: str
    focus: str
    caution: str
    caution_surface: str
    danger: str
    band: str
    grid: str
    marks: Mapping[Outcome, Mark] = field(repr=False, hash=False)
    is_dark: bool = False

    def mark(self, outcome: Outcome) -> Mark:
        """Return the mark of an outcome."""
        return self.marks[outcome]

    def colour(self, role: str) -> QColor:
        """Return the colour of a role as Qt wants it."""
        return QColor(str(getattr(self, role)))


# Outcome: (symbol in plots, glyph in text, word). The words are those of the record.
_SHAPES: Mapping[Outcome, tuple[str, str]] = MappingProxyType(
    {
        Outcome.CLEAN: ("o", "●"),
        Outcome.PARTED_BEADS: ("t1", "▲"),
        Outcome.PARTLY_PARTED: ("d", "◆"),
        Outcome.NOTHING_PARTED: ("x", "✕"),
        Outcome.NOT_CLEAN: ("s", "■"),
        Outcome.COUNTED: ("h", "⬢"),
        Outcome.ABORTED: ("+", "✚"),
        Outcome.NOT_GRADED: ("t", "▽"),
    }
)


def _marks(clean: str, beads: str, partly: str, nothing: str, other: str) -> Mapping[Outcome, Mark]:
    colours = {
        Outcome.CLEAN: clean,
        Outcome.PARTED_BEADS: beads,
        Outcome.PARTLY_PARTED: partly,
        Outcome.NOTHING_PARTED: nothing,
        Outcome.NOT_CLEAN: nothing,
        Outcome.COUNTED: clean,
        Outcome.ABORTED: other,
        Outcome.NOT_GRADED: other,
    }
    return MappingProxyType(
        {
            outcome: Mark(colours[outcome], symbol, glyph, outcome.value)
            for outcome, (symbol, glyph) in _SHAPES.items()
        }
    )


LIGHT = Theme(
    name="light",
    surface="#f0f2f4",
    raised="#ffffff",
    text="#16191d",
    muted="#484e57",
    line="#7d858f",
    accent="#46408f",
    on_accent="#ffffff",
    focus="#46408f",
    caution="#6b4300",
    caution_surface="#fbeecb",
    danger="#9c1c10",
    band="#c9c6ea",
    grid="#d5d9de",
    marks=_marks(clean="#0072b2", beads="#d55e00", partly="#009e73", nothing="#000000", other="#5c636c"),
)

DARK = Theme(
    name="dark",
    surface="#14171b",
    raised="#20242a",
    text="#eceef1",
    muted="#b4bbc4",
    line="#767f8b",
    accent="#b9b2f6",
    on_accent="#17142e",
    focus="#d6d1ff",
    caution="#f6cf7a",
    caution_surface="#332912",
    danger="#ffb0a3",
    band="#46427a",
    grid="#343a42",
    marks=_marks(clean="#56b4e9", beads="#e69f00", partly="#009e73", nothing="#f2f2f2", other="#a3abb5"),
    is_dark=True,
)

HIGH_CONTRAST = Theme(
    name="high contrast",
    surface="#000000",
    raised="#000000",
    text="#ffffff",
    muted="#ffffff",
    line="#ffffff",
    accent="#f0e442",
    on_accent="#000000",
    focus="#f0e442",
    caution="#f0e442",
    caution_surface="#000000",
    danger="#ffb3a7",
    band="#5c5720",
    grid="#8a8a8a",
    marks=_marks(clean="#56b4e9", beads="#e69f00", partly="#cc79a7", nothing="#ffffff", other="#d0d0d0"),
    is_dark=True,
)

THEMES: Mapping[str, Theme] = MappingProxyType({theme.name: theme for theme in (LIGHT, DARK, HIGH_CONTRAST)})


def colour_roles() -> tuple[str, ...]:
    """Return the names of all roles that hold one colour."""
    return tuple(item.name for item in fields(Theme) if item.name not in ("name", "marks", "is_dark"))


def relative_luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb`` in [0, 1], as WCAG 2.2 defines it."""
    channels = [int(colour[start : start + 2], 16) / 255.0 for start in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first: str, second: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21, as WCAG 2.2 defines it."""
    light, dark = sorted((relative_luminance(first), relative_luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def palette(theme: Theme) -> QPalette:
    """Return the palette that carries a theme on the Fusion style."""
    made = QPalette()
    group, role = QPalette.ColorGroup, QPalette.ColorRole
    roles = {
        role.Window: theme.surface,
        role.WindowText: theme.text,
        role.Base: theme.raised,
        role.AlternateBase: theme.surface,
        role.Text: theme.text,
        role.Button: theme.raised,
        role.ButtonText: theme.text,
        role.BrightText: theme.danger,
        role.ToolTipBase: theme.raised,
        role.ToolTipText: theme.text,
        role.PlaceholderText: theme.muted,
        role.Highlight: theme.accent,
        role.HighlightedText: theme.on_accent,
        role.Accent: theme.focus,  # the colour of the focus ring
        role.Link: theme.accent,
        role.LinkVisited: theme.accent,
        role.Mid: theme.line,
        role.Dark: theme.line,
    }
    for name, colour in roles.items():
        made.setColor(name, QColor(colour))
    for name in (role.WindowText, role.Text, role.ButtonText, role.HighlightedText):
        made.setColor(group.Disabled, name, QColor(theme.muted))
    made.setColor(group.Disabled, role.Highlight, QColor(theme.grid))
    return made


def apply_theme(app: QApplication, theme: Theme, scale: float = 1.0) -> None:
    """Give the whole application a theme and a text size; ``scale`` 1 is the body size of 10.5 points."""
    from stirfall.desktop.style_sheet import style_sheet

    # Setting a style or a sheet polishes every widget again, so nothing is set twice. Under a style sheet the style
    # no longer tells its name, hence the property.
    if app.property(_STYLED) is not True:
        app.setStyle("Fusion")
        app.setProperty(_STYLED, True)
    font = QFont(app.font())
    if font.pointSizeF() != BODY_PT * scale:
        font.setPointSizeF(BODY_PT * scale)
        app.setFont(font)
    app.setPalette(palette(theme))
    sheet = style_sheet(theme, scale)
    if app.styleSheet() != sheet:
        _change_sheet(app, sheet, theme)


def wear_sheet(widget: QWidget, sheet: Callable[[Theme], str], theme: Theme) -> None:
    """Give a widget and what it holds a style sheet of their own, which follows the theme of the application."""
    widget.setProperty(_OWN_SHEET, sheet)
    _set_sheet(widget, sheet(theme))


# Where one sheet takes the place of another, Qt polishes each widget again for each widget that holds it: more than
# ten times here. A sheet that is given to what has none, or taken away, polishes each once. So it is done in two
# steps, from the inside out and back: three times faster in a window with all its pages.


def _set_sheet(wearer: QApplication | QWidget, sheet: str) -> None:
    if wearer.styleSheet() == sheet:
        return
    if wearer.styleSheet():
        wearer.setStyleSheet("")
    wearer.setStyleSheet(sheet)


def _change_sheet(app: QApplication, sheet: str, theme: Theme) -> None:
    with collection_held():  # a widget that were freed while the list is made would still stand in it
        own = [(widget, widget.styleSheet()) for widget in app.allWidgets() if widget.styleSheet()]
    for widget, _ in own:
        widget.setStyleSheet("")
    _set_sheet(app, sheet)
    for widget, before in own:
        make = widget.property(_OWN_SHEET)
        widget.setStyleSheet(before if make is None else make(theme))


def set_text_role(widget: QWidget, role: str) -> None:
    """Give a label ``"heading"``, ``"large"``, ``"muted"``, ``"caution"``, ``"error"``, ``"accent"`` or ``""``."""
    _set_property(widget, "textRole", role)


def set_surface_role(widget: QWidget, role: str) -> None:
    """Give a frame the tone ``"raised"``, ``"caution"``, ``"rule"`` (a thin line) or ``""``."""
    widget.setAttribute(Qt.WidgetAttribute.WA_StyledBackground, True)
    _set_property(widget, "surfaceRole", role)


def set_button_role(widget: QWidget, role: str) -> None:
    """Make a button a ``"link"`` (flat, underlined) or a large ``"choice"``."""
    _set_property(widget, "buttonRole", role)


def set_primary(widget: QWidget) -> None:
    """Make a button the one main act of its page."""
    _set_property(widget, "buttonRole", "primary")


def _set_property(widget: QWidget, name: str, value: str) -> None:
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    widget.style().unpolish(widget)
    widget.style().polish(widget)
