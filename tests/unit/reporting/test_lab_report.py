"""The lab report as a document tree: everything is in it, and its numbers are those of the analysis."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest
from report_sources import MADE, PEOPLE, dross, source_from, with_people

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.errors import InputError
from stirfall.bench.issued import ChangeMark, MarkKind
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import INVENTED_NOTICE, Origin
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.limit_words import limit_texts
from stirfall.reporting.report.lab_report import lab_report
from stirfall.reporting.report.names import Nameless, letters
from stirfall.reporting.report.source import ReportSource, photo_numbers
from stirfall.reporting.report.tree import (
    Bullets,
    CautionsBlock,
    Notice,
    Paragraph,
    Report,
    TableBlock,
)
from stirfall.reporting.shares import in_full
from stirfall.session.analysis import Analysis, analyse
from stirfall.storage.package import PackageContent


def texts(report: Report) -> Iterator[str]:
    """Yield everything that a report says in words and cells."""
    yield report.title
    yield from report.facts
    for block in report.blocks:
        if isinstance(block, Bullets):
            yield from block.items
        elif isinstance(block, TableBlock):
            yield block.caption
            yield block.note
            for row in block.rows:
                yield from row
        elif isinstance(block, CautionsBlock):
            yield block.headline
            for item in block.items:
                yield from item
        elif isinstance(block, (Notice, Paragraph)):
            yield block.text


def table(report: Report, caption: str) -> TableBlock:
    return next(block for block in report.tables if block.caption.startswith(caption))


def column(block: TableBlock, title: str) -> list[str]:
    place = [each.title for each in block.columns].index(title)
    return [row[place] for row in block.rows]


@pytest.fixture(scope="module")
def content() -> PackageContent:
    return dross()


@pytest.fixture(scope="module")
def refined(content: PackageContent) -> Analysis:
    return analyse(content.state, refined=True)


@pytest.fixture(scope="module")
def source(content: PackageContent) -> ReportSource:
    return source_from(content, content.state)


@pytest.fixture(scope="module")
def report(source: ReportSource, refined: Analysis) -> Report:
    return lab_report(source, refined, figures=())


def test_every_attempt_is_in_it_with_its_outcome_and_its_conditions(report: Report, source: ReportSource) -> None:
    attempts = sorted(source.state.attempts, key=lambda each: each.number)
    outcomes, reached = table(report, "All attempts"), table(report, "Conditions that were reached")
    assert column(outcomes, "No.") == [str(each.number) for each in attempts] == column(reached, "No.")
    assert column(outcomes, "Outcome") == [each.outcome.value for each in attempts]
    for row, attempt in zip(reached.rows, attempts, strict=True):
        told = dict(zip([each.name for each in source.state.factors], row[1:-1], strict=True))
        for name, value in attempt.conditions.items():
            assert float(told[name]) == value
        assert {name for name, text in told.items() if text} == set(attempt.conditions)


def test_failures_aborted_and_struck_out_attempts_stand_there_with_their_reasons(
    report: Report, source: ReportSource
) -> None:
    standing = dict(
        zip(*(column(table(report, "All attempts"), title) for title in ("No.", "In the model")), strict=True)
    )
    remarks = {(row[0], row[1]): row[2] for row in table(report, "Strike-outs").rows}
    struck = [each for each in source.state.attempts if each.is_struck]
    aborted = [each for each in source.state.attempts if each.aborted]
    assert struck
    assert aborted
    for each in struck:
        assert standing[str(each.number)] == "struck out"
        assert remarks[str(each.number), "struck out"] == each.struck_reason
    for each in aborted:
        assert standing[str(each.number)] == "aborted"
        assert remarks[str(each.number), "aborted"] == each.abort_reason
    failed = [each for each in source.state.attempts if each.outcome is Outcome.NOTHING_PARTED]
    assert all(standing[str(each.number)] == "used" for each in failed)


def test_corrections_keep_the_old_value(report: Report, source: ReportSource) -> None:
    rows = table(report, "Every correction").rows
    assert len(rows) == len(source.corrections)
    moved = next(row for row in rows if row[2] == "temperature")
    assert moved[1:] == ("attempt 13", "temperature", "184\u2009°C", "148\u2009°C", "digits swapped while typing")


def test_its_numbers_are_those_of_the_analysis(report: Report, refined: Analysis) -> None:
    conditions = refined.complete(refined.best().conditions)
    chance = in_full(refined.estimate(conditions))
    said = list(texts(report))
    assert any(chance in text for text in said)
    assert sum(f"Chance of a clean separation at these conditions: {chance}" in text for text in said) == 1
    used = column(table(report, "All attempts"), "In the model").count("used")
    assert used == refined.counts.used
    forms = table(report, "Forms of the model")
    assert len(forms.rows) == len(refined.forms)
    recommended = table(report, "Recommended conditions")
    assert column(recommended, "Condition") == [each.name for each in refined.state.visible_factors]
    effects = [effect for effect in refined.effects() if effect.is_known]
    told = [text for text in said if "multiplies the odds of" in text and text.startswith("Each")]
    assert len(told) == len(effects)


def test_limits_and_cautions_are_there_in_full(report: Report, source: ReportSource) -> None:
    said = "\n".join(texts(report))
    for limit in limit_texts(source.state):
        assert limit.text in said
        assert limit.source in said
    cautions = load_cautions(source.state.settings.material)
    assert cautions.headline in said
    assert all(item.text in said for item in cautions.items)


def test_an_invented_campaign_says_so_first_and_where_it_is_cited(report: Report, source: ReportSource) -> None:
    first = report.blocks[0]
    assert isinstance(first, Notice)
    assert first.weight == "invented"
    assert INVENTED_NOTICE in first.text
    said = list(texts(report))
    assert any(INVENTED_NOTICE in text and source.fingerprint[:12] in text for text in said[-2:])
    assert any(source.fingerprint in text for text in said)


def test_it_says_what_was_not_measured(report: Report, content: PackageContent) -> None:
    said = list(texts(report))
    never = next(text for text in said if text.startswith("Noted in no attempt"))
    assert "the tool" in never
    assert "the purity of the product" in never
    weighed = sum(each.masses.product_g is not None for each in content.state.attempts)
    assert any(f"the product ({weighed})" in text for text in said)


def test_the_same_session_gives_the_same_report(source: ReportSource, refined: Analysis, report: Report) -> None:
    assert lab_report(source, refined, figures=()) == report


def test_an_empty_campaign_has_a_report_too(content: PackageContent) -> None:
    empty = replace(content.state, attempts=(), jars=(), lots=())
    bare = PackageContent(empty, ())
    report = lab_report(source_from(bare, empty), analyse(empty, refined=True), figures=())
    said = "\n".join(texts(report))
    assert "No attempt was recorded yet." in said
    assert report.recipe is None
    assert "No attempt is graded yet, so nothing is recommended." in said


def test_a_superoxide_former_is_never_told_to_wait(superoxide: Analysis, content: PackageContent) -> None:
    state = superoxide.state
    report = lab_report(source_from(content, state), superoxide, figures=())
    said = "\n".join(texts(report))
    assert said.count("Its age is a danger, not a means") >= 2  # with the ageing, and with the rival explanations
    assert "No longer exposure is ever advised" in said or "no longer exposure is ever advised" in said
    exposures = [each.name for each in state.factors if each.role is not None and each.role.is_exposure]
    for name in exposures:
        told = [text for text in texts(report) if text.startswith(f"Each doubling of {name}")]
        assert told
        assert all("is better" not in text for text in told)


def test_comparisons_are_all_listed_with_their_number(content: PackageContent, refined: Analysis) -> None:
    made = source_from(content, content.state).created_at
    asked = tuple(
        Comparison(str(place), made, Group("lot", level="L1"), Group("lot", level=lot), Measure.RECOVERY)
        for place, lot in enumerate(("L2", "L3"))
    )
    marks = (ChangeMark("m", made, MarkKind.OIL, "new bottle of oil"),)
    state = replace(content.state, comparisons=asked, marks=marks)
    report = lab_report(source_from(content, state), replace(refined, state=state), figures=())
    said = list(texts(report))
    assert any(
        text.startswith("Comparisons of groups of attempts that were asked for") and ": 2." in text for text in said
    )
    assert sum(text.startswith(("1. Asked on", "2. Asked on")) for text in said) == 2
    assert any("Lot L1" in text and "L3" in text for text in said)
    assert any("new bottle of oil" in text for text in said)


def test_pooled_attempts_name_their_bench_and_session(content: PackageContent, refined: Analysis) -> None:
    benches = ("north", "south")
    attempts = tuple(
        replace(each, origin=Origin(benches[place % 2], "trial", "f" * 64, each.id, each.number + 100))
        for place, each in enumerate(content.state.attempts)
    )
    state = replace(content.state, attempts=attempts)
    report = lab_report(source_from(content, state), replace(refined, state=state), figures=())
    assert column(table(report, "All attempts"), "Bench and its number")[:2] == ["north 101", "south 102"]
    assert len(table(report, "Sessions that were pooled").rows) == 2
    assert any(heading.text == "Does it hold for others?" for heading in report.headings)


def test_it_can_be_stopped(source: ReportSource, refined: Analysis) -> None:
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        lab_report(source, refined, figures=(), token=token)


# ------------------------------------------------------------------------------------------------------------ names


def test_operators_stand_as_letters_unless_names_are_asked_for(content: PackageContent, refined: Analysis) -> None:
    state = with_people(content.state)
    ben, anna = (Group("operator", level=name) for name in reversed(PEOPLE))
    asked = replace(state, comparisons=(Comparison("c", MADE, ben, anna, Measure.RECOVERY),))
    analysis = replace(refined, state=asked)
    hidden = lab_report(source_from(content, asked), analysis, figures=())
    said = "\n".join(texts(hidden))
    assert not re.search(r"\b(Anna Fox|Ben)\b", said)
    assert column(table(hidden, "All attempts"), "Operator")[:3] == ["A", "B", "A"]
    assert "operator B helped; operator A held the lid; a Benford note" in said
    named = lab_report(source_from(content, asked, with_names=True), analysis, figures=())
    assert column(table(named, "All attempts"), "Operator")[:2] == list(PEOPLE)


def test_letters_go_on_after_z_and_single_letters_are_not_looked_for_in_notes(content: PackageContent) -> None:
    first = content.state.attempts[0]
    many = [replace(first, facts=replace(first.facts, operator=f"Person {place}")) for place in range(28)]
    assert list(letters(many).values())[-3:] == ["Z", "AA", "AB"]
    nameless = Nameless([replace(first, facts=replace(first.facts, operator="A"))])
    assert nameless.text("A bit grey") == "A bit grey"
    assert nameless.json('"kept as it is"') == '"kept as it is"'


@pytest.mark.parametrize(("text", "meant"), [(" ALL ", "all"), ("none", "none"), ("3, 7;12 3", (3, 7, 12))])
def test_photos_are_chosen_by_word_or_by_number(text: str, meant: object) -> None:
    assert photo_numbers(text) == meant


@pytest.mark.parametrize("text", ["", "some", "3,x", "-1"])
def test_what_names_no_photos_is_told(text: str) -> None:
    with pytest.raises(InputError) as caught:
        photo_numbers(text)
    assert caught.value.code == "report.photos_unreadable"
