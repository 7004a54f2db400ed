"""Contrast, marks and text roles of the three themes.

The contrast ratio and its thresholds of 4.5 and 7 are those of WCAG 2.2, success criteria 1.4.3 and 1.4.6; 3 for
graphical objects is 1.4.11. The check pairs of the ratio come from the definition itself: black on white is 21.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop import theme as theme_module
from stirfall.desktop.appearance import Appearance
from stirfall.desktop.theme import (
    BODY_PT,
    DARK,
    LIGHT,
    THEMES,
    Theme,
    apply_theme,
    colour_roles,
    contrast,
    relative_luminance,
    set_text_role,
    wear_sheet,
)

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

ALL = pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES.keys())
OKABE_ITO_2008 = {  # Okabe and Ito, "Color Universal Design", 2008, table of RGB values
    "#000000",
    "#e69f00",
    "#56b4e9",
    "#009e73",
    "#f0e442",
    "#0072b2",
    "#d55e00",
    "#cc79a7",
}


def test_black_on_white_has_the_contrast_of_the_standard() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#ffffff", "#ffffff") == pytest.approx(1.0)
    assert relative_luminance("#ff0000") == pytest.approx(0.2126)


@ALL
def test_body_text_has_a_contrast_of_seven_on_both_surfaces(theme: Theme) -> None:
    for surface in (theme.surface, theme.raised, theme.caution_surface):
        assert contrast(theme.text, surface) >= 7.0
    for role in ("caution", "danger", "accent"):
        assert contrast(getattr(theme, role), theme.surface) >= 7.0
    assert contrast(theme.on_accent, theme.accent) >= 7.0


@ALL
def test_muted_text_can_be_read(theme: Theme) -> None:
    for surface in (theme.surface, theme.raised):
        assert contrast(theme.muted, surface) >= 4.5


@ALL
def test_edges_focus_and_marks_stand_out_from_both_surfaces(theme: Theme) -> None:
    for surface in (theme.surface, theme.raised):
        assert contrast(theme.line, surface) >= 3.0
        assert contrast(theme.focus, surface) >= 3.0
        for outcome in Outcome:
            assert contrast(theme.mark(outcome).colour, surface) >= 2.95


@ALL
def test_every_outcome_differs_by_shape_and_word_not_only_by_colour(theme: Theme) -> None:
    marks = [theme.mark(outcome) for outcome in Outcome]
    assert len({mark.symbol for mark in marks}) == len(marks)
    assert len({mark.glyph for mark in marks}) == len(marks)
    assert len({mark.word for mark in marks}) == len(marks)


@ALL
def test_the_graded_outcomes_wear_the_published_palette(theme: Theme) -> None:
    for outcome in (Outcome.CLEAN, Outcome.PARTED_BEADS, Outcome.PARTLY_PARTED):
        assert theme.mark(outcome).colour in OKABE_ITO_2008


@ALL
def test_every_role_is_a_colour(theme: Theme) -> None:
    for role in colour_roles():
        assert re.fullmatch(r"#[0-9a-f]{6}", getattr(theme, role)), role


def test_no_colour_value_stands_outside_the_theme() -> None:
    own = Path(theme_module.__file__)
    found = [
        f"{path.name}: {match}"
        for path in own.parent.rglob("*.py")
        if path != own
        for match in re.findall(r"#[0-9a-fA-F]{6}\b|#[0-9a-fA-F]{3}\b", path.read_text(encoding="utf-8"))
    ]
    assert found == []


@ALL
def test_the_palette_reaches_widgets(qapp: QApplication, theme: Theme) -> None:
    apply_theme(qapp, theme)
    label = QLabel("text")
    shown = label.palette().color(QPalette.ColorRole.Window).name()
    assert shown == theme.surface
    assert qapp.palette().color(QPalette.ColorRole.PlaceholderText).name() == theme.muted


def test_text_roles_give_three_sizes(qapp: QApplication) -> None:
    apply_theme(qapp, LIGHT)
    sizes = []
    for role in ("", "heading", "large"):
        label = QLabel("0")
        set_text_role(label, role)
        label.ensurePolished()
        sizes.append(label.fontInfo().pointSizeF())
    assert sizes[0] == pytest.approx(BODY_PT, abs=0.6)
    assert sizes[0] < sizes[1] < sizes[2]


def test_larger_text_makes_labels_larger(qapp: QApplication) -> None:
    appearance = Appearance(qapp, "light", 1.0)
    label = QLabel("The odds")
    before = label.sizeHint().height()
    appearance.step_scale(3)
    label.ensurePolished()
    assert appearance.scale == 1.5
    assert label.sizeHint().height() > before
    appearance.set_scale(1.0)


def test_a_choice_of_theme_is_worn_and_told_once(qapp: QApplication) -> None:
    appearance = Appearance(qapp, "light")
    told: list[Theme] = []
    appearance.changed.connect(told.append)
    appearance.choose("dark")
    appearance.choose("dark")
    assert told == [DARK]
    assert qapp.palette().color(QPalette.ColorRole.Window).name() == DARK.surface
    appearance.choose("no such theme")
    assert appearance.choice == "system"


class Dressings(QObject):
    """Counts how often what it watches is dressed anew."""

    count = 0

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        self.count += event.type() == QEvent.Type.StyleChange
        return super().eventFilter(watched, event)


def test_a_new_theme_dresses_what_lies_deep_no_more_often_than_what_lies_on_top(
    themed: QApplication, qtbot: QtBot
) -> None:
    outermost = holder = QWidget()
    qtbot.addWidget(outermost)
    for depth in range(15):
        inner = QWidget(holder)
        if depth == 5:
            wear_sheet(inner, lambda theme: f"QLabel {{ color: {theme.caution}; }}", LIGHT)
        holder = inner
    innermost = QLabel("deep", holder)
    plain = QLabel("on top", outermost)
    outermost.show()
    dressings = Dressings()
    innermost.installEventFilter(dressings)
    apply_theme(themed, DARK)
    assert 0 < dressings.count <= 4  # its own sheet and that of the application, each taken off and put on
    assert innermost.palette().color(QPalette.ColorRole.WindowText).name() == DARK.caution
    assert plain.palette().color(QPalette.ColorRole.WindowText).name() == DARK.text
