"""The Effects view: sentences and intervals row by row, lots, and what it says where there is nothing to show."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor, QFontMetricsF
from PySide6.QtWidgets import QApplication, QLabel

from stirfall.bench.campaign import CampaignState
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.odds.effects_state import MOST_LOTS, EffectsState, effects_content, effects_state, lot_blocks
from stirfall.desktop.odds.effects_view import EffectsView
from stirfall.desktop.odds.factor_axis import FactorRow, is_beyond, place_on, reach_of, tick_text, ticks_of
from stirfall.desktop.odds.factor_rows import FactorRows, FactorStrip, shown_ticks, x_on_strip
from stirfall.desktop.theme import LIGHT, THEMES, Theme, apply_theme
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.effect_words import factor_span, odds_factor, sign_certainty
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

# The narrowest the odds pane gets in a window for a screen of 1280 by 720.
NARROW, LOW = 520, 560
ROW = FactorRow("age", "Each doubling multiplies the odds by 2.0 (0.9 to 4.4)", "91 % sure.", 2.0, 0.9, 4.4)


@pytest.fixture
def view(qtbot: QtBot, workspace: Workspace) -> EffectsView:
    made = EffectsView(workspace)
    qtbot.addWidget(made)
    made.resize(NARROW, LOW)
    return made


def shown(view: EffectsView, qtbot: QtBot) -> EffectsView:
    with qtbot.waitExposed(view):
        view.show()
    QApplication.processEvents()
    return view


# -- the axis ----------------------------------------------------------------------------------------------


def test_the_axis_is_logarithmic_and_the_same_both_ways() -> None:
    assert [tick_text(value) for value in ticks_of(10.0)] == ["÷10", "÷3", "1", "×3", "×10"]
    assert place_on(1.0, 10.0) == 0.0
    assert place_on(10.0, 10.0) == pytest.approx(1.0)
    for value in (1.3, 3.0, 7.0):
        assert place_on(value, 10.0) == pytest.approx(-place_on(1.0 / value, 10.0))
    assert place_on(math.sqrt(10.0), 10.0) == pytest.approx(0.5)


def test_what_lies_beyond_the_axis_stands_at_its_end_and_is_known_as_beyond() -> None:
    assert place_on(50.0, 10.0) == 1.0
    assert place_on(0.0, 10.0) == place_on(1e-9, 10.0) == -1.0
    assert is_beyond(11.0, 10.0)
    assert is_beyond(0.09, 10.0)
    assert not is_beyond(10.0, 10.0)


def test_one_huge_effect_does_not_squeeze_the_others() -> None:
    small = [replace(ROW, key=str(place)) for place in range(5)]
    assert reach_of(small) == 10.0
    assert reach_of([*small, replace(ROW, lower=1e-6, upper=2e-3)]) == 10.0
    assert reach_of([replace(ROW, lower=0.02, upper=40.0)] * 3) == 100.0
    assert reach_of([replace(ROW, lower=0.5, upper=2.9)]) == 3.0
    assert reach_of([FactorRow("never", "never varied")]) == 10.0


def test_labels_of_the_axis_never_overlap(themed: QApplication) -> None:
    metrics = QFontMetricsF(themed.font())
    for reach in (3.0, 10.0, 30.0, 100.0):
        for width in (160.0, 210.0, 600.0):
            shown_there = shown_ticks(reach, width, metrics)
            assert 1.0 in shown_there
            spans = [
                (x_on_strip(value, reach, width), 0.5 * metrics.horizontalAdvance(tick_text(value)))
                for value in shown_there
            ]
            for (left, half), (right, other) in pairwise(spans):
                assert left + half < right - other, (reach, width)


# -- from an analysis to rows --------------------------------------------------------------------------------


def test_rows_follow_the_effects_the_surest_sign_first(refined: Analysis) -> None:
    content = effects_content(refined, ".")
    for gate, block in zip(refined.model.gates, content.blocks, strict=False):
        effects = [one for one in refined.effects() if one.gate == gate.name and one.is_known]
        certainties = [one.multiplier.prob_sign for one in effects if one.multiplier is not None]
        assert certainties == sorted(certainties, reverse=True)
        rows = [row for row in block.rows if row.mean is not None]
        assert len(rows) == len(effects) > 1
        for row, effect in zip(rows, effects, strict=True):
            multiplier = effect.multiplier
            assert multiplier is not None
            assert factor_span(multiplier) in row.text
            assert (row.mean, row.lower, row.upper) == (multiplier.median, multiplier.lower, multiplier.upper)
            assert row.is_sure == (sign_certainty(multiplier) != "unsure")
            assert "%" in row.aside


def test_headings_name_the_gates(refined: Analysis) -> None:
    headings = [block.heading for block in effects_content(refined, ".").blocks[:2]]
    assert headings == ["Gate 1: do the solids part?", "Gate 2: one pool, where they parted?"]


def test_a_factor_that_never_varied_says_so_and_has_no_interval(refined: Analysis) -> None:
    rows = [row for row in effects_content(refined, ".").blocks[0].rows if "stirring action" in row.text]
    assert len(rows) == 1
    assert "never varied" in rows[0].text
    assert rows[0].mean is rows[0].lower is rows[0].upper is None
    assert not rows[0].is_sure


def test_lots_stand_with_their_interval_as_factors_and_their_attempts(refined: Analysis) -> None:
    block = next(one for one in effects_content(refined, ".").blocks if one.heading == "Lots at gate 1")
    lots = [lot for lot in refined.lots if lot.gate == "parted"]
    assert [row.key for row in block.rows] == [f"parted:{lot.lot}" for lot in lots]
    for row, lot in zip(block.rows, lots, strict=True):
        assert row.mean == pytest.approx(math.exp(lot.mean))
        assert row.lower == pytest.approx(math.exp(lot.lower))
        assert row.upper == pytest.approx(math.exp(lot.upper))
        factor = f"×{odds_factor(math.exp(lot.mean))}"
        assert row.text.startswith(f"{lot.lot}: odds of parting {factor} (")
        assert row.text.endswith("12 attempts")
    assert odds_factor(math.exp(refined.lot_spread["parted"].mean)) in block.note


def test_numbers_wear_the_persons_decimal_sign(refined: Analysis) -> None:
    content = effects_content(refined, ",")
    texts = [row.text for block in content.blocks for row in block.rows if row.mean is not None]
    assert all("," in text for text in texts)
    assert not any("0." in text for text in texts)


def test_without_lots_one_sentence_says_how_they_come_to_appear(
    document: Document, state_of_two_lots: CampaignState
) -> None:
    def note(state: CampaignState, *, is_refined: bool = False) -> str:
        return effects_content(analyse(state, refined=is_refined), ".").blocks[-1].note

    state = document.state
    nameless = replace(state, attempts=tuple(replace(one, lot_id=None) for one in state.attempts))
    assert note(nameless) == "Name the lot of each attempt and their differences appear here."
    assert "name L1" in note(state)
    off = replace(state, settings=replace(state.settings, lot_effect="none"))
    assert "settings" in note(off)
    assert note(state_of_two_lots) == sentence("effects_view.lots_later")


def test_the_first_answer_says_that_it_is_the_first(document: Document, refined: Analysis) -> None:
    first = effects_content(analyse(document.state), ".")
    assert first.intro.startswith(sentence("effects_view.first_answer"))
    assert sentence("effects_view.first_answer") not in effects_content(refined, ".").intro


def test_with_few_attempts_it_teaches(document: Document) -> None:
    few = effects_content(analyse(replace(document.state, attempts=document.state.attempts[:5])), ".")
    state = effects_state(few, is_open=True)
    assert state.phase == "few"
    assert "5 attempts so far" in state.message
    assert not state.blocks
    enough = effects_content(analyse(replace(document.state, attempts=document.state.attempts[:6])), ".")
    assert effects_state(enough, is_open=True).phase == "ready"


def test_an_empty_view_says_what_will_appear() -> None:
    assert effects_state(None, is_open=False).message == sentence("effects_view.closed")
    assert effects_state(None, is_open=True).phase == "waiting"
    assert effects_state(None, is_open=True, problem="It went wrong.").message == "It went wrong."


# -- work only while somebody looks ---------------------------------------------------------------------------


def test_nothing_is_worked_out_while_hidden(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    assert view.view_model.state.phase == "waiting"
    shown(view, qtbot)
    assert view.view_model.state.phase == "ready"
    seen: list[EffectsState] = []
    view.view_model.changed.connect(seen.append)
    view.hide()
    workspace.refresh()
    assert all(state.is_stale for state in seen)
    assert view.view_model.state.is_stale
    view.show()
    assert not view.view_model.state.is_stale


def test_a_refined_answer_stays_greyed_until_the_next_refined_one(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    shown(view, qtbot)
    before = view.view_model.state
    seen: list[EffectsState] = []
    view.view_model.changed.connect(seen.append)
    workspace.refresh()
    assert [state.is_stale for state in seen] == [True, False]
    assert {state.intro for state in seen} == {before.intro}
    workspace.close_document()
    assert view.view_model.state.phase == "closed"


# -- on screen --------------------------------------------------------------------------------------------------


def visible_rows(view: EffectsView) -> list[FactorRows]:
    return [block.rows for block in view.blocks if block.rows.isVisibleTo(view)]


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_every_interval_stands_beside_its_sentence_and_nothing_runs_sideways(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot, themed: QApplication, scale: float
) -> None:
    apply_theme(themed, LIGHT, scale)
    try:
        workspace.open_document(two_lots)
        shown(view, qtbot)
        assert view.area.horizontalScrollBar().maximum() == 0
        assert view.content.width() <= view.area.viewport().width()
        strips = [row.strip for rows in visible_rows(view) for row in rows.rows if row.isVisibleTo(view)]
        lefts = {(strip.mapTo(view.content, QPoint(0, 0)).x(), strip.width()) for strip in strips}
        assert len(lefts) == 1
        for rows in visible_rows(view):
            assert (rows.axis.mapTo(view.content, QPoint(0, 0)).x(), rows.axis.width()) in lefts
            for row in rows.rows:
                if row.isVisibleTo(view):
                    middle = row.strip.mapTo(row, QPoint(0, row.strip.height() // 2)).y()
                    assert (
                        row.words.y() <= middle <= max(row.aside.geometry().bottom(), row.words.geometry().bottom())
                    )
        for label in view.content.findChildren(QLabel):
            if label.isVisibleTo(view) and label.text():
                assert label.height() + 1 >= label.heightForWidth(label.width()), label.text()
    finally:
        apply_theme(themed, LIGHT)


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_sure_effects_are_full_and_unsure_ones_hollow_where_they_belong(
    qtbot: QtBot, themed: QApplication, theme: Theme
) -> None:
    apply_theme(themed, theme)
    try:
        rows = FactorRows("rows")
        qtbot.addWidget(rows)
        rows.resize(480, 200)
        unsure = FactorRow("b", "Not known", "55 %", 0.5, 0.2, 1.4, is_sure=False)
        rows.render((ROW, unsure), reach=10.0, is_stale=False, theme=theme)
        with qtbot.waitExposed(rows):
            rows.show()
        for row, at, inside in zip(rows.rows, (2.0, 0.5), (theme.accent, theme.surface), strict=True):
            image = row.strip.grab().toImage()
            place = QPoint(round(row.strip.x_of(at)), row.strip.height() // 2)
            assert image.pixelColor(place) == QColor(inside)
        stale = rows.rows[0].strip
        rows.render((ROW, unsure), reach=10.0, is_stale=True, theme=theme)
        place = QPoint(round(stale.x_of(2.0)), stale.height() // 2)
        assert stale.grab().toImage().pixelColor(place) == QColor(theme.surface)
    finally:
        apply_theme(themed, LIGHT)


def test_an_interval_beyond_the_axis_is_one_arrow_outwards(qtbot: QtBot, themed: QApplication) -> None:
    strip = FactorStrip()
    qtbot.addWidget(strip)
    strip.resize(200, 40)
    strip.show_row(FactorRow("a", "Huge", "", 0.004, 0.001, 0.05), reach=10.0, is_stale=False, theme=LIGHT)
    with qtbot.waitExposed(strip):
        strip.show()
    image = strip.grab().toImage()
    accent = QColor(LIGHT.accent)
    drawn = [x for x in range(200) if image.pixelColor(x, 20) == accent]
    end = strip.x_of(0.1)
    assert drawn
    assert end - 8 <= min(drawn)
    assert max(drawn) <= end


def test_one_row_takes_the_tab_key_and_arrows_walk_over_the_others(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    shown(view, qtbot)
    first = visible_rows(view)[0]
    reached = list(focusable_widgets(first))
    assert reached == [first.rows[0]]
    first.rows[0].setFocus()
    qtbot.keyClick(first.rows[0], Qt.Key.Key_Down)
    assert first.rows[1].hasFocus()
    assert list(focusable_widgets(first)) == [first.rows[1]]
    qtbot.keyClick(first.rows[1], Qt.Key.Key_Up)
    assert first.rows[0].hasFocus()
    qtbot.keyClick(first.rows[0], Qt.Key.Key_Up)
    assert first.rows[0].hasFocus()


def test_a_row_that_gets_the_focus_comes_into_view(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    view.resize(NARROW, 200)
    workspace.open_document(two_lots)
    shown(view, qtbot)
    rows = [row for row in visible_rows(view)[1].rows if row.isVisibleTo(view)]
    rows[0].setFocus()
    for row in rows[:-1]:
        qtbot.keyClick(row, Qt.Key.Key_Down)
    top = rows[-1].mapTo(view.area.viewport(), QPoint(0, 0)).y()
    assert 0 <= top < view.area.viewport().height()


def test_of_very_many_lots_those_with_most_attempts_are_shown(refined: Analysis) -> None:
    assert refined.refined is not None
    pattern = refined.lots[0]
    lots = tuple(replace(pattern, lot=f"L{place}", attempts=place) for place in range(1, 201))
    many = replace(refined, refined=replace(refined.refined, lots=lots))
    block = lot_blocks(many, ["parted"], ".")[0]
    assert len(block.rows) == MOST_LOTS
    assert block.rows[0].key == "parted:L200"
    assert f"{MOST_LOTS} of 200" in block.note


def test_everything_that_takes_the_keyboard_has_a_name(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    shown(view, qtbot)
    reached = list(focusable_widgets(view))
    assert len(reached) == 1 + len(visible_rows(view))
    assert all(widget.accessibleName() for widget in reached)
    sentences = {row.text for block in view.view_model.state.blocks for row in block.rows}
    assert {widget.accessibleName() for widget in reached[1:]} <= sentences


def test_rendering_twice_changes_nothing(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    shown(view, qtbot)
    before = view.grab().toImage()
    view.render(view.view_model.state)
    QApplication.processEvents()
    assert view.grab().toImage() == before


def test_the_keyboard_scrolls_the_view(
    view: EffectsView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    shown(view, qtbot)
    bar = view.area.verticalScrollBar()
    assert bar.maximum() > 0
    view.area.setFocus()
    qtbot.keyClick(view.area, Qt.Key.Key_End)
    assert bar.value() == bar.maximum()
    qtbot.keyClick(view.area, Qt.Key.Key_Home)
    assert bar.value() == 0
