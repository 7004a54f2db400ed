"""The guided run over the whole window: one large step at a time, by keys, gloves, foot switch or scanner."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QLayout, QVBoxLayout, QWidget

from stirfall.bench.materials import Caution
from stirfall.bench.running import Step
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.run.foot import Foot
from stirfall.desktop.run.head import Head
from stirfall.desktop.run.keys import Once, RunKeys
from stirfall.desktop.run.look import APART, GAP, SMALL, WIDE_GAP, dress_all, page_sheet, pixels, run_scale
from stirfall.desktop.run.middle import UNTIMED, Middle
from stirfall.desktop.run.run_model import RunModel
from stirfall.desktop.run.shapes import Shape
from stirfall.desktop.run.side import Side
from stirfall.desktop.run.signs_part import CautionStrip, DangerPanel, SignPanel
from stirfall.desktop.run.strip import RunStrip
from stirfall.desktop.theme import Theme, wear_sheet
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.sentences import sentence
from stirfall.session.run_shown import RunView

_LEAST = QSize(560, 480)
_BESIDE_FROM = 1000  # pixels of width from which the time stands beside the words
_LOW = 560  # pixels of height at scale 1 below which there is little room
_SIDE_SHARE, _TOP_SHARE = 0.32, 0.22
_ANY = 16_777_215
_CAUTION_SHARE, _LOW_SHARE = (
    0.25,
    0.16,
)  # of the height; longer cautions stand whole in the middle, shortened above it


class RunPage(QWidget):
    """Shows what ``RunModel.view`` says and turns keys and presses into its intents.

    Signals:
        front_wanted(): the run shall stand in front of the pages.
        pages_wanted(): the person wants to look at the other pages; the run goes on.
        over(): the run has ended; the window goes back to its pages.
    """

    front_wanted = Signal()
    pages_wanted = Signal()
    over = Signal()

    def __init__(self, workspace: Workspace, form: BenchFormModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("run_page")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.workspace = workspace
        self.model = RunModel(workspace, form, self)
        self.strip = RunStrip()
        self.head, self.foot, self.side = Head(), Foot(), Side()
        self.middle = Middle(workspace)
        self.cautions = CautionStrip()
        self.danger = DangerPanel()
        self.care = SignPanel("due", Shape.CAUTION, "Take care", "run_care")
        self.once = {act: Once() for act in ("next", "back", "mark")}
        self.keys = RunKeys(self)
        self._view: RunView | None = None
        self._has_acted = False
        self._scale = run_scale()
        self._items: tuple[Caution, ...] = ()
        self._lay_out()
        self.keys.watch_lines()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_view(self.model.view)

    # -- building ----------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        whole = QVBoxLayout(self)
        whole.setContentsMargins(WIDE_GAP, GAP, WIDE_GAP, GAP)
        whole.setSpacing(APART)
        whole.setSizeConstraint(QLayout.SizeConstraint.SetNoConstraint)  # the window is never made larger for it
        whole.addWidget(self.head)
        words = QVBoxLayout()
        words.setSpacing(APART)
        for part in (self.danger, self.care, self.cautions):
            words.addWidget(part)
        words.addWidget(self.middle, 1)
        self._body = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._body.setSpacing(WIDE_GAP)
        self._body.addLayout(words, 1)
        self._body.addWidget(self.side)
        whole.addLayout(self._body, 1)
        whole.addWidget(self.foot)

    def _connect(self) -> None:
        model, foot, middle = self.model, self.foot, self.middle
        model.changed.connect(self.show_view)
        model.said.connect(self._say)
        model.opened.connect(self.front_wanted)
        # Acts come through the page, so that a bouncing foot switch skips no step and no half-typed number is left.
        self.workspace.act_requested.disconnect(model.act)
        self.workspace.act_requested.connect(self.act)
        model.closed.connect(self._finish)
        model.form.changed.connect(self._show_form)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.head.pages.clicked.connect(self.pages_wanted)
        self.head.give_up.clicked.connect(middle.give_up.open)
        self.strip.back_wanted.connect(self.front_wanted)
        foot.next.clicked.connect(self.go_next)
        foot.back.clicked.connect(self.go_back)
        foot.mark.clicked.connect(self.enter)
        foot.note.clicked.connect(middle.note.open)
        for word, button in foot.marks.items():
            button.clicked.connect(partial(self.mark, word))
        middle.note.given.connect(model.add_note)
        middle.give_up.given.connect(model.give_up)
        for panel in (middle.note, middle.give_up):
            panel.closed.connect(self.setFocus)
            panel.closed.connect(self._show_cautions)
            panel.opened.connect(self._show_cautions)
        middle.ask.answered.connect(self._answer)
        middle.list.ticked.connect(model.tick)
        middle.grades.graded.connect(model.grade)
        middle.weigh.mass_typed.connect(model.form.set_mass)
        middle.weigh.tare_typed.connect(model.form.set_tare)
        middle.weigh.removal_chosen.connect(partial(model.form.set_sheet, "oil_removed"))
        middle.reached.typed.connect(model.form.type_value)
        middle.why.line.returnPressed.connect(self.setFocus)
        middle.why.typed.connect(model.form.give_limit_reason)
        self.danger.over.clicked.connect(model.danger_is_over)
        self.side.reading.cold.clicked.connect(model.lift_without_thermometer)
        middle.list.shelf_wanted.connect(self._open_shelf)
        self.side.reading.line.textChanged.connect(self._show_foot)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme and the text scale of the moment."""
        wear_sheet(self, page_sheet, theme)
        dress_all(self, theme)
        self.strip.wear(theme)
        self._fit()
        self.show_view(self._view)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text scale."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and run_scale() != self._scale:
            self._scale = run_scale()
            QTimer.singleShot(0, self, lambda: self.apply_theme(self.workspace.theme))

    def minimumSizeHint(self) -> QSize:
        """Return the least size at which the run can still be used; it adapts to any larger one."""
        return _LEAST

    def hasHeightForWidth(self) -> bool:
        """The page takes the height that it is given, and never asks the window for more."""
        return False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Stand the time beside the words, or above them."""
        super().resizeEvent(event)
        self._fit()

    def showEvent(self, event: QShowEvent) -> None:
        """Take the keyboard: the run is all there is in front."""
        super().showEvent(event)
        self._take_keyboard()

    def _fit(self) -> None:
        """Place the parts for the size of the page, with shorter words and smaller digits where it is low."""
        is_low = self.height() < _LOW * run_scale()
        beside = self.width() >= _BESIDE_FROM
        directions, timer = QBoxLayout.Direction, self.side.timer
        self._body.setDirection(directions.LeftToRight if beside else directions.BottomToTop)
        self.side.stand(beside=beside)
        self.foot.stand(beside=beside)
        timer.digits.set_low(is_low or not beside)
        for part in (self.foot, self.middle, self.danger, self.care):
            part.set_low(is_low)
        least = timer.digits.minimumSizeHint().width() + 2 * GAP
        if beside:
            self.side.setFixedWidth(max(least, round(_SIDE_SHARE * self.width())))
            self.side.setMinimumHeight(0)
            self.side.setMaximumHeight(_ANY)
            timer.setMinimumWidth(0)
            timer.setMaximumWidth(_ANY)
        else:
            self.side.setMinimumWidth(0)
            self.side.setMaximumWidth(_ANY)
            self.side.setFixedHeight(max(timer.sizeHint().height(), round(_TOP_SHARE * self.height())))
            timer.setFixedWidth(least)
        self._show_cautions()
        self._show_foot()

    # -- showing -----------------------------------------------------------------------------------

    @property
    def view(self) -> RunView | None:
        """What is shown."""
        return self._view

    @property
    def is_on(self) -> bool:
        """Whether a run is on."""
        return self._view is not None

    def show_view(self, view: RunView | None) -> None:
        """Show a view; rendering twice changes nothing, and a second later only the time is drawn."""
        was, self._view = self._view, view
        self.strip.show_view(view)
        if view is None:
            return
        decimal, shown = self.workspace.decimal, self.workspace.shown
        if was is None or (was.material, was.cautions) != (view.material, view.cautions):
            known = {item.key: item for item in load_cautions(view.material).items}
            self._items = tuple(known[key] for key in view.cautions if key in known)
        self.head.show_view(view)
        self.side.show_view(view, shown)
        self.middle.show_view(view, decimal)
        self._show_signs(view, decimal)
        if was is not None and was.last_done != view.last_done:
            self.foot.say("")
            self._has_acted = True  # until this act is over
            QTimer.singleShot(0, self, self._forget_act)
        self._show_foot()
        if was is None or (was.step, was.reached, was.questions) != (view.step, view.reached, view.questions):
            self._show_form()
            self.setAccessibleName(f"Guided run. {self.head.steps.accessibleName()}")
        if was is not None and was.step is not view.step and self.isVisible():
            self._take_keyboard()

    def _show_signs(self, view: RunView, decimal: str) -> None:
        def told(level: str) -> list[str]:
            return [sentence(f.code, f.params, decimal=decimal) for f in view.findings if f.level == level]

        dangers = [sentence(each.code, each.params, decimal=decimal) for each in view.dangers]
        self.danger.over.setVisible(bool(dangers))
        self.danger.show_sentences([*dangers, *told("block")])
        lift = [sentence(found.code, found.params, decimal=decimal) for found in view.lift]
        self.care.show_sentences([*told("warn"), *lift])
        self._show_cautions()

    def _show_cautions(self) -> None:
        wide = self.width() - 2 * WIDE_GAP
        if self.side.isVisibleTo(self) and self.width() >= _BESIDE_FROM:
            wide -= self.side.width() + WIDE_GAP
        has_signs = not (self.danger.isHidden() and self.care.isHidden()) or self.middle.panel is not None
        most_high = (_LOW_SHARE if self.foot.next.is_low else _CAUTION_SHARE) * self.height()
        is_whole = not has_signs and self.cautions.height_of(self._items, wide) <= most_high
        most = None
        if has_signs and self.foot.next.is_low:
            # On a low screen with large text a danger takes the room; its caution then stands below, whole.
            room = self.height() - self.head.height() - self.foot.sizeHint().height() - 4 * APART
            signs = sum(sign.wanted_height(wide) for sign in (self.danger, self.care))
            most = int(signs + 2 * pixels(SMALL) < room)
        self.cautions.show_cautions(self._items, whole=is_whole, most=most)
        self.middle.whole_cautions.show_texts([] if is_whole else [item.text for item in self._items])

    def _show_foot(self) -> None:
        if self._view is not None:
            document = self.workspace.document
            undo = document.undo_name if document is not None else None
            self.foot.show_view(self._view, self.typed(), undo or "", self.workspace.decimal)

    def _show_form(self, *_unused: object) -> None:
        if self._view is not None and self._view.step in UNTIMED:
            self.middle.show_form(self._view, self.model.form.state, self.workspace)
            self.keys.watch_lines()

    def typed(self) -> str:
        """Return the reading that is being typed, with its unit, "" for none."""
        return self.side.reading.typed

    def _take_keyboard(self) -> None:
        """Give the keyboard to the first mass where masses are typed, else to the page."""
        if self._view is not None and self._view.step is Step.WEIGH and not self._view.questions:
            line = self.middle.weigh.next_line(None)
            if line is not None:
                line.setFocus()
                QTimer.singleShot(0, self, partial(self.middle.scroller.ensureWidgetVisible, line))
                return
        self.setFocus()

    def _say(self, text: str) -> None:
        """Show why something was not done; what was done stands in view as the last thing done already."""
        self.foot.say("" if self._has_acted else text)
        self._show_foot()

    def _forget_act(self) -> None:
        self._has_acted = False

    def _finish(self) -> None:
        self.side.reading.clear()
        self.foot.say("")
        self.over.emit()

    # -- acts --------------------------------------------------------------------------------------

    def go_next(self) -> None:
        """Go on, unless a number is half typed or this is the second of two quick presses."""
        self._has_acted = False
        if typed := self.typed():
            self._say(f"{typed} is not taken yet. Enter takes it, Backspace rubs it out.")
        elif self.once["next"]() and not self.model.next():
            self._show_what_is_missing()

    def _show_what_is_missing(self) -> None:
        """Go to the line of the reason where that is what is missing."""
        why = self.middle.why
        if not why.isHidden() and not why.line.text().strip():
            why.line.setFocus()
            self.middle.scroller.ensureWidgetVisible(why.line)

    def go_back(self) -> None:
        """Go back to the step before."""
        self._has_acted = False
        if self.once["back"]():
            self.model.back()

    def enter(self) -> None:
        """Take the number that was typed; else tick the next line of a list; else mark what was seen."""
        self._has_acted = False
        reading = self.side.reading
        if self.typed():
            if self.model.read_temperature(reading.line.text()):
                reading.clear()
        elif self._view is not None and self._view.closing:
            self.middle.list.tick_next()
        elif self._view is not None and self._view.step not in UNTIMED and self.once["mark"]():
            self.model.mark()

    def act(self, key: str) -> None:
        """Do an act of the foot switch or of a scanned card, in view."""
        if self._view is None:
            return
        if not self.isVisible():
            self.front_wanted.emit()
        is_last = self._view.step in (Step.WEIGH, Step.CLOSE)
        if key == "NEXT" or (key == "DONE" and is_last):
            self.go_next()
        elif key == "BACK":
            self.go_back()
        elif key == "MARK":
            self.enter()
        else:
            self._has_acted = False
            self.model.act(key)

    def mark(self, word: str, *_unused: object) -> None:
        """Mark what was seen."""
        self.model.mark(word)

    def _open_shelf(self) -> None:
        self.pages_wanted.emit()
        self.workspace.request_residue()

    def _answer(self, key: str, text: str) -> None:
        self.model.answer(key, text)
        self.setFocus()

    # -- keys --------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the keys of the run."""
        if not self.keys.take(event):
            super().keyPressEvent(event)
