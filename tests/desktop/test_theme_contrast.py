"""Contrast of every text on every surface that it may stand on, in all themes, and of what must be seen.

The formula of the ratio and its thresholds are those of WCAG 2.2 (W3C Recommendation, 2023): 7 to 1 for text is
success criterion 1.4.6 (level AAA), 3 to 1 for graphical objects and the parts of controls is 1.4.11. The pairs
that check the formula itself are in ``test_shell_theme.py``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import pytest

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.look import page_sheet
from stirfall.desktop.run.look import page_sheet as run_sheet
from stirfall.desktop.style_sheet import style_sheet
from stirfall.desktop.theme import THEMES, Theme, contrast

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

ALL = pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES.keys())
TEXT, GRAPHIC = 7.0, 3.0
TEXT_ROLES = ("text", "muted", "accent", "caution", "danger")
SURFACES = ("surface", "raised", "caution_surface")
SHEETS: dict[str, Callable[[Theme], str]] = {"window": style_sheet, "pages": page_sheet, "run": run_sheet}
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COLOUR = re.compile(r"(?<![-\w])color:\s*(#[0-9a-f]{6})")
_GROUND = re.compile(r"(?<![-\w])background(?:-color)?:\s*(#[0-9a-f]{6})")


@ALL
@pytest.mark.parametrize("surface", SURFACES)
@pytest.mark.parametrize("role", TEXT_ROLES)
def test_every_text_role_can_be_read_on_every_surface(theme: Theme, role: str, surface: str) -> None:
    assert contrast(getattr(theme, role), getattr(theme, surface)) >= TEXT


@ALL
def test_text_on_what_is_chosen_pressed_or_drawn_as_a_band(theme: Theme) -> None:
    assert contrast(theme.on_accent, theme.accent) >= TEXT
    assert contrast(theme.text, theme.band) >= TEXT


def rules(theme: Theme, sheet: Callable[[Theme], str]) -> Iterator[tuple[str, str, str | None]]:
    """Yield selector, colour of the text and of the ground (None where it is that of what lies below)."""
    for selector, body in _RULE.findall(sheet(theme)):
        text, ground = _COLOUR.search(body), _GROUND.search(body)
        if text is not None:
            yield selector.strip(), text.group(1), ground.group(1) if ground is not None else None


@ALL
@pytest.mark.parametrize("name", SHEETS)
def test_every_rule_of_the_style_sheets_gives_text_that_can_be_read(
    themed: QApplication, theme: Theme, name: str
) -> None:
    found = list(rules(theme, SHEETS[name]))
    assert found
    low = []
    for selector, text, ground in found:
        # A rule without a ground of its own stands on a plain surface, or on the accent where it says so.
        grounds = (ground,) if ground is not None else (theme.surface, theme.raised)
        if ground is None and text == theme.on_accent:
            grounds = (theme.accent,)
        low += [f"{selector}: {text} on {each}" for each in grounds if contrast(text, each) < TEXT]
    assert low == []


@ALL
@pytest.mark.parametrize("surface", ["surface", "raised"])
def test_edges_focus_and_marks_are_seen(theme: Theme, surface: str) -> None:
    ground = getattr(theme, surface)
    assert contrast(theme.line, ground) >= GRAPHIC
    assert contrast(theme.focus, ground) >= GRAPHIC
    for outcome in Outcome:
        assert contrast(theme.mark(outcome).colour, ground) >= GRAPHIC, outcome
