"""The section "Is it chance?": its view-model without widgets, then clicks, keys, pictures and their words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from stirfall.bench.cancel import CancelToken
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.desktop.evidence.compare_model import CompareModel
from stirfall.desktop.evidence.compare_plot import ComparePlot
from stirfall.desktop.evidence.compare_section import CompareSection
from stirfall.desktop.evidence.compare_state import Bar, Picture, Strip
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.theme import DARK, THEMES
from stirfall.desktop.workspace import Workspace
from stirfall.session.clock import FixedClock
from stirfall.session.commands import ChangeSettings, RecordAttempt
from stirfall.session.document import Document
from stirfall.session.jobs import FinishedJob, ImmediateExecutor

T = TypeVar("T")
AT = datetime(2026, 3, 4, 18, tzinfo=UTC)
FACTORS = (
    Factor("age", "h", 1.0, 100.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("bath", "C", 140.0, 170.0, step=1.0),
    Factor("additive", levels=("none", "rosin")),
)
SETTINGS = CampaignSettings(
    material=MaterialClass.BASE_METAL, melting_point_c=130.0, oil_flash_c=240.0, lot_effect="none"
)


def attempts(count: int = 12) -> tuple[Attempt, ...]:
    made = []
    for number in range(1, count + 1):
        rosin = number % 2 == 0
        clean = number % 5 > 0 if rosin else number % 3 == 0
        made.append(
            Attempt(
                f"a{number}",
                number,
                Conditions({"age": 3.0 * number, "bath": 145.0 + number, "additive": "rosin" if rosin else "none"}),
                started_at=AT - timedelta(days=20 - number),
                lot_id="L1" if number % 4 < 2 else "L2",
                parted=Parted.YES,
                pooled=Pooled.ONE_POOL if clean else Pooled.BEADS,
            )
        )
    return tuple(made)


@pytest.fixture
def document(tmp_path: Path) -> Iterator[Document]:
    path = tmp_path / "compare.stirfall"
    lots = [Lot("L1", AT), Lot("L2", AT)]
    with Document.create(path, SETTINGS, FACTORS, lots=lots, attempts=attempts(), clock=FixedClock(AT)) as made:
        yield made


@pytest.fixture
def workspace(document: Document) -> Iterator[Workspace]:
    made = Workspace(ImmediateExecutor())
    made.open_document(document)
    yield made
    made.close_document()


@pytest.fixture
def model(workspace: Workspace) -> CompareModel:
    made = CompareModel(workspace)
    made.set_shown(True)
    return made


@pytest.fixture
def section(workspace: Workspace, qtbot: QtBot) -> CompareSection:
    made = CompareSection(workspace)
    qtbot.addWidget(made)
    made.resize(700, 900)
    made.show()
    return made


class WaitingExecutor:
    """Keeps every job until the test lets it go, in its order; cancelled ones run too, as late results do."""

    def __init__(self) -> None:
        self.jobs: list[Callable[[], None]] = []

    def submit(
        self, job: Callable[[CancelToken], T], done: Callable[[T], None], failed: object = None
    ) -> FinishedJob:
        del failed
        self.jobs.append(lambda: done(job(CancelToken())))
        return FinishedJob()

    def run_all(self) -> None:
        """Let every job go, and those that they ask for."""
        while self.jobs:
            self.jobs.pop(0)()


class TestModel:
    def test_nothing_is_looked_for_before_somebody_looks(self, workspace: Workspace) -> None:
        model = CompareModel(workspace)
        assert model.state.subjects == ()
        model.set_shown(True)
        assert {key for key, _ in model.state.subjects} >= {"factor:additive", "factor:age", "lot", "day", "chosen"}

    def test_it_begins_with_a_choice_and_its_two_levels(self, model: CompareModel) -> None:
        state = model.state
        assert state.subject == "factor:additive"
        assert [group.level for group in state.groups] == ["none", "rosin"]
        assert state.levels == (("none", "none (6)"), ("rosin", "rosin (6)"))
        assert state.can_compare
        assert "Each question that you ask is counted" in state.teaches

    def test_comparing_notes_the_question_once_and_answers_it(
        self, model: CompareModel, document: Document
    ) -> None:
        assert model.compare()
        assert model.compare()
        assert len(document.state.comparisons) == 1
        state = model.state
        assert state.headline.startswith("2 of 6 against 5 of 6: ")
        assert state.picture is not None
        assert [strip.told.split(":")[0] for strip in state.picture.strips] == ["2 of 6", "5 of 6"]
        assert [bar.name for bar in state.picture.bars] == [
            "As counted",
            "Each lot with itself",
            "With all else alike",
        ]
        assert {"counted", "lots", "alike", "cannot", "needed", "many"} <= {card.key for card in state.cards}
        assert len(state.kept) == 1

    def test_two_ages_begin_at_the_halves_and_typed_ends_are_read_in_their_unit(self, model: CompareModel) -> None:
        model.choose_subject("factor:age")
        assert (model.state.groups[0].high, model.state.groups[1].low, model.state.unit) == ("18", "21", "h")
        model.type_end(0, "high", "1 d")
        model.type_end(1, "low", "")
        assert model.state.can_compare
        model.type_end(0, "high", "soon")
        assert not model.state.can_compare
        assert model.state.groups[0].problem
        assert model.state.groups[1].problem == ""
        assert not model.compare()

    def test_typed_temperatures_follow_the_unit_that_is_shown(
        self, model: CompareModel, workspace: Workspace
    ) -> None:
        model.choose_subject("factor:bath")
        assert model.state.groups[0].high == "151"
        workspace.set_temperature_unit("F")
        assert model.state.groups[0].high == "303.8"
        assert "F" in model.state.unit
        assert model.compare()
        assert "Bath up to 304" in str(model.state.picture)

    def test_attempts_are_chosen_by_number(self, model: CompareModel) -> None:
        model.choose_subject("chosen")
        assert not model.state.can_compare
        model.type_text(0, "1-6")
        model.type_text(1, "7, 8, 99")
        assert "99" in model.state.groups[1].problem
        model.type_text(1, "7-12")
        assert model.compare()
        assert [card.key for card in model.state.cards][-1] == "many"

    def test_a_period_begins_at_the_middle(self, model: CompareModel) -> None:
        model.choose_subject("period")
        first, second = model.state.groups
        assert first.high == second.low != ""
        assert model.compare()
        assert model.state.headline.startswith("4 of 6 against 3 of 6")

    def test_swapping_shows_the_same_the_other_way_round_and_asks_nothing_new(
        self, model: CompareModel, document: Document
    ) -> None:
        model.compare()
        model.swap()
        assert model.state.headline.startswith("5 of 6 against 2 of 6: ")
        assert not model.state.is_stale
        assert len(document.state.comparisons) == 1

    def test_another_difference_may_matter(self, model: CompareModel) -> None:
        assert model.state.matters == "20 points"
        model.compare()
        needed = next(card for card in model.state.cards if card.key == "needed").lines[0]
        model.step_matters(2)
        assert model.state.matters == "30 points"
        assert next(card for card in model.state.cards if card.key == "needed").lines[0] != needed
        for _ in range(40):
            model.step_matters(-1)
        assert model.state.matters == "5 points"

    def test_earlier_comparisons_are_shown_again_without_asking_anew(
        self, model: CompareModel, document: Document
    ) -> None:
        model.compare()
        model.choose_subject("lot")
        assert "Below stands the comparison before" in model.state.note
        model.compare()
        assert model.state.note == ""
        assert len(model.state.kept) == 2
        model.show_again(1)
        assert model.state.subject == "factor:additive"
        assert model.state.headline.startswith("2 of 6 against 5 of 6")
        assert len(document.state.comparisons) == 2

    def test_the_newest_comparison_is_there_when_a_session_is_opened_again(
        self, model: CompareModel, workspace: Workspace
    ) -> None:
        model.choose_subject("factor:age")
        model.compare()
        again = CompareModel(workspace)
        again.set_shown(True)
        assert again.state.headline == model.state.headline
        assert again.state.groups == model.state.groups

    def test_new_attempts_are_counted_in_place(self, model: CompareModel, workspace: Workspace) -> None:
        model.compare()
        new = replace(attempts(14)[13], id="", number=0)
        workspace.execute(RecordAttempt(new))
        assert model.state.headline.startswith("2 of 6 against 6 of 7")
        assert dict(model.state.levels)["rosin"] == "rosin (7)"

    def test_what_was_looked_for_before_a_change_is_dropped_and_looked_for_again(self, document: Document) -> None:
        executor = WaitingExecutor()
        workspace = Workspace(executor)
        workspace.open_document(document)
        model = CompareModel(workspace)
        model.set_shown(True)
        assert model.state.is_working
        workspace.execute(RecordAttempt(replace(attempts(14)[13], id="", number=0)))
        executor.run_all()
        assert dict(model.state.levels)["rosin"] == "rosin (7)"
        workspace.close_document()

    def test_a_read_only_session_is_compared_and_that_is_said(self, document: Document) -> None:
        path = document.path
        document.close()
        workspace = Workspace(ImmediateExecutor())
        workspace.open_document(Document.open(path, read_only=True, clock=FixedClock(AT)))
        model = CompareModel(workspace)
        model.set_shown(True)
        assert model.compare()
        assert model.state.headline
        assert "read-only" in model.state.note
        workspace.close_document()

    def test_an_empty_session_teaches(self, tmp_path: Path) -> None:
        workspace = Workspace(ImmediateExecutor())
        model = CompareModel(workspace)
        model.set_shown(True)
        assert "Open a session" in model.state.message
        workspace.open_document(
            Document.create(tmp_path / "empty.stirfall", SETTINGS, FACTORS, clock=FixedClock(AT))
        )
        assert "Record attempts that differ" in model.state.message
        workspace.close_document()
        assert "Open a session" in model.state.message

    def test_ages_of_a_superoxide_former_come_with_the_danger(
        self, model: CompareModel, workspace: Workspace
    ) -> None:
        settings = replace(SETTINGS, material=MaterialClass.SUPEROXIDE_FORMER)
        workspace.execute(ChangeSettings(settings))
        model.choose_subject("factor:age")
        model.compare()
        assert model.state.dangers[0].startswith("Danger:")
        assert "better" not in model.state.headline
        needed = next(card for card in model.state.cards if card.key == "needed")
        assert "must not be left to age" in needed.lines[0]


class TestSection:
    def test_it_is_used_by_clicks_and_keys(self, section: CompareSection, document: Document) -> None:
        assert section.teaches.isVisible()
        assert not section.plot.isVisible()
        section.compare.setFocus()
        QTest.keyClick(section.compare, Qt.Key.Key_Space)
        assert len(document.state.comparisons) == 1
        assert section.headline.text().startswith("2 of 6 against 5 of 6")
        assert section.verdict.text()[2:] in ("Not told apart", "Probably", "Beyond chance")
        assert section.plot.isVisible()
        assert not section.teaches.isVisible()
        section.subject.setCurrentIndex(section.subject.findData("factor:age"))
        section.subject.activated.emit(section.subject.currentIndex())
        high = section.groups[0].high
        assert high.isVisible()
        high.setFocus()
        high.selectAll()
        QTest.keyClicks(high, "x")
        assert section.problem.isVisible()
        assert not section.compare.isEnabled()
        high.selectAll()
        QTest.keyClicks(high, "12")
        assert section.compare.isEnabled()
        QTest.mouseClick(section.compare, Qt.MouseButton.LeftButton)
        assert len(document.state.comparisons) == 2
        QTest.mouseClick(section.kept.cards[1], Qt.MouseButton.LeftButton)
        assert section.subject.currentData() == "factor:additive"
        assert len(document.state.comparisons) == 2

    def test_rendering_twice_changes_nothing_and_everything_has_a_name(self, section: CompareSection) -> None:
        section.model.compare()
        before = section.grab().toImage()
        section.render(section.model.state)
        assert section.grab().toImage() == before
        nameless = [each.objectName() for each in focusable_widgets(section) if not each.accessibleName()]
        assert nameless == []
        assert "2 of 6" in section.plot.accessibleDescription()
        assert section.area.accessibleDescription().startswith("2 of 6")

    def test_cards_stand_beside_each_other_where_there_is_room(self, section: CompareSection) -> None:
        section.model.compare()
        section.resize(1400, 900)
        first, second = section.cards.cards[:2]
        assert first.y() == second.y()
        section.resize(500, 900)
        QTest.qWait(0)
        assert first.x() == second.x()


def _picture(names: str, *, is_share: bool = True) -> Picture:
    strips = tuple(
        Strip(name, "7 of 10: 70 %, 40 to 89 %", (1.0, 0.0, 1.0, 0.5), 0.7, 0.4, 0.89) for name in (names, names)
    )
    bars = (
        Bar("As counted", "+10 points, -20 to 40 points", 0.1, -0.2, 0.4),
        Bar("Each lot with itself", "+1", 0.01),
    )
    return Picture("Clean", strips, 0.0, 1.0, "%", f"{names} less {names}", bars, 0.5, 0.2, "20 points", is_share)


class TestPlot:
    @pytest.mark.parametrize("theme", THEMES.values(), ids=list(THEMES))
    def test_it_draws_in_every_theme_shares_and_numbers(self, theme: object, qtbot: QtBot) -> None:
        plot = ComparePlot(theme)  # type: ignore[arg-type]
        qtbot.addWidget(plot)
        for picture in (_picture("lot L1"), _picture("lot L1", is_share=False)):
            plot.show_picture(picture, "in words", decimal=".", is_stale=False)
            plot.resize(QSize(520, plot.heightForWidth(520)))
            image = plot.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
            colours = {image.pixel(x, y) for x in range(0, image.width(), 3) for y in range(0, image.height(), 3)}
            assert len(colours) > 5

    def test_long_names_take_a_line_of_their_own_and_nothing_is_wider_than_its_place(self, qtbot: QtBot) -> None:
        plot = ComparePlot(DARK)
        qtbot.addWidget(plot)
        plot.show_picture(_picture("lot L1"), "", decimal=".", is_stale=False)
        short = plot.heightForWidth(600)
        plot.show_picture(
            _picture("oil exposure time before the bath 10.8 h or more"), "", decimal=".", is_stale=True
        )
        assert plot.heightForWidth(340) > short
        plot.show_picture(None, "", decimal=".", is_stale=False)
        assert plot.heightForWidth(340) == 0

    def test_it_is_copied_and_saved_with_its_numbers(self, section: CompareSection, tmp_path: Path) -> None:
        section.picture.save(tmp_path / "nothing.png")
        assert not (tmp_path / "nothing.png").exists()
        section.model.compare()
        section.picture.show_table()
        assert section.picture.dialog is not None
        section.picture.dialog.close()
        section.picture.copy_picture()
        for name in ("a.png", "a.svg", "a.csv"):
            section.picture.save(tmp_path / name)
        assert QImage(str(tmp_path / "a.png")).width() > 1000
        assert "<svg" in (tmp_path / "a.svg").read_text(encoding="utf-8")
        lines = (tmp_path / "a.csv").read_text(encoding="utf-8").splitlines()
        assert lines[0] == "what,kind,value,lower,upper"
        assert lines[1].startswith("Additive none,group,0.333333,")
        assert len(lines) == 6
