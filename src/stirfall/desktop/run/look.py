"""Sizes and colours of the guided run, which is read at arm's length and pressed with gloves."""

from __future__ import annotations

from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication, QFrame, QLabel, QSizePolicy, QWidget

from stirfall.desktop.bench_form.look import unbroken
from stirfall.desktop.theme import BODY_PT, SPACING, Theme

PRESS = 76
"""The least height and width of anything that is pressed in a run: 20 mm at 96 pixels to the inch."""

APART = 12
"""The least gap between two things that are pressed: 3 mm at 96 pixels to the inch."""

DIGITS = 84
"""The height of the digits of the timer in pixels at text scale 1."""

TITLE, SENTENCE, SIGN, WORD, SMALL = 32, 28, 24, 22, 20
"""Heights of text in pixels at text scale 1: title, sentences, signs, words on buttons, what stands by."""

GAP = SPACING
WIDE_GAP = 2 * SPACING


def run_scale() -> float:
    """Return how much larger than usual the run is written.

    It is written large already, so it grows more slowly than ordinary text, and never falls below it: at scale 2
    ordinary text is 28 pixels, and so is the smallest of the run.
    """
    return 1.0 + 0.4 * max(QApplication.font().pointSizeF() / BODY_PT - 1.0, 0.0)


def pixels(base: int) -> int:
    """Return a size at text scale 1 in pixels at the chosen scale."""
    return round(base * run_scale())


def font(base: int, *, bold: bool = False) -> QFont:
    """Return the font of the program at a size of the run."""
    made = QFont(QApplication.font())
    made.setPixelSize(pixels(base))
    if bold:
        made.setWeight(QFont.Weight.DemiBold)
    return made


class RunLabel(QLabel):
    """Wrapped text at one of the sizes of the run; it follows theme and text scale when ``dress`` is called."""

    def __init__(self, base: int = SENTENCE, *, bold: bool = False, name: str = "", wrap: bool = True) -> None:
        super().__init__()
        self._base, self._bold = base, bold
        self.setObjectName(name)
        self.setWordWrap(wrap)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.setFont(font(base, bold=bold))

    def rebase(self, base: int) -> None:
        """Write at another of the sizes."""
        if base != self._base:
            self._base = base
            self.setFont(font(base, bold=self._bold))

    def dress(self, theme: Theme, *, role: str = "text") -> None:
        """Take the colours of a theme and the text scale of the moment."""
        wanted = font(self._base, bold=self._bold)
        if wanted != self.font():
            self.setFont(wanted)
        colour = QColor(str(getattr(theme, role)))
        if self.palette().color(QPalette.ColorRole.WindowText) != colour:
            palette = self.palette()
            palette.setColor(QPalette.ColorRole.WindowText, colour)
            self.setPalette(palette)

    def say(self, told: str) -> None:
        """Show a text; the label is gone while there is none, and nothing happens when the text is the same."""
        text = unbroken(told)
        if text != self.text():
            self.setText(text)
            self.updateGeometry()
        self.setVisible(bool(text))


def page_sheet(theme: Theme) -> str:
    """Return the style sheet of the run page: fields and frames; buttons and the timer draw themselves."""
    edge = f"1px solid {theme.line}" if theme.surface == theme.raised else "none"
    size, line = pixels(SENTENCE), pixels(SMALL)
    return f"""
QLineEdit[runField="true"], QPlainTextEdit[runField="true"] {{
    font-size: {size}px; background: {theme.raised}; color: {theme.text}; border: 2px solid {theme.line};
    border-radius: 6px; padding: 0px 12px; min-height: {PRESS - 4}px; placeholder-text-color: {theme.muted}; }}
QLineEdit[runField="true"]:focus, QPlainTextEdit[runField="true"]:focus {{ border: 3px solid {theme.focus}; }}
QLineEdit[runField="true"][problem="true"] {{ border: 3px solid {theme.danger}; }}
QPlainTextEdit[runField="true"] {{ font-size: {line}px; padding: 8px; }}
QFrame[runFrame="raised"] {{ background: {theme.raised}; border: {edge}; border-radius: 6px; }}
QFrame[runFrame="caution"] {{
    background: {theme.caution_surface}; border: none; border-left: 6px solid {theme.caution}; }}
QFrame[runFrame="danger"] {{ background: {theme.raised}; border: 4px solid {theme.danger}; border-radius: 6px; }}
QFrame[runFrame="due"] {{ background: {theme.raised}; border: 4px solid {theme.caution}; border-radius: 6px; }}
"""


def frame(kind: str, name: str = "") -> QFrame:
    """Return a frame ``raised``, ``caution``, ``due`` or ``danger``."""
    made = QFrame()
    made.setObjectName(name)
    made.setProperty("runFrame", kind)
    return made


def dress_all(root: QWidget, theme: Theme) -> None:
    """Give every part below ``root`` that can wear a theme the theme and the text scale of the moment."""
    for part in root.findChildren(QWidget):
        dress = getattr(part, "dress", None)
        if callable(dress):
            dress(theme)
