"""The Trust view: forms and their weights, checks with details on demand, and attempts that pull the fit."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QPushButton

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.outcomes import Parted
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.ledger.page import LedgerPage
from stirfall.desktop.odds.calibration_plot import CalibrationPlot
from stirfall.desktop.odds.health_words import health_parts, standing_of
from stirfall.desktop.odds.trust_state import (
    STANDING_MARKS,
    CalibrationPoint,
    CalibrationShown,
    PullLine,
    TrustContent,
    TrustState,
)
from stirfall.desktop.odds.trust_view import TrustView
from stirfall.desktop.odds.trust_words import SHAKY_K, trust_content
from stirfall.desktop.theme import LIGHT, THEMES, Theme, apply_theme
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.reporting.shares import percent
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

NARROW, LOW = 520, 560
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def view(qtbot: QtBot, workspace: Workspace) -> TrustView:
    made = TrustView(workspace)
    qtbot.addWidget(made)
    made.resize(NARROW, LOW)
    return made


@pytest.fixture
def ready(view: TrustView, workspace: Workspace, two_lots: Document, qtbot: QtBot) -> TrustView:
    workspace.open_document(two_lots)
    return shown(view, qtbot)


def shown(view: TrustView, qtbot: QtBot) -> TrustView:
    with qtbot.waitExposed(view):
        view.show()
    QApplication.processEvents()
    return view


def button(view: TrustView, name: str) -> QPushButton:
    found = view.findChild(QPushButton, name)
    assert found is not None, name
    view.area.ensureWidgetVisible(found)
    QApplication.processEvents()
    return found


def cut_labels(view: TrustView) -> list[str]:
    return [
        label.text()
        for label in view.content.findChildren(QLabel)
        if label.isVisibleTo(view)
        and label.text()
        and label.wordWrap()
        and label.height() + 1 < label.heightForWidth(label.width())
    ]


# -- from an analysis to words ----------------------------------------------------------------------------------


def test_forms_stand_best_first_with_the_weights_of_the_analysis(refined: Analysis) -> None:
    block = trust_content(refined, ".").forms
    assert [row.key for row in block.rows] == [score.form.key for score in refined.forms]
    assert [row.weight for row in block.rows] == [score.weight for score in refined.forms]
    assert [row.weight_text for row in block.rows] == [percent(score.weight) for score in refined.forms]
    assert len({row.name for row in block.rows}) == len(block.rows) > 3
    assert block.rows[0].is_best
    assert block.rows[0].score_text == sentence("trust_view.best_form")
    assert all(
        bool(row.warning) == (score.pareto_k > SHAKY_K)
        for row, score in zip(block.rows, refined.forms, strict=True)
    )


def test_the_note_on_the_forms_says_whether_the_scores_differ(refined: Analysis) -> None:
    note = trust_content(refined, ".").forms.note
    n = refined.counts.used
    worse = sum(score.is_distinguishable for score in refined.forms)
    if refined.forms_differ:
        assert note.startswith(f"{worse} of the {len(refined.forms)} forms") or "best" in note
    else:
        assert f"{n} attempts cannot tell these forms apart" in note


def test_a_pinned_form_is_named_and_the_only_one_at_once(document: Document) -> None:
    state = document.state
    key = analyse(state, refined=True).forms[2].form.key
    pinned = replace(state, settings=replace(state.settings, form=key))
    block = trust_content(analyse(pinned, refined=True), ".").forms
    row = next(row for row in block.rows if row.is_pinned)
    assert row.key == key
    assert row.weight == 1.0
    assert block.pinned == row.name
    assert row.name in block.note
    assert {one.key for one in block.foremost} == {key, block.rows[0].key}


def test_checks_say_what_the_report_says_and_what_needs_a_look_comes_first(refined: Analysis) -> None:
    report = refined.health()
    parts = health_parts(report, ".")
    by_key = {line.key: line for line in parts.checks}
    for part in ("calibration", "scores", "auc", "sensitivity", "confounding", "too_many"):
        verdict = report.statements[part]
        assert by_key[part].text == sentence(verdict.code, verdict.params)
        assert by_key[part].standing == standing_of(verdict)
    order = [list(STANDING_MARKS).index(line.standing) for line in parts.checks]
    assert order == sorted(order)


LOOKS = {
    "calibration": ("too_hopeful", "too_gloomy", "off_in_places"),
    "scores": ("worse",),
    "auc": ("does_not",),
    "sensitivity": ("large", "prior_only"),
    "too_many": ("clean_severe", "parted_severe", "pooled_severe"),
}
FEW = {
    "calibration": ("too_few",),
    "scores": ("no_different",),
    "auc": ("unsure",),
    "sensitivity": ("moderate",),
    "confounding": ("unknown",),
    "health": ("not_refined", "one_outcome", "none_judged", "no_attempts", "no_conditions"),
    "too_many": ("clean_few", "parted_few", "pooled_few", "clean_nothing", "parted_nothing", "pooled_nothing"),
}
FINE = {
    "calibration": ("fits",),
    "scores": ("better",),
    "auc": ("tells_apart",),
    "sensitivity": ("small",),
    "confounding": ("none", "no_exposure"),
    "too_many": ("clean_fine", "parted_fine", "pooled_fine"),
}
NO_VERDICTS = {"scores.probability_outside", "health.rough"}


def test_each_verdict_that_has_a_sentence_stands_as_it_should() -> None:
    expected = {
        f"{part}.{kind}": standing
        for standing, table in (("look", LOOKS), ("few", FEW), ("fine", FINE))
        for part, kinds in table.items()
        for kind in kinds
    }
    for code in all_sentences():
        if code.partition(".")[0] in {*LOOKS, *FEW, *FINE} and code not in NO_VERDICTS:
            # What is left are the warnings of conditions that moved together.
            wanted = expected.pop(code, "look" if code.startswith("confounding.") else None)
            assert standing_of(Reason(code)) == wanted, code
    assert not expected


def test_the_picture_of_calibration_has_the_bins_of_the_report(refined: Analysis) -> None:
    found = refined.health().calibration
    assert found is not None
    points = trust_content(refined, ".").calibration.points
    assert [(p.said, p.share, p.lower, p.upper, p.n) for p in points] == [
        (one.predicted, one.observed, one.lower, one.upper, one.trials) for one in found.bins
    ]
    assert sum(point.n for point in points) == round(float(refined.loo.n.sum()) if refined.loo else -1)


def test_attempts_that_pull_stand_with_both_chances(refined: Analysis) -> None:
    report = refined.health()
    flagged = {one.attempt_id: one for gate in report.influence for one in gate.flagged}
    pulls = trust_content(refined, ".").pulls
    assert {line.attempt_id for line in pulls} == set(flagged)
    for line in pulls:
        one = flagged[line.attempt_id]
        assert line.text.startswith(f"Attempt {one.number} ")


def test_with_few_attempts_it_teaches(document: Document) -> None:
    few = trust_content(analyse(replace(document.state, attempts=document.state.attempts[:5])), ".")
    assert few.phase == "few"
    assert "5 attempts so far" in few.message
    six = replace(document.state, attempts=document.state.attempts[:6])
    assert trust_content(analyse(six, refined=True), ".").phase == "ready"


def test_the_first_answer_says_when_the_checks_come(document: Document) -> None:
    first = trust_content(analyse(document.state), ".")
    assert first.phase == "first"
    assert first.message.startswith("These checks come with the refined answer.")


# -- what a person can do -----------------------------------------------------------------------------------------


def test_one_press_pins_a_form_and_another_weighs_all_again(
    ready: TrustView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    row = ready.view_model.state.content.forms.foremost[1]
    assert ready.forms.unpin.isHidden()
    qtbot.mouseClick(button(ready, "odds_trust_form_2_use"), LEFT)
    assert two_lots.state.settings.form == row.key
    block = ready.view_model.state.content.forms
    assert block.pinned == row.name
    place = next(at for at, one in enumerate(block.foremost) if one.is_pinned)
    pinned = button(ready, f"odds_trust_form_{place + 1}_use")
    assert pinned.text() == "In use"
    assert not pinned.isEnabled()
    workspace.undo()
    assert two_lots.state.settings.form == ""
    assert ready.view_model.state.content.forms.pinned == ""
    workspace.redo()
    qtbot.mouseClick(button(ready, "odds_trust_unpin"), LEFT)
    assert two_lots.state.settings.form == ""


def test_a_session_for_reading_only_pins_nothing_and_says_why(
    view: TrustView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    path = two_lots.path
    two_lots.close()
    with Document.open(path, read_only=True) as document:
        workspace.open_document(document)
        shown(view, qtbot)
        use = button(view, "odds_trust_form_1_use")
        assert not use.isEnabled()
        assert use.accessibleDescription() == sentence("trust_view.read_only")
        assert view.forms.fixed.isVisibleTo(view)
        view.view_model.pin_form(view.view_model.state.content.forms.rows[0].key)
        assert document.state.settings.form == ""
        workspace.close_document()


def test_details_of_the_forms_show_every_form(ready: TrustView, qtbot: QtBot) -> None:
    rows = ready.view_model.state.content.forms.rows
    more = button(ready, "odds_trust_form_details")
    assert more.text() == f"All {len(rows)} forms and details"
    qtbot.mouseClick(more, LEFT)
    shown_rows = [row for row in ready.forms.rows if row.isVisibleTo(ready)]
    assert len(shown_rows) == len(rows)
    assert all("marginal likelihood" in row.details.text() for row in shown_rows)
    qtbot.mouseClick(button(ready, "odds_trust_form_details"), LEFT)
    assert not any(row.details.isVisibleTo(ready) for row in ready.forms.rows)


def test_details_of_a_check_open_by_click_and_by_key(ready: TrustView, qtbot: QtBot) -> None:
    more = button(ready, "odds_trust_check_1_more")
    line = ready.view_model.state.content.checks[0]
    assert not ready.checks[0].details.isVisibleTo(ready)
    qtbot.mouseClick(more, LEFT)
    assert ready.checks[0].details.isVisibleTo(ready)
    assert ready.view_model.state.opened == {line.key}
    more.setFocus()
    qtbot.keyClick(more, Qt.Key.Key_Space)
    assert not ready.checks[0].details.isVisibleTo(ready)


def test_show_attempt_leads_to_its_row_in_the_ledger(
    ready: TrustView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    page = LedgerPage(workspace)
    qtbot.addWidget(page)
    pages: list[str] = []
    workspace.page_requested.connect(pages.append)
    attempt = two_lots.state.attempts[16]
    ready.view_model.show_attempt(attempt.id)
    assert pages == ["attempts"]
    assert workspace.in_hand.conditions == attempt.conditions
    assert workspace.in_hand.lot_id == attempt.lot_id == "L2"
    assert page.model.state is not None
    assert page.model.state.selected == attempt


def test_the_button_beside_an_attempt_shows_that_attempt(
    ready: TrustView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    attempts = two_lots.state.attempts[3], two_lots.state.attempts[9]
    pulls = tuple(PullLine(one.id, one.number, f"Attempt {one.number} pulls.") for one in attempts)
    content = replace(ready.view_model.state.content, pulls=pulls)
    ready.render(TrustState(content))
    QApplication.processEvents()
    with qtbot.waitSignal(workspace.page_requested):
        qtbot.mouseClick(button(ready, "odds_trust_pull_2_show"), LEFT)
    assert workspace.in_hand.label == "Attempt 10"


def test_an_odd_attempt_is_listed_with_its_chances(state_of_two_lots: CampaignState) -> None:
    state = state_of_two_lots
    lonely = state.attempts[-1].conditions.with_value("temperature", 179.0)
    odd = replace(state.attempts[-1], id="odd", number=25, conditions=lonely, parted=Parted.NO, pooled=None)
    pulls = trust_content(analyse(replace(state, attempts=(*state.attempts, odd)), refined=True), ".").pulls
    assert "odd" in {line.attempt_id for line in pulls}
    assert any(line.number == 25 and "lowers the chance of parting" in line.text for line in pulls)


# -- when it is worked out ----------------------------------------------------------------------------------------


def test_nothing_is_worked_out_while_hidden(
    view: TrustView, workspace: Workspace, two_lots: Document, qtbot: QtBot
) -> None:
    workspace.open_document(two_lots)
    assert view.view_model.state.content.phase == "waiting"
    shown(view, qtbot)
    assert view.view_model.state.content.phase == "ready"


def test_old_checks_are_greyed_until_the_next_refined_answer(
    ready: TrustView, workspace: Workspace, qtbot: QtBot
) -> None:
    seen: list[TrustState] = []
    ready.view_model.changed.connect(seen.append)
    workspace.refresh()
    assert [state.is_stale for state in seen] == [True, False]
    assert {state.content.phase for state in seen} == {"ready"}
    workspace.close_document()
    assert ready.view_model.state.content.message == sentence("trust_view.closed")


def test_stale_forms_cannot_be_pinned(ready: TrustView) -> None:
    state = ready.view_model.state
    ready.render(replace(state, is_stale=True))
    assert not ready.forms.rows[0].use.isEnabled()
    ready.render(state)
    assert ready.forms.rows[0].use.isEnabled()


def test_where_no_refined_answer_comes_the_view_says_so(ready: TrustView, workspace: Workspace) -> None:
    workspace.refinement_failed.emit(InputError("odds.value_missing", factors="age"))
    assert "could not be computed" in ready.view_model.state.notice
    assert ready.notice.isVisibleTo(ready)


def test_a_promise_of_checks_is_taken_back_where_no_refined_answer_comes(
    ready: TrustView, workspace: Workspace, two_lots: Document
) -> None:
    workspace.analysis_started.emit()
    workspace.analysis = analyse(two_lots.state)
    workspace.analysis_finished.emit(workspace.analysis)
    assert ready.view_model.state.is_stale
    workspace.refinement_failed.emit(InputError("odds.value_missing", factors="age"))
    assert ready.view_model.state.content.phase == "failed"
    assert "could not be computed" in ready.message.text()
    workspace.refresh()
    assert ready.view_model.state.content.phase == "ready"
    assert ready.view_model.state.notice == ""


# -- on screen ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_nothing_is_cut_and_nothing_runs_sideways(
    ready: TrustView, themed: QApplication, qtbot: QtBot, scale: float
) -> None:
    apply_theme(themed, LIGHT, scale)
    try:
        ready.view_model.toggle_form_details(True)
        for line in ready.view_model.state.content.checks:
            ready.view_model.toggle_check(line.key, True)
        qtbot.waitUntil(lambda: not cut_labels(ready))  # a second pass of the layout knows the heights
        assert ready.area.horizontalScrollBar().maximum() == 0
        assert ready.content.width() <= ready.area.viewport().width()
        for one in ready.content.findChildren(QAbstractButton):
            if one.isVisibleTo(ready):
                assert one.width() >= one.fontMetrics().horizontalAdvance(one.text()), one.text()
    finally:
        apply_theme(themed, LIGHT)


def test_everything_that_takes_the_keyboard_has_a_name_of_its_own(ready: TrustView) -> None:
    names = [widget.accessibleName() for widget in focusable_widgets(ready)]
    assert all(names)
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_points_of_calibration_stand_where_they_belong(qtbot: QtBot, themed: QApplication, theme: Theme) -> None:
    apply_theme(themed, theme)
    try:
        plot = CalibrationPlot()
        qtbot.addWidget(plot)
        plot.resize(480, plot.sizeHint().height())
        points = (CalibrationPoint(0.2, 0.3, 0.1, 0.6, 8), CalibrationPoint(0.8, 0.7, 0.4, 0.9, 9))
        plot.show_picture(CalibrationShown(points, "As said."), theme=theme, is_stale=False)
        with qtbot.waitExposed(plot):
            plot.show()
        image = plot.grab().toImage()
        frame = plot.frame()
        assert plot.place_of(0.0, 0.0) == frame.bottomLeft()
        assert plot.place_of(1.0, 1.0) == frame.topRight()
        for point in points:
            place = plot.place_of(point.said, point.share).toPoint()
            assert image.pixelColor(place) == QColor(theme.accent)
            middle_of_line = plot.place_of(point.said, (point.share + point.upper) / 2).toPoint()
            around = [image.pixelColor(middle_of_line + QPoint(step, 0)) for step in (-1, 0)]
            assert QColor(theme.accent) in around
        assert plot.accessibleDescription() == "As said."
    finally:
        apply_theme(themed, LIGHT)


def test_marks_have_shape_and_word() -> None:
    assert len({glyph for glyph, _ in STANDING_MARKS.values()}) == 3
    assert [word for _, word in STANDING_MARKS.values()] == ["look", "too few to say", "fine"]


def test_a_view_without_anything_grave_shows_no_warning(ready: TrustView) -> None:
    content = replace(ready.view_model.state.content, first_look="", pulls=(), pulls_note="None pulls.")
    ready.render(TrustState(content))
    assert not ready.warning.isVisibleTo(ready)
    assert not any(pull.isVisibleTo(ready) for pull in ready.pulls)
    ready.render(TrustState(TrustContent("few", "Record more.")))
    assert ready.message.isVisibleTo(ready)
    assert not ready.area.isVisibleTo(ready)
