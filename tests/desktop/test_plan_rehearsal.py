"""The rehearsal of the plan page: its words, what is asked, playing, stopping and going on, and the window."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from looking import cut_texts, laid_out, nameless, silent_pictures, walk, wanted_stops
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton
from small_campaigns import an_evening
from small_rehearsals import ALL_ORDERS, rehearsed_by_hand

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.desktop.executor import QtExecutor
from stirfall.desktop.notifier import Notice
from stirfall.desktop.plan import rehearsal_asking
from stirfall.desktop.plan.page import PlanPage
from stirfall.desktop.plan.rehearsal_asking import Answer, Asked, Playing, look_up, play_on, records_folder
from stirfall.desktop.plan.rehearsal_building import ORDER_WORDS, shown_of, time_left
from stirfall.desktop.plan.rehearsal_guessing import Typed, guess_lines, read_guess
from stirfall.desktop.plan.rehearsal_model import CAMPAIGN_STEPS, RehearsalModel
from stirfall.desktop.plan.rehearsal_plot import corners, pen_of, spread
from stirfall.desktop.plan.rehearsal_section import RehearsalSection
from stirfall.desktop.plan.rehearsal_state import ATTEMPTS, GUESS, WEEKS, RehearsalState
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, apply_theme
from stirfall.desktop.workspace import Workspace
from stirfall.planning.rehearsal import ORDERS, Hump
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.session.clock import FixedClock

LEFT = Qt.MouseButton.LeftButton
TINY = Asked(campaigns=2, most=2, orders=("space filling", "random"))


@pytest.fixture
def document(tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock) -> Iterator[Document]:
    with an_evening(tmp_path, campaign_settings, clock) as made:
        yield made


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "records"


@pytest.fixture
def analysis(document: Document) -> Analysis:
    return analyse(document.state)


def of_hand(model: RehearsalModel, *, whole: bool = True) -> Answer:
    """An answer of what the model asks for, by hand."""
    done = model.state.of if whole else 3
    key = model._now.key if model._now is not None else "by hand"
    return Answer(key, done, model.state.of, tuple(ALL_ORDERS), rehearsed_by_hand(asked=10 if whole else 12))


# -- words -----------------------------------------------------------------------------------------


def test_every_order_of_the_program_has_its_words() -> None:
    assert set(ORDER_WORDS) == set(ORDERS)
    assert set(ALL_ORDERS) == set(ORDERS)


def test_an_order_is_told_with_spread_interval_and_number() -> None:
    # By hand: of 10 campaigns 5 are done by 5 attempts; the first by 2, the ninth by 9; one is never done.
    learn = shown_of(rehearsed_by_hand(), ATTEMPTS, ".").lines[0]
    assert learn.large == "5 attempts"
    # The interval by order statistics, ranks 2 and 9 of 10 (binomial tables: P(B(10, 1/2) <= 1) = 0.0107).
    assert learn.middle == "Half of 10 campaigns are done by then; 95\u2009% interval 3 to 9."
    assert learn.spread == "Eight in ten lie between 2 and 9 attempts."
    # Clopper and Pearson for 9 of 10: 0.555 to 0.997 (their table of 1934, as quoted in many textbooks).
    assert learn.reached == "Done within 10 attempts: 9 of 10 campaigns, 90\u2009% (55 to above 99\u2009%)."
    assert learn.missed == "Not done: 1, counted as more than 10 attempts."


def test_what_was_not_reached_is_more_than_what_was_played() -> None:
    lines = {line.order: line for line in shown_of(rehearsed_by_hand(), ATTEMPTS, ".").lines}
    repeat = lines["repeat the best"]
    assert repeat.large == "More than 10 attempts"
    assert repeat.middle.startswith("Fewer than half of 10 campaigns are done by then;")
    assert repeat.middle.endswith("to more than 10.")
    assert repeat.spread == "Eight in ten lie between 0 attempts and more than 10."
    assert repeat.steps.done[0] == pytest.approx(0.2), "two were done before the first attempt"
    assert repeat.steps.done[-1] == pytest.approx(0.3)
    weeks = shown_of(rehearsed_by_hand(), WEEKS, ".").lines[-1]
    assert weeks.large == "More than 10 attempts"
    assert weeks.spread.endswith("and longer than was played.")


def test_what_an_order_saves_is_said_in_words() -> None:
    # By hand: five truths, each 4 attempts quicker but one that is 3: mean 3.8, standard error 0.2, t(4) = 2.776.
    firsts = {"random": (2, 3, 4, 5, 6), "space filling": (6, 7, 8, 9, 9), "one factor at a time": (10,) * 5}
    random, _, one = shown_of(rehearsed_by_hand(firsts, asked=5), ATTEMPTS, ",").lines
    assert random.saves.startswith("Saves about 3,8 attempts (3,2 to 4,4) against space filling.")
    assert random.saves.endswith("Quicker in 5, the same in 0, slower in 0 of 5 campaigns.")
    assert one.saves.startswith("Costs about 2,2 attempts more (")
    same = shown_of(rehearsed_by_hand({"random": (2, 9), "space filling": (9, 2)}, asked=2), ATTEMPTS, ".")
    assert same.lines[0].saves.startswith("No clear difference from space filling: 0 fewer on average, between ")
    assert same.lines[1].saves == "The other orders are set against this one."
    alone = shown_of(rehearsed_by_hand({"random": (2, 9)}, asked=2), ATTEMPTS, ".").lines[0]
    assert alone.saves.startswith("Tick “space filling” too")


def test_weeks_are_told_as_attempts_are() -> None:
    shown = shown_of(rehearsed_by_hand(), WEEKS, ",")
    learn = shown.lines[0]
    assert learn.large == "2,5 weeks"  # the fifth of ten campaigns, five attempts of half a week each
    assert "standard error" in learn.saves
    assert shown.most == pytest.approx(5.0)
    assert "2026-11-24" in shown.begun


def test_what_was_asked_and_assumed_is_told_with_the_number_of_campaigns() -> None:
    shown = shown_of(rehearsed_by_hand(), ATTEMPTS, ".")
    assert (
        shown.asked
        == "Wanted: a recipe of 90\u2009%, within 10 more attempts. 10 campaigns for each order, seed 7."
    )
    assert "12 graded attempts" in shown.assumed[0]
    assert shown.reachable.startswith("Within your limits 90\u2009% can be reached at all in 10 of 10 campaigns")
    partly = shown_of(rehearsed_by_hand(asked=12), ATTEMPTS, ".")
    assert "10 of 12 campaigns for each order so far" in partly.asked


def test_the_time_left_is_as_rough_as_it_is_known() -> None:
    assert [time_left(s) for s in (20, 200, 7000)] == ["less than a minute", "about 3 min", "about 2 h"]


# -- a stated guess --------------------------------------------------------------------------------

TEMPERATURE = Factor("temperature", "C", 140.0, 200.0)
TIME = Factor("oil exposure time", "h", 2.0, 96.0, Scale.LOG)
ACTION = Factor("stirring action", levels=("fold", "swirl"))
FACTORS = (TEMPERATURE, TIME, ACTION)


def test_a_guess_is_read_as_it_is_typed() -> None:
    typed = {
        "temperature": Typed(True, "160 C", "10"),
        "oil exposure time": Typed(True, "1 d", "3"),
        "stirring action": Typed(True, "fold", "40"),
    }
    guess = read_guess(FACTORS, typed, 93, Shown())
    assert guess is not None
    assert guess.best == pytest.approx(0.93)
    assert guess.humps == (
        Hump("temperature", 160.0, 10.0),
        Hump("oil exposure time", 24.0, 3.0),
        Hump("stirring action", "fold", 0.4),
    )
    nothing = read_guess(FACTORS, {"temperature": Typed(True), "oil exposure time": Typed(False, "x")}, 90, Shown())
    assert nothing is not None
    assert nothing.humps == (Hump("temperature", None, None),)


def test_a_guess_is_read_in_the_unit_that_is_liked() -> None:
    # NIST SP 811: t(F) = 1.8 t(C) + 32, and a difference of 18 F is one of 10 C.
    liked = Shown(temperature="F")
    guess = read_guess((TEMPERATURE,), {"temperature": Typed(True, "320", "18")}, 90, liked)
    assert guess is not None
    assert guess.humps[0].place == pytest.approx(160.0)
    assert guess.humps[0].width == pytest.approx(10.0)
    assert guess_lines((TEMPERATURE,), {}, liked)[0].width_unit == "°F"


@pytest.mark.parametrize(
    ("name", "place", "width"),
    [
        ("temperature", "99", ""),
        ("temperature", "warm", ""),
        ("temperature", "", "0"),
        ("temperature", "", "-3"),
        ("oil exposure time", "", "1"),
        ("stirring action", "fold", "140"),
    ],
)
def test_what_makes_no_guess_is_refused_with_its_reason(name: str, place: str, width: str) -> None:
    typed = {name: Typed(True, place, width)}
    assert read_guess(FACTORS, typed, 90, Shown()) is None
    problems = {line.name: line.problem for line in guess_lines(FACTORS, typed, Shown())}
    assert problems.pop(name)
    assert set(problems.values()) == {""}


# -- playing and its record ------------------------------------------------------------------------


def play(analysis: Analysis, folder: Path, document: Document, asked: Asked = TINY, **others: Any) -> Answer:
    """Play here, with one process."""
    told, stop, token = (others.pop(name, None) for name in ("told", "stop", "token"))
    playing = Playing(analysis, asked, folder, document.now(), jobs=1, **others)
    tell = (lambda _answer: None) if told is None else told
    return play_on(playing, tell, stop or CancelToken(), token or CancelToken())


def test_what_is_stopped_is_kept_and_gone_on_with(
    analysis: Analysis, folder: Path, document: Document, clock: FixedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal_asking, "_TELL_S", 0.0)
    assert look_up(analysis, TINY, folder, CancelToken()).done == 0
    stop, heard = CancelToken(), []

    def tell(answer: Answer) -> None:
        heard.append(answer.done)
        if answer.done == 2:
            stop.cancel()

    first = play(analysis, folder, document, told=tell, stop=stop)
    assert (first.done, first.of, heard) == (2, 4, [0, 1, 2])
    assert first.rehearsed is not None
    assert not first.rehearsed.is_whole
    clock.advance(hours=50)  # a later day finds the same record by what was asked
    kept = look_up(analysis, TINY, folder, CancelToken())
    assert (kept.key, kept.done) == (first.key, 2)
    heard.clear()
    second = play(analysis, folder, document, told=lambda answer: heard.append(answer.done))
    assert (heard, second.done) == ([2, 3, 4], 4)
    assert second.rehearsed is not None
    assert second.rehearsed.is_whole
    assert second.rehearsed.begun_at == first.rehearsed.begun_at, "weeks count from where it began"
    fewer = look_up(analysis, replace(TINY, campaigns=1), folder, CancelToken())
    assert (fewer.key, fewer.done, fewer.of) == (second.key, 2, 2)
    anew = play(analysis, folder, document, anew=True)
    assert anew.rehearsed is not None
    assert anew.rehearsed.begun_at > second.rehearsed.begun_at
    assert len(list(folder.iterdir())) == 1


def test_what_nobody_waits_for_any_more_is_dropped_and_stays_in_its_record(
    analysis: Analysis, folder: Path, document: Document, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal_asking, "_TELL_S", 0.0)
    token = CancelToken()

    def tell(answer: Answer) -> None:
        if answer.done == 1:
            token.cancel()

    with pytest.raises(Cancelled):
        play(analysis, folder, document, told=tell, token=token)
    assert look_up(analysis, TINY, folder, CancelToken()).done == 1


def test_another_question_has_another_record_and_a_broken_one_is_begun_anew(
    analysis: Analysis, folder: Path, document: Document
) -> None:
    one = replace(TINY, campaigns=1, orders=("random",), most=1)
    first = play(analysis, folder, document, one)
    assert look_up(analysis, replace(one, campaigns=3), folder, CancelToken()).key == first.key
    for other in (replace(one, seed=1), replace(one, target=0.8), replace(one, most=2)):
        assert look_up(analysis, other, folder, CancelToken()).key != first.key
    (record,) = folder.iterdir()
    record.write_text("not a record\n", encoding="utf-8")
    assert look_up(analysis, one, folder, CancelToken()).done == 0
    assert play(analysis, folder, document, one).done == 1


def test_old_records_make_room(
    analysis: Analysis, folder: Path, document: Document, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsal_asking, "_MOST_RECORDS", 2)
    one = replace(TINY, campaigns=1, orders=("random",), most=1)
    keys = [play(analysis, folder, document, replace(one, seed=seed)).key for seed in (1, 2, 3)]
    assert len(list(folder.iterdir())) == 2
    assert keys[-1] in {path.stem for path in folder.iterdir()}


def test_records_are_kept_where_the_program_keeps_its_settings(settings_dir: Path) -> None:
    assert records_folder() == settings_dir / "rehearsals"


def test_for_a_metal_that_may_not_be_aged_the_words_of_the_engine_stand(
    tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock
) -> None:
    settings = replace(campaign_settings, material=MaterialClass.SUPEROXIDE_FORMER)
    with an_evening(tmp_path, settings, clock) as document:
        answer = play(analyse(document.state), tmp_path, document, replace(TINY, campaigns=1))
    assert answer.rehearsed is not None
    told = " ".join(shown_of(answer.rehearsed, WEEKS, ".").assumed)
    assert "never aged on purpose" in told
    assert "jars are started" not in told


# -- the view-model --------------------------------------------------------------------------------


@dataclass
class Waiting:
    """A job that waits until it is let go."""

    job: Callable[[CancelToken], Any]
    done: Callable[[Any], None]
    failed: Callable[[Exception], None] | None
    token: CancelToken = field(default_factory=CancelToken)
    is_finished: bool = False

    def cancel(self) -> None:
        self.token.cancel()


class HoldingExecutor:
    """Runs all jobs at once but for those that play campaigns, which are held."""

    def __init__(self) -> None:
        self.held: list[Waiting] = []

    def submit(
        self,
        job: Callable[[CancelToken], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> Waiting:
        handle = Waiting(job, done, failed)
        if getattr(job, "func", None) is play_on:
            self.held.append(handle)
        else:
            done(job(handle.token))
        return handle


@pytest.fixture
def holding() -> HoldingExecutor:
    return HoldingExecutor()


@pytest.fixture
def ticks() -> list[float]:
    return [0.0]


@pytest.fixture
def model(
    holding: HoldingExecutor, document: Document, folder: Path, ticks: list[float], themed: QApplication
) -> Iterator[RehearsalModel]:
    workspace = Workspace(holding)
    made = RehearsalModel(workspace, folder=folder, jobs=1, clock=lambda: ticks[0])
    workspace.open_document(document)
    made.set_shown(True)
    yield made
    workspace.close_document()


def test_it_asks_for_the_target_of_the_plan_until_another_is_chosen(model: RehearsalModel) -> None:
    assert (model.state.target, model._asked.target) == (90, None)
    model.step_target(-2)
    assert (model.state.target, model._asked.target) == (88, 0.88)
    model.step_target(2)
    assert model._asked.target is None
    model.step_campaigns(1)
    model.step_most(-1)
    model.step_seed(-1)
    assert (model.state.campaigns, model.state.most, model.state.seed) == (100, 20, 0)
    model.step_campaigns(-99)
    assert model.state.campaigns == CAMPAIGN_STEPS[0]


def test_without_an_order_nothing_can_be_rehearsed_and_it_says_so(model: RehearsalModel) -> None:
    for choice in model.state.orders:
        model.want_order(choice.order, False)
    assert (model.state.can_rehearse, model.rehearse()) == (False, False)
    assert model.state.message == "Tick at least one order."
    model.want_order("repeat the best", True)
    model.want_order("random", True)
    assert model._asked.orders == ("random", "repeat the best")
    assert (model.state.message, model.state.can_rehearse) == ("", True)


def test_a_guess_that_cannot_be_read_is_told_and_holds_the_start(model: RehearsalModel) -> None:
    model.choose_source(GUESS)
    model.guess("temperature", matters=True, width="x")
    assert not model.state.can_rehearse
    assert model.state.message
    model.guess("temperature", width="10")
    model.step_best(-5)
    wanted = model._wanted()
    assert wanted is not None
    assert wanted.guess is not None
    assert (wanted.guess.best, wanted.guess.humps) == (0.9, (Hump("temperature", None, 10.0),))


def test_progress_is_told_with_the_time_that_is_left(model: RehearsalModel, ticks: list[float]) -> None:
    states: list[RehearsalState] = []
    model.changed.connect(states.append)
    assert model.rehearse()
    assert model.state.is_running
    assert model.state.progress == "Starting to play 200 campaigns…"
    assert not model.rehearse(), "one at a time"
    for done, at in ((0, 0.0), (20, 60.0)):
        ticks[0] = at
        model._hear(model._run, Answer("k", done, 200, (), None))
    assert model.state.progress == "20 of 200 campaigns are played, about 9 min left."
    model.step_seed(1)
    assert model.state.seed == 0, "nothing is changed while it runs"
    model.stop()
    assert (model.state.is_stopping, model.state.progress) == (True, "Stopping. 20 of 200 campaigns are kept.")
    assert len(states) >= 4


def test_a_rehearsal_is_played_to_its_end_and_found_again(model: RehearsalModel, holding: HoldingExecutor) -> None:
    model._want(TINY)
    assert model.rehearse()
    (job,) = holding.held
    job.done(job.job(job.token))
    state = model.state
    assert (state.is_running, state.done, state.of, state.is_stale) == (False, 4, 4, False)
    assert state.results is not None
    assert [line.order for line in state.results.lines] == ["space filling", "random"]
    assert not state.is_open, "the results come first"
    model.step_seed(1)
    assert (model.state.is_stale, model.state.stale) == (True, "These results are of what was asked before.")
    assert model.state.can_rehearse
    model.step_seed(-1)
    assert (model.state.is_stale, model.state.done) == (False, 4)
    model.step_campaigns(1)
    assert model.state.can_go_on, "more campaigns go on from those that are kept"


def test_results_are_grey_once_the_attempts_have_changed(model: RehearsalModel) -> None:
    model._take(of_hand(model))
    assert not model.state.is_stale
    model.workspace.execute(RecordAttempt(Attempt("", 0, Conditions({"temperature": 150.0}), parted=Parted.NO)))
    assert model.state.is_stale
    assert model.state.stale == "The attempts have changed since this was rehearsed."
    model.workspace.undo()
    assert not model.state.is_stale
    model.rehearse()
    model.workspace.execute(RecordAttempt(Attempt("", 0, Conditions({"temperature": 150.0}), parted=Parted.NO)))
    assert model.is_running, "what was begun goes on"
    assert model.state.stale == "The attempts have changed since this was rehearsed."


def test_a_closed_document_cancels_the_work_and_drops_what_comes_late(
    model: RehearsalModel, holding: HoldingExecutor, document: Document
) -> None:
    assert model.rehearse()
    (job,), run = holding.held, model._run
    model.workspace.close_document()
    assert job.token.is_cancelled
    assert (model.is_running, model.state) == (False, RehearsalState())
    late = Answer("k", 3, 200, (), rehearsed_by_hand())
    with Document.open(document.path) as again:
        model.workspace.open_document(again)
        model._hear(run, late)
        model._played(run, late)
        job.done(late)
        assert (model.state.results, model.state.done) == (None, 0)
        assert model.rehearse()
        model._hear(run, late)
        model._played(run, late)
        assert (model.is_running, model.state.results, model.state.done) == (True, None, 0)
        model.workspace.close_document()


def test_the_end_is_told_to_who_looks_elsewhere(model: RehearsalModel, holding: HoldingExecutor) -> None:
    notices: list[Notice] = []
    pages: list[str] = []
    model.workspace.notified.connect(notices.append)
    model.workspace.page_requested.connect(pages.append)
    model.rehearse()
    model.set_shown(False)
    (job,) = holding.held
    job.done(of_hand(model))
    assert [notice.text for notice in notices] == ["The rehearsal is over: 200 campaigns are played."]
    assert notices[0].on_act is not None
    notices[0].on_act()
    assert pages == ["plan"]


def test_trouble_is_told_where_the_rehearsal_stands(
    model: RehearsalModel, holding: HoldingExecutor, folder: Path
) -> None:
    folder.write_text("a file where the folder should be", encoding="utf-8")
    assert model.rehearse()
    (job,) = holding.held
    with pytest.raises(StirfallError) as caught:
        job.job(job.token)
    assert job.failed is not None
    job.failed(caught.value)
    assert not model.is_running
    assert str(folder) in model.state.message


def test_it_works_on_a_thread_and_tells_the_window_how_far_it_is(
    document: Document, folder: Path, qtbot: QtBot, themed: QApplication
) -> None:
    executor = QtExecutor()
    workspace = Workspace(executor)
    made = RehearsalModel(workspace, folder=folder, jobs=1)
    workspace.open_document(document)
    made.set_shown(True)
    qtbot.waitUntil(lambda: made.state.may_ask, timeout=20_000)
    made._want(replace(TINY, campaigns=1))
    assert made.rehearse()
    qtbot.waitUntil(lambda: not made.is_running, timeout=20_000)
    assert (made.state.done, made.state.results is not None) == (2, True)
    workspace.close_document()
    executor.close()


# -- pictures --------------------------------------------------------------------------------------


def test_steps_hold_until_the_next_campaign_is_done() -> None:
    x, done = corners((0.0, 2.0, 5.0), (0.0, 0.4, 1.0))
    assert x.tolist() == [0.0, 2.0, 2.0, 5.0, 5.0]
    assert done.tolist() == [0.0, 0.0, 0.4, 0.4, 1.0]


def test_names_are_kept_apart_and_inside() -> None:
    places = spread([10.0, 10.0, 12.0, 95.0, 99.0], 10.0, 5.0, 100.0)
    assert min(b - a for a, b in zip(sorted(places), sorted(places)[1:], strict=False)) >= 10.0 - 1e-9
    assert (min(places) >= 5.0, max(places) <= 100.0) == (True, True)
    assert spread([20.0, 60.0], 10.0, 0.0, 100.0) == [20.0, 60.0]


def test_lines_are_told_apart_without_colour() -> None:
    patterns = [tuple(pen_of(style, LIGHT).dashPattern()) for style in range(len(ORDER_WORDS))]
    assert len(set(patterns)) == len(ORDER_WORDS)


# -- the window ------------------------------------------------------------------------------------


@pytest.fixture
def section(model: RehearsalModel, put_on_screen: Callable[..., RehearsalSection]) -> RehearsalSection:
    return put_on_screen(RehearsalSection(model.workspace, model=model), 600, 620)


def test_the_empty_section_teaches_and_begins_with_one_press(
    section: RehearsalSection, holding: HoldingExecutor
) -> None:
    assert "Press “Rehearse”" in section.teaches.text()
    assert (section.plot.isVisible(), section.controls.isVisible()) == (False, True)
    QTest.mouseClick(section.controls.target.less, LEFT)
    assert section.controls.target.value.text() == "89\u202f%"
    box = section.controls.orders.boxes["random"]
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Space)
    assert "random" in section.model._asked.orders
    fronts: list[bool] = []
    section.model.front_wanted.connect(lambda: fronts.append(True))
    section.start.setFocus()
    QTest.mouseClick(section.start, LEFT)
    assert section.focusWidget() is section.stop
    assert (len(holding.held), len(fronts)) == (1, 1)
    assert (section.start.isVisible(), section.stop.isVisible(), section.bar.isVisible()) == (False, True, True)
    QTest.mouseClick(section.stop, LEFT)
    assert section.model.state.is_stopping
    assert not section.stop.isEnabled()


def test_results_are_shown_by_attempts_or_weeks_and_told_card_by_card(section: RehearsalSection) -> None:
    model = section.model
    model._take(of_hand(model))
    assert section.plot.isVisible()
    assert not section.controls.isVisible()
    assert "Planned to learn: 90" in section.plot.accessibleDescription()
    first, second = section.cards.cards[:2]
    assert first.large.text() == "5 attempts"
    assert "95" in first.accessibleDescription()
    QTest.mouseClick(section.measure.button(WEEKS), LEFT)
    assert first.large.text() == "2.5 weeks"
    assert "weeks" in section.plot.accessibleDescription()
    first.setFocus()
    QTest.keyClick(first, Qt.Key.Key_Down)
    assert section.focusWidget() is second
    QTest.mouseClick(section.choices, LEFT)
    assert section.controls.isVisible()
    QTest.mouseClick(section.controls.seed.more, LEFT)
    assert section.stale.isVisible()
    assert first.middle.property("textRole") == "muted"


def test_a_guess_is_stated_with_clicks_and_keys(section: RehearsalSection) -> None:
    controls, model = section.controls, section.model
    QTest.mouseClick(controls.source.button(GUESS), LEFT)
    laid_out(section)
    row = controls.guess.rows["temperature"]
    row.matters.setFocus()
    QTest.keyClick(row.matters, Qt.Key.Key_Space)
    laid_out(section)
    row.place.setFocus()
    QTest.keyClicks(row.place, "999")
    assert row.problem.isVisible()
    assert not section.start.isEnabled()
    row.place.selectAll()
    QTest.keyClicks(row.place, "150")
    assert not row.problem.isVisible()
    assert section.start.isEnabled()
    wanted = model._wanted()
    assert wanted is not None
    assert wanted.guess is not None
    assert wanted.guess.humps == (Hump("temperature", 150.0, None),)


def test_all_is_named_reached_and_whole_in_each_state(section: RehearsalSection, qapp: QApplication) -> None:
    model = section.model
    model.choose_source(GUESS)
    model.guess("temperature", matters=True)
    assert_whole(section)
    model._take(of_hand(model, whole=False))
    model.toggle_choices()
    assert_whole(section)
    for theme, scale, width in ((DARK, 1.0, 560), (HIGH_CONTRAST, 2.0, 760)):
        apply_theme(qapp, theme, scale)
        model.workspace.set_theme(theme)
        section.resize(width, 620)
        assert_whole(section)
    apply_theme(qapp, LIGHT)


def assert_whole(section: RehearsalSection) -> None:
    laid_out(section)
    assert (nameless(section), silent_pictures(section), cut_texts(section)) == ([], [], [])
    small = [
        act.objectName() for act in section.findChildren(QAbstractButton) if act.isVisible() and act.height() < 44
    ]
    assert small == []
    stops = wanted_stops(section)
    next(iter(stops)).setFocus()
    assert stops - set(walk(section)) == set()


def test_the_plan_page_holds_it_and_says_what_is_missing_without_a_session(
    put_on_screen: Callable[..., PlanPage], workspace: Workspace
) -> None:
    page = put_on_screen(PlanPage(workspace), 600, 620)
    page.show_section("rehearsal")
    assert page.rehearsal.message.text().startswith("Open a session")
    page.show_section("tonight")
    page.rehearsal.model.come_to_front()
    assert page.section == "rehearsal"
