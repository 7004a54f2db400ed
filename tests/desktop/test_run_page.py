"""The run page under real keys and presses, in every size, scale and theme.

Targets of 20 mm with gaps of 3 mm, at 96 pixels to the inch, signs from 24 pixels and digits from 80 are what a
run that is read at arm's length and pressed with gloves is held to: no source outside the project. The ratio of
contrast is that of WCAG 2.2, 1.4.6. For the rest there is no source either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median
from time import process_time
from typing import TYPE_CHECKING, TypeVar

import pytest
from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtGui import QColor, QImage, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from small_campaigns import one_jar

from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import CampaignSettings
from stirfall.bench.running import EventKind, Step
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.run.big_button import BigButton
from stirfall.desktop.run.keys import Once
from stirfall.desktop.run.page import RunPage
from stirfall.desktop.run.shapes import Shape
from stirfall.desktop.run.steps_part import Here, StepsLine
from stirfall.desktop.run.timer_part import StepTime, clock_face
from stirfall.desktop.theme import LIGHT, THEMES, apply_theme, contrast
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence
from stirfall.session.clock import FixedClock
from stirfall.session.commands import SetAnchor
from stirfall.session.document import Document
from stirfall.session.run_shown import RunView

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

W = TypeVar("W", bound=QWidget)
TARGET_PX, GAP_PX, DIGIT_PX, SIGN_PX = 76, 12, 80, 24
SIZES = ((1280, 640), (800, 1200), (1920, 1000))  # what a window of 1280x720, 800x1280 and 1920x1080 leaves
SCALES = (1.0, 1.5, 2.0)


class Bench:
    """A run page on the screen, over a file, with a clock that moves when told; presses are 1 s apart."""

    def __init__(self, page: RunPage, clock: FixedClock) -> None:
        self.page, self.clock, self.now_s = page, clock, 0.0
        page.once = {act: Once(lambda: self.now_s) for act in page.once}

    @property
    def view(self) -> RunView:
        assert self.page.model.view is not None
        return self.page.model.view

    def shows_its_title(self) -> bool:
        title = sentence(self.view.title.code, self.view.title.params)
        return self.text("run_title") == f"{title} · jar J1"

    def is_at(self, step: Step) -> bool:
        return self.view.step is step

    @property
    def document(self) -> Document:
        assert self.page.workspace.document is not None
        return self.page.workspace.document

    def find(self, kind: type[W], name: str) -> W:
        found = self.page.findChild(kind, name)
        assert found is not None, name
        return found

    def text(self, name: str) -> str:
        return self.find(QLabel, name).text().replace("\u202f", " ").replace("\u00a0", " ")

    def key(self, *keys: Qt.Key, apart_s: float = 1.0) -> None:
        """Press keys, which go where the keyboard is."""
        for key in keys:
            self.now_s += apart_s
            target = QApplication.focusWidget()
            assert target is not None
            QTest.keyClick(target, key)

    def type(self, text: str) -> None:
        for letter in text:
            target = QApplication.focusWidget()
            assert target is not None
            QTest.keyClicks(target, letter)

    def click(self, name: str) -> None:
        self.now_s += 1.0
        button = self.find(BigButton, name)
        assert button.isVisible(), name
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)

    def wait(self, seconds: float) -> None:
        self.clock.advance(seconds=seconds)
        self.page.model.look()

    def go_to(self, step: Step) -> None:
        """Walk to a step; where the metal is lifted, it is read as cold."""
        while self.view.step is not step:
            self.wait(1.0)
            if self.view.step in (Step.COOL, Step.LIFT):
                self.page.model.read_temperature("30")
            if self.view.step is Step.GRADE:
                self.page.model.grade(4)
            if self.view.step is Step.WEIGH:
                self.page.model.form.give_limit_reason("a test")
            assert self.page.model.next(), self.view.blocked

    def words(self, kind: EventKind) -> list[str]:
        return [event.word for event in self.document.state.runs[-1].events if event.kind is kind]


@pytest.fixture
def bench(
    workspace: Workspace,
    tmp_path: Path,
    campaign_settings: CampaignSettings,
    clock: FixedClock,
    put_on_screen: Callable[[QWidget, int, int], QWidget],
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Bench]:
    """A run with an additive, at its first step, on a screen of 1280 x 640; the odds are not asked for."""
    monkeypatch.setattr(workspace, "refresh", lambda: None)
    workspace.open_document(one_jar(tmp_path, campaign_settings, clock))
    form = BenchFormModel(workspace)
    page = RunPage(workspace, form)
    page.model._timer.setInterval(3_600_000)
    form.pick_jar("J1")
    for name, text in (("temperature", "150"), ("stirring time", "150"), ("additive dose", "10")):
        form.type_value(name, text)
    form.choose("additive", "additive A")
    assert page.model.begin()
    put_on_screen(page, *SIZES[0])
    yield Bench(page, clock)
    apply_theme(QApplication.instance(), LIGHT)  # type: ignore[arg-type]  # it is a QApplication


# ------------------------------------------------------------------------------------------------ keys


def test_space_goes_on_and_backspace_goes_back(bench: Bench) -> None:
    bench.key(Qt.Key.Key_Space)
    assert bench.is_at(Step.HEAT)
    assert bench.shows_its_title()
    bench.key(Qt.Key.Key_Backspace)
    assert bench.is_at(Step.CHECKS)


def test_a_double_press_and_a_held_key_do_not_skip_a_step(bench: Bench) -> None:
    bench.key(Qt.Key.Key_Space)
    bench.key(Qt.Key.Key_Space, apart_s=0.29)
    assert bench.is_at(Step.HEAT)
    bench.now_s += 5.0
    held = QKeyEvent(QEvent.Type.KeyPress, Qt.Key.Key_Space, Qt.KeyboardModifier.NoModifier, " ", True)
    QApplication.sendEvent(bench.page, held)
    assert bench.is_at(Step.HEAT)
    bench.key(Qt.Key.Key_Space)
    assert bench.is_at(Step.HOLD)


def test_a_button_reached_by_tab_is_pressed_once_and_gives_the_keyboard_back(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    for _ in range(40):
        bench.key(Qt.Key.Key_Tab)
        focus = QApplication.focusWidget()
        assert focus is not None
        if focus.objectName() == "run_spill":
            break
    bench.key(Qt.Key.Key_Space)
    assert bench.words(EventKind.MARK) == ["spill"]
    assert QApplication.focusWidget() is bench.page
    bench.key(Qt.Key.Key_Space)
    assert bench.words(EventKind.MARK) == ["spill"]


def test_letters_and_enter_mark_what_was_seen(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    bench.key(Qt.Key.Key_Return)
    bench.key(Qt.Key.Key_M, Qt.Key.Key_S, Qt.Key.Key_L, Qt.Key.Key_P)
    assert bench.words(EventKind.MARK) == ["first powder", "first merging", "smoke", "spill", "first powder"]
    assert "first merging" in bench.text("run_mark_4")


def test_digits_then_enter_are_a_reading_and_escape_throws_nothing_away(bench: Bench) -> None:
    bench.go_to(Step.HEAT)
    bench.type("15")
    bench.key(Qt.Key.Key_Escape)
    assert bench.page.typed() == "15 °C"
    bench.key(Qt.Key.Key_Space)
    assert bench.is_at(Step.HEAT), "a half-typed number is not left behind"
    assert "not taken yet" in bench.text("run_blocked")
    bench.type("9")
    bench.key(Qt.Key.Key_Backspace)
    bench.type("2,5")
    assert bench.find(BigButton, "run_mark").text().replace("\u00a0", " ") == "Take 152,5 °C"
    bench.key(Qt.Key.Key_Return)
    assert bench.view.reading is not None
    assert bench.view.reading.value_c == 152.5
    assert bench.page.typed() == ""
    assert bench.words(EventKind.MARK) == []


def test_a_reading_that_cannot_be_read_stays_in_its_line(bench: Bench) -> None:
    bench.go_to(Step.HEAT)
    bench.type("9999")
    bench.key(Qt.Key.Key_Return)
    assert bench.view.reading is None
    assert bench.page.typed() == "9999 °C"


def test_one_rub_out_too_many_in_the_line_leads_nowhere(bench: Bench) -> None:
    bench.go_to(Step.HEAT)
    bench.find(QWidget, "run_reading").setFocus()
    bench.type("1")
    bench.key(Qt.Key.Key_Backspace, Qt.Key.Key_Backspace)
    assert bench.is_at(Step.HEAT)
    bench.key(Qt.Key.Key_Space)
    assert bench.is_at(Step.HOLD), "in the line too, the space goes on"


def test_one_to_four_grade_in_the_grade_step_only(bench: Bench) -> None:
    bench.go_to(Step.GRADE)
    bench.key(Qt.Key.Key_5, Qt.Key.Key_2, Qt.Key.Key_3)
    assert bench.view.grade == 3
    assert [bench.find(BigButton, f"run_grade_{n}").isChecked() for n in (1, 2, 3, 4)] == [
        False,
        False,
        True,
        False,
    ]
    bench.click("run_grade_4")
    assert bench.view.grade == 4


def test_a_note_is_typed_in_its_panel_and_kept_when_the_panel_is_closed(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    bench.key(Qt.Key.Key_N)
    bench.type("lid slipped 3 s")
    bench.key(Qt.Key.Key_Escape)
    assert bench.words(EventKind.MARK) == []
    bench.click("run_note")
    bench.type(" twice")
    bench.key(Qt.Key.Key_Return)
    notes = [event.text for event in bench.document.state.runs[-1].events if event.kind is EventKind.NOTE]
    assert notes == ["lid slipped 3 s twice"]
    assert QApplication.focusWidget() is bench.page


def test_giving_up_asks_for_a_reason_and_is_far_from_going_on(bench: Bench) -> None:
    bench.go_to(Step.HEAT)
    bench.click("run_give_up")
    assert not bench.find(BigButton, "run_give_up_now").isEnabled()
    bench.key(Qt.Key.Key_Escape)
    assert bench.view.given_up == ""
    bench.click("run_give_up")
    bench.type("oil smells burnt")
    bench.key(Qt.Key.Key_Return)
    assert bench.view.given_up == "", "Enter does not end a run"
    bench.click("run_give_up_now")
    assert bench.view.given_up == "oil smells burnt"
    assert bench.is_at(Step.CLOSE)
    assert bench.document.state.attempts[-1].aborted


def test_the_step_just_begun_is_taken_back_by_undo_with_its_name(bench: Bench) -> None:
    bench.key(Qt.Key.Key_Space)
    assert f"Ctrl+Z: undo {bench.document.undo_name}" in bench.text("run_last_done")
    bench.page.workspace.undo()
    assert bench.is_at(Step.CHECKS)
    assert bench.shows_its_title()


def test_masses_go_from_line_to_line_and_space_records_them(bench: Bench) -> None:
    bench.go_to(Step.WEIGH)
    weigh = bench.page.middle.weigh
    assert QApplication.focusWidget() is weigh.lines["charge_g"]
    weigh.lines["charge_g"].selectAll()
    bench.type("10.2")
    bench.key(Qt.Key.Key_Return)
    bench.type("8.1")
    bench.key(Qt.Key.Key_Return, Qt.Key.Key_Return)
    bench.type("1.3")
    bench.click("run_oil_1")
    bench.key(Qt.Key.Key_Space)
    attempt = bench.document.state.attempts[-1]
    assert (attempt.masses.charge_g, attempt.masses.product_g, attempt.masses.residue_g) == (10.2, 8.1, 1.3)
    assert attempt.masses.beads_g is None, "what was not weighed is not known"
    assert attempt.sheet.oil_removed == "wiped"
    assert attempt.outcome is Outcome.CLEAN
    assert bench.is_at(Step.CLOSE)


def test_a_warning_wants_its_reason_before_the_record(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    bench.page.model.read_temperature("181")
    bench.page.model.read_temperature("150")
    bench.go_to(Step.WEIGH)
    bench.key(Qt.Key.Key_Space)
    assert bench.is_at(Step.WEIGH)
    assert QApplication.focusWidget() is bench.find(QWidget, "run_limit_reason")
    bench.type("plate ran away")
    bench.key(Qt.Key.Key_Return, Qt.Key.Key_Space)
    assert bench.is_at(Step.CLOSE)
    assert {found.reason for found in bench.document.state.attempts[-1].facts.accepted} == {"plate ran away"}


def test_tares_and_what_was_reached_can_be_put_right(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    bench.wait(171.0)
    bench.go_to(Step.WEIGH)
    bench.key(Qt.Key.Key_T)
    weigh, reached = bench.page.middle.weigh, bench.page.middle.reached
    weigh.lines["product_g"].setFocus()
    bench.type("30.5")
    bench.key(Qt.Key.Key_Return)
    assert QApplication.focusWidget() is weigh.tares["product_g"]
    bench.type("22")
    line = reached.lines["stirring time"]
    assert line.text() == "172"
    line.setFocus()
    line.selectAll()
    bench.type("160")
    bench.key(Qt.Key.Key_Space)
    attempt = bench.document.state.attempts[-1]
    assert attempt.masses.product_g == pytest.approx(8.5)
    assert attempt.conditions["stirring time"] == 160.0


def test_the_closing_list_is_ticked_by_enter_and_answered_by_digits(bench: Bench) -> None:
    bench.go_to(Step.CLOSE)
    bench.key(Qt.Key.Key_Space)
    assert bench.page.is_on, "the list cannot be skipped"
    for key in (Qt.Key.Key_Return, Qt.Key.Key_1, Qt.Key.Key_2):
        bench.key(key)
        for _ in range(3):
            QApplication.processEvents()
        waiting = bench.page.middle.list.open_line
        assert waiting is not None
        part = bench.page.middle.list.lines[waiting.key]
        assert part.visibleRegion().boundingRect().height() >= part.height() - 1, "what comes next is in view"
    bench.key(Qt.Key.Key_Return)
    assert all(line.is_done for line in bench.view.closing)
    bench.key(Qt.Key.Key_Space)
    assert bench.page.model.view is None
    assert bench.document.state.runs[-1].ended_at is not None


def test_a_question_after_a_break_comes_before_all_else(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    bench.page.model._take_up()
    asked = bench.find(QWidget, "run_questions")
    assert asked.isVisible()
    assert not bench.find(QWidget, "run_title").isVisible()
    bench.key(Qt.Key.Key_Space)
    assert bench.is_at(Step.STIR)
    count = len(bench.view.questions)
    bench.key(Qt.Key.Key_1)
    assert len(bench.view.questions) == count - 1
    for _ in range(count - 1):
        bench.click("run_answer_1")
    assert bench.view.questions == ()
    assert not asked.isVisible()
    assert bench.find(QWidget, "run_title").isVisible()


def test_acts_of_a_scanned_card_reach_the_run(bench: Bench) -> None:
    act = bench.page.workspace.request_act
    act("NEXT")
    act("NEXT")
    assert bench.is_at(Step.HEAT), "a foot switch that bounces skips no step"
    act("BACK")
    assert bench.is_at(Step.CHECKS)
    assert bench.shows_its_title()
    bench.go_to(Step.STIR)
    act("MARK")
    assert bench.words(EventKind.MARK) == ["first powder"]
    bench.go_to(Step.GRADE)
    act("G2")
    assert bench.view.grade == 2
    act("DONE")
    assert bench.is_at(Step.GRADE)


# ------------------------------------------------------------------------------------------------ looks


def test_a_danger_names_the_act_with_shape_and_word_until_it_is_over(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    bench.page.model.read_temperature("181")
    danger = bench.find(QLabel, "run_danger_text")
    assert danger.isVisible()
    assert danger.text().startswith("Danger: ")
    assert "Stop the heat now" in danger.text()
    assert danger.font().pixelSize() >= SIGN_PX
    assert bench.page.danger.sign.shape is Shape.DANGER
    assert not bench.find(BigButton, "run_danger_over").isVisible(), "a reading is not over by being told so"
    bench.page.model.read_temperature("150")
    bench.key(Qt.Key.Key_S)
    assert "Smoke" in danger.text()
    bench.key(Qt.Key.Key_O)
    assert not danger.isVisible()


def test_the_classes_show_the_photos_that_they_were_agreed_on(bench: Bench, qtbot: QtBot, tmp_path: Path) -> None:
    picture = QImage(300, 200, QImage.Format.Format_RGB32)
    picture.fill(QColor(120, 120, 120))
    path = tmp_path / "clean.png"
    assert picture.save(str(path))
    bench.document.execute(SetAnchor(Outcome.CLEAN, path.name, "image/png", path.read_bytes()))
    before = bench.find(BigButton, "run_grade_4").heightForWidth(300)
    bench.go_to(Step.GRADE)
    qtbot.waitUntil(lambda: bench.text("run_same_as_photo") == "Same as the photo?", timeout=2000)
    assert bench.find(BigButton, "run_grade_4").heightForWidth(300) > before + 100
    assert bench.find(BigButton, "run_grade_1").heightForWidth(300) == before


def test_the_time_is_large_does_not_jump_and_is_spoken_by_the_minute(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    timer = bench.page.side.timer
    assert timer.digits.digit_height() >= DIGIT_PX
    assert len({timer.digits._place(place).width() for place in (0, 2, 3)}) == 1
    width = timer.digits.minimumSizeHint().width()
    spoken = set()
    for _ in range(59):
        bench.wait(1.0)
        spoken.add(timer.accessibleDescription())
        assert timer.digits.minimumSizeHint().width() == width
    assert len(spoken) <= 2
    assert timer.digits.text == "1:31"
    bench.wait(100.0)
    assert bench.text("run_left") == "Overdue by"
    assert timer.digits.text == "0:09"
    assert timer.sign.isVisible()
    assert "over" in timer.accessibleDescription()


def test_clock_faces() -> None:
    assert [clock_face(seconds) for seconds in (0, 59, 600, 3599, 3600, 7325)] == [
        "0:00",
        "0:59",
        "10:00",
        "59:59",
        "1:00:00",
        "2:02:05",
    ]
    assert StepTime(elapsed_s=12).large == 12
    assert StepTime(12, 60, 48).large == 48
    assert StepTime(70, 60, 0, is_due=True, overdue_s=10).large == 10


def test_the_steps_say_where_one_is_with_shapes_where_words_do_not_fit(themed: QApplication) -> None:
    line = StepsLine()
    here = Here(("Checks", "Heat", "Hold", "Stir", "Settle", "Cool", "Lift", "Grade", "Weigh", "Close"), 3)
    line.show_here(here)
    assert line.accessibleName() == "Step 4 of 10: Stir now, next Settle"
    assert line.shown_words(2000) == here.names
    narrow = line.shown_words(450)
    assert (narrow[3], narrow[4], narrow[0], narrow[9]) == ("Stir", "Settle", "", "")


def test_colours_of_the_run_have_the_contrast_of_the_bench() -> None:
    for theme in THEMES.values():
        grounds = ((theme.text, theme.surface), (theme.text, theme.raised), (theme.text, theme.caution_surface))
        inks = ((theme.on_accent, theme.accent), (theme.text, theme.band), (theme.muted, theme.raised))
        for ink, ground in (*grounds, *inks, (theme.danger, theme.raised)):
            assert contrast(ink, ground) >= 7.0, (theme.name, ink, ground)


@pytest.mark.parametrize("scale", SCALES)
def test_nothing_is_cut_at_any_size(bench: Bench, scale: float) -> None:
    apply_theme(QApplication.instance(), THEMES["dark"], scale)  # type: ignore[arg-type]  # it is a QApplication
    bench.page.apply_theme(THEMES["dark"])
    steps = (Step.CHECKS, Step.STIR, Step.GRADE, Step.WEIGH, Step.CLOSE)
    for step in steps if scale != 1.5 else (Step.STIR, Step.WEIGH):
        bench.go_to(step)
        if step is Step.STIR:
            bench.page.model.read_temperature("181")
        for width, height in SIZES:
            bench.page.resize(width, height)
            for _ in range(6):
                QApplication.processEvents()
            assert bench.page.size().toTuple() == (width, height)
            check_fit(bench.page, f"{step} {width}x{height} {scale}")
        if step is Step.STIR:
            bench.page.model.read_temperature("150")


def check_fit(page: RunPage, where: str) -> None:
    """Check that what must not scroll is whole in view, and that pressing is for gloves."""
    for label in page.findChildren(QLabel):
        if label.isVisible() and label.text() and label.wordWrap():
            assert label.height() + 1 >= label.heightForWidth(label.width()), f"{where} {label.text()}"
    fixed: list[QWidget] = [page.foot.next, page.foot.back, page.head.give_up, page.head.pages]
    fixed += [page.side.timer] if page.side.isVisible() else []
    for widget in fixed:
        if widget.isVisible():
            corner = widget.mapTo(page, QPoint(widget.width(), widget.height()))
            assert corner.x() <= page.width(), f"{where} {widget}"
            assert corner.y() <= page.height(), f"{where} {widget}"
    if page.side.isVisible():
        assert page.side.timer.digits.height() >= page.side.timer.digits.digit_height() >= DIGIT_PX, where
    buttons = [button for button in page.findChildren(BigButton) if button.isVisible()]
    for button in buttons:
        assert min(button.width(), button.height()) >= TARGET_PX, f"{where} {button.text()}"
        assert button.height() >= button.height_for(button.width()), f"{where} {button.text()}"
        assert button.width() >= button.least_width(), f"{where} {button.text()}"
    check_gaps([button for button in buttons if button.parentWidget() is page.foot.grid], where)


def check_gaps(buttons: list[BigButton], where: str) -> None:
    for button in buttons:
        around = button.geometry().adjusted(-GAP_PX + 1, -GAP_PX + 1, GAP_PX - 1, GAP_PX - 1)
        near = [other for other in buttons if other is not button and around.intersects(other.geometry())]
        assert near == [], f"{where} {button.text()}"


class Paints(QObject):
    """Counts what is drawn anew."""

    def __init__(self) -> None:
        super().__init__()
        self.drawn: list[str] = []

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.Paint:
            self.drawn.append(watched.objectName())
        return False


def test_a_second_draws_the_time_alone_and_takes_no_time(bench: Bench) -> None:
    bench.go_to(Step.STIR)
    for _ in range(3):
        bench.wait(1.0)
        QApplication.processEvents()
    paints = Paints()
    for widget in bench.page.findChildren(QWidget):
        widget.installEventFilter(paints)
    times = []
    for _ in range(20):
        bench.clock.advance(seconds=1)
        begin = process_time()  # what else the machine does is not counted
        bench.page.model.look()
        QApplication.processEvents()
        times.append(process_time() - begin)
    allowed = {"run_digits", "run_bar", "run_target", "run_timer", "run_side"}
    assert set(paints.drawn) <= allowed
    assert "run_digits" in paints.drawn
    assert median(times) < 0.005, "a tick is worked out and drawn in less than 5 ms"


def test_everything_has_a_name_in_every_theme(bench: Bench) -> None:
    for step in (Step.STIR, Step.GRADE, Step.WEIGH, Step.CLOSE):
        bench.go_to(step)
        for widget in focusable_widgets(bench.page):
            assert widget.accessibleName().strip(), f"{step} {widget.objectName()}"
        assert bench.page.accessibleName().startswith("Guided run. Step ")
    for theme in THEMES.values():
        bench.page.apply_theme(theme)
        QApplication.processEvents()
        image = bench.page.grab().toImage()
        colours = {image.pixel(x, y) for x in range(0, image.width(), 7) for y in range(0, image.height(), 7)}
        assert len(colours) > 4, theme.name
