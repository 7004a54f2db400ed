"""The limits on the bench form: one quiet line, the list behind it, and reasons that are kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.desktop.bench_form.checks import day_of, ticked_lines
from stirfall.desktop.bench_form.limits_text import SIGNS, limits_text
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.reasons import SUGGESTED, Warned, is_answered, shown_reason, with_reason
from stirfall.desktop.workspace import FormRequest
from stirfall.planning.findings import finding
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import ChangeSettings, TickChecklist

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import FixedClock
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, document: Document) -> Iterator[BenchPage]:
    items = load_cautions(document.state.settings.material).checklist
    document.execute(TickChecklist(day_of(document.now()), tuple(item.key for item in items)))
    workspace.open_document(document)
    made = BenchPage(workspace)
    qtbot.addWidget(made)
    made.resize(600, 640)
    made.show()
    qtbot.waitExposed(made)
    yield made
    workspace.close_document()


def warned(code: str, text: str, reason: str = "") -> Warned:
    return Warned(finding("warn", code), text, reason)


def listed(page: BenchPage) -> str:
    return "\n".join(label.text() for label in page.record_bar.limits.labels)


def test_when_all_is_well_one_calm_line_says_so_and_what_was_checked(page: BenchPage) -> None:
    page.model.type_value("temperature", "152")
    page.model.type_value("sample age", "30 h")
    limits = page.record_bar.limits
    assert f"{SIGNS['fine']} Within the limits" in limits.toggle.text()
    assert "temperature" in limits.small.text()
    assert limits.isHidden()
    assert page.record_bar.why.isHidden()


def test_the_list_shows_each_finding_with_shape_word_values_and_source(page: BenchPage) -> None:
    page.model.type_value("temperature", "190")  # 35 K below the flash point of 225 °C
    QTest.mouseClick(page.record_bar.limits.toggle, LEFT)
    QApplication.processEvents()
    assert page.record_bar.limits.list.isVisible()
    assert page.model.state is not None
    text = listed(page)
    assert f"{SIGNS['warn']} Warning" in text
    assert "190" in text
    assert "225" in text
    assert "Source:" in text
    assert len(page.record_bar.limits.labels) == len(page.model.state.findings)
    QTest.mouseClick(page.record_bar.limits.toggle, LEFT)
    assert page.record_bar.limits.isHidden()


def test_a_level_is_told_by_shape_and_word_and_never_by_colour_alone(page: BenchPage) -> None:
    seen = {}
    for value in ("152", "185", "205"):
        page.model.type_value("temperature", value)
        assert page.model.state is not None
        shown = limits_text(page.model.state)
        seen[shown.level] = (shown.sign, shown.head)
    assert set(seen) == {"fine", "warn", "block"}
    assert len({sign for sign, _ in seen.values()}) == 3
    assert len({head for _, head in seen.values()}) == 3


def test_every_shape_of_a_level_is_in_a_font_that_is_no_picture_font() -> None:
    # A shape of the planes of pictures (emoji) is an empty box where no such font is installed.
    assert all(len(sign) == 1 and ord(sign) < 0x2720 and sign != "\u26d4" for sign in SIGNS.values())


def test_one_reason_serves_all_warnings_and_stands_beside_each_in_the_list(
    page: BenchPage, document: Document
) -> None:
    page.model.set_parted(Parted.YES)
    page.model.set_pooled(Pooled.ONE_POOL)
    page.model.type_value(
        "temperature", "199.9"
    )  # more than 60 K above melting, less than 50 K below the flash point
    assert page.model.state is not None
    assert len(page.model.state.warned) >= 2
    page.model.give_limit_reason("a thick crust")
    QTest.mouseClick(page.record_bar.limits.toggle, LEFT)
    assert listed(page).count("a thick crust") == len(page.model.state.warned)
    assert page.model.record()
    kept = document.state.attempts[-1].facts.accepted
    assert {item.reason for item in kept} == {"a thick crust"}
    assert len(kept) >= 2


def test_a_new_value_asks_anew_and_the_old_one_brings_its_reason_back(page: BenchPage) -> None:
    page.model.set_parted(Parted.NO)
    page.model.type_value("temperature", "185")
    page.model.give_limit_reason("checked in boiling water")
    assert page.record_bar.record.isEnabled()
    page.model.type_value("temperature", "186")
    assert page.record_bar.why.text() == ""
    assert not page.record_bar.record.isEnabled()
    page.model.type_value("temperature", "185")
    assert page.record_bar.why.text() == "checked in boiling water"
    assert page.record_bar.record.isEnabled()


def test_the_minute_that_passes_while_the_reason_is_typed_does_not_ask_anew(
    page: BenchPage, document: Document, clock: FixedClock
) -> None:
    page.model.type_value("temperature", "185")
    page.model.set_parted(Parted.NO)
    page.model.give_limit_reason("checked")
    clock.advance(hours=7 / 60)
    page.model.refresh()
    assert page.record_bar.why.text() == "checked"
    assert page.model.record()
    assert document.state.attempts[-1].facts.accepted


def test_a_block_closes_the_record_button_and_says_what_to_do_whatever_reason_was_given(
    page: BenchPage, document: Document
) -> None:
    page.model.set_parted(Parted.NO)
    page.model.type_value("temperature", "185")
    page.model.give_limit_reason("I know better")
    page.model.type_value("temperature", "205")
    page.model.give_limit_reason("I know better")
    assert not page.record_bar.record.isEnabled()
    assert SIGNS["block"] in page.record_bar.missing.text()
    assert "200" in page.record_bar.missing.text()
    assert not page.model.record()
    assert len(document.state.attempts) == 24


def test_conditions_that_the_program_suggested_carry_that_as_their_reason(
    page: BenchPage, workspace: Workspace, document: Document
) -> None:
    conditions = Conditions({"sample age": 60.0, "temperature": 185.0, "stirring action": "fold"})
    workspace.request_form(FormRequest(conditions, None, "Suggestion 1", planned=True))
    page.model.set_parted(Parted.NO)
    assert page.model.state is not None
    codes = {item.finding.code for item in page.model.state.warned}
    assert codes
    assert "limits.far_untried" not in codes  # leaving what was tried is the plan itself
    assert page.record_bar.why.text() == SUGGESTED
    assert page.model.record()
    assert {item.reason for item in document.state.attempts[-1].facts.accepted} == {SUGGESTED}


def test_a_suggestion_that_was_changed_asks_for_an_own_reason(page: BenchPage, workspace: Workspace) -> None:
    conditions = Conditions({"sample age": 60.0, "temperature": 185.0, "stirring action": "fold"})
    workspace.request_form(FormRequest(conditions, None, "Suggestion 1", planned=True))
    page.model.type_value("temperature", "187")
    assert page.model.state is not None
    assert "limits.far_untried" in {item.finding.code for item in page.model.state.warned}
    assert page.record_bar.why.text() == ""


def test_what_another_view_offers_is_no_suggestion(page: BenchPage, workspace: Workspace) -> None:
    workspace.request_form(FormRequest(Conditions({"temperature": 185.0}), None, "attempt 3"))
    assert page.record_bar.why.text() == ""


def test_the_lines_of_the_checklist_ticked_that_day_are_kept_with_the_attempt(
    page: BenchPage, document: Document
) -> None:
    page.model.set_parted(Parted.NO)
    assert page.model.record()
    keys = tuple(item.key for item in load_cautions(document.state.settings.material).checklist)
    assert document.state.attempts[-1].facts.ticked == keys


def test_lines_ticked_on_another_day_or_for_another_metal_are_not(document: Document, clock: FixedClock) -> None:
    document.execute(TickChecklist(day_of(document.now()), ("first",)))
    assert ticked_lines(document.state, document.now()) == ("first",)
    clock.advance(hours=24)
    assert ticked_lines(document.state, document.now()) == ()
    other = replace(document.state.settings, material=type(document.state.settings.material).ALKALI_METAL)
    clock.advance(hours=-24)
    document.execute(ChangeSettings(other))
    assert ticked_lines(document.state, document.now()) == ()


def test_the_reason_comes_back_with_the_draft_and_with_undo(
    page: BenchPage, workspace: Workspace, document: Document
) -> None:
    page.model.set_parted(Parted.NO)
    page.model.type_value("temperature", "185")
    page.model.give_limit_reason("checked in boiling water")
    page.model.flush_draft()
    assert document.draft is not None
    assert list(document.draft["reasons"].values()) == ["checked in boiling water"] * len(document.draft["reasons"])  # type: ignore[attr-defined]
    said = []
    workspace.notified.connect(said.append)
    assert page.model.record()
    said[-1].on_act()
    assert page.record_bar.why.text() == "checked in boiling water"
    assert page.record_bar.record.isEnabled()


KEYS = st.sampled_from(["limits.one", "limits.two", "limits.three"])


@given(st.lists(st.tuples(st.lists(KEYS, min_size=1, max_size=3, unique=True), st.text(min_size=1, max_size=4))))
def test_typing_a_reason_letter_by_letter_ends_with_it_on_every_warning_that_had_none(
    steps: list[tuple[list[str], str]],
) -> None:
    given_so_far: dict[str, str] = {}
    for codes, text in steps:
        first = tuple(warned(code, code, given_so_far.get(f"{code}||{code}", "")) for code in codes)
        before = {item.key: item.reason for item in first}
        line = shown_reason(first, given_so_far)
        for end in range(1, len(text) + 1):
            now = tuple(warned(code, code, given_so_far.get(f"{code}||{code}", "")) for code in codes)
            given_so_far = with_reason(now, given_so_far, text[:end])
        after = tuple(warned(code, code, given_so_far.get(f"{code}||{code}", "")) for code in codes)
        assert shown_reason(after, given_so_far) == text
        assert is_answered(after) or not text.strip()
        assert all(item.reason == text for item in after if before[item.key] == line)
