"""The alarms without their widgets: true time, also over a sleep of the computer, and what the person does."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.desktop.alarms.state import PAUSE, AlarmState, Ringing, alarm_state, pause_alarm
from stirfall.desktop.forecasting import forecasts
from stirfall.session.alarm_pause import WORTH_SAYING_S, Pause, pause_between
from stirfall.session.alarm_run import alarms_of_open_run
from stirfall.session.alarms import RUN, Alarm, alarms, most_urgent_first, still_shown
from stirfall.session.commands import Acknowledge, Changes

if TYPE_CHECKING:
    from datetime import datetime, tzinfo

    from stirfall.bench.running import Moment
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.forecast import JarForecast

NEAR_MS, FAR_MS = 1_000, 15_000
_SOON = timedelta(seconds=60)
_FORECASTS_LAST_S = 600.0
_NOTES_KEPT = 3
_SLOT = "alarm forecasts"


class AlarmModel(QObject):
    """Holds what calls for the person now.

    Signals:
        changed(AlarmState): what to show.
        rang(str): a rank shall sound.
        show_wanted(str, str): a page and what to show on it (a jar, a run).
    """

    changed = Signal(object)
    rang = Signal(str)
    show_wanted = Signal(str, str)

    def __init__(self, workspace: Workspace, parent: QObject | None = None, *, tz: tzinfo | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = AlarmState()
        self._tz = tz
        self._forecasts: Mapping[str, JarForecast] = {}
        self._forecast_s = 0.0
        self._is_running = False
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.tick)
        self._forget()
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_finished.connect(self._foretell)
        workspace.refinement_failed.connect(self._foretell)
        workspace.theme_changed.connect(self._render)
        self._on_document_opened()

    def _forget(self) -> None:
        self._forecasts = {}
        self._found: tuple[Alarm, ...] = ()
        self._notes: tuple[Alarm, ...] = ()
        self._dismissed: set[str] = set()
        self._last: Moment | None = None
        self._ringing = Ringing()

    def _on_document_opened(self) -> None:
        self._forget()
        if self.workspace.document is None:
            self._timer.stop()
            self._show(AlarmState())
            return
        self._timer.start(NEAR_MS)
        if self.workspace.analysis is not None:
            self._foretell()
        self.tick()

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.shelf or changes.settings or changes.runs or changes.acknowledged:
            self._look()

    # -- time --------------------------------------------------------------------------------------

    def tick(self) -> None:
        """A moment has passed; notices when more time went by than the timer asked for."""
        document = self.workspace.document
        if document is None:
            return
        moment = document.moment()
        pause = None
        if self._last is not None:
            pause = pause_between(self._last, moment, self._timer.interval() / 1000.0)
        self._last = moment
        self._look()
        if pause is not None:
            self._tell_of(pause, moment.at)
        seconds = moment.ticks_s or 0.0
        if pause is not None or not 0.0 <= seconds - self._forecast_s < _FORECASTS_LAST_S:
            self._foretell()
        audible = [each for each in self._found if not (self._is_running and each.rank == "info")]
        rank = self._ringing.next(audible, seconds)
        if rank is not None:
            self.rang.emit(rank)

    def _tell_of(self, pause: Pause, now: datetime) -> None:
        """Note that the computer slept or its clock was set; only the last few such notes are kept."""
        missed = any(pause.began_at < each.due_at <= pause.ended_at for each in self._found)
        if missed or pause.seconds >= WORTH_SAYING_S:
            self._notes = (*self._notes, pause_alarm(pause, self._found, now, self._tz))[-_NOTES_KEPT:]
            self._look()

    def _look(self) -> None:
        document = self.workspace.document
        if document is None:
            return
        state, moment = document.state, document.moment()
        run = alarms_of_open_run(state, moment)
        new = alarms(state, self._forecasts, moment.at, run, tz=self._tz)
        kept = still_shown(self._found, new, state, moment.at)
        shown = [each for each in (*kept, *self._notes) if each.key not in self._dismissed]
        self._found = most_urgent_first({each.key: each for each in shown}.values())
        soon = alarms(state, self._forecasts, moment.at + _SOON, run, tz=self._tz)
        is_near = bool(self._found) or state.open_run is not None or _keys(soon) != _keys(new)
        interval = NEAR_MS if is_near else FAR_MS
        if self._timer.interval() != interval:
            self._timer.setInterval(interval)
        self._render()

    def _render(self, *_unused: object) -> None:
        document = self.workspace.document
        if document is not None:
            self._show(alarm_state(self._in_strip(), document.now(), decimal=self.workspace.decimal))

    def _show(self, state: AlarmState) -> None:
        if state != self.state:
            self.state = state
            self.changed.emit(state)

    def set_running(self, is_running: bool) -> None:
        """Take that the guided run fills the window, or no more.

        It says its own alarms larger than the strip could, and notes wait until it is over.
        """
        if is_running != self._is_running:
            self._is_running = is_running
            self._render()

    def _in_strip(self) -> list[Alarm]:
        return [
            each for each in self._found if not (self._is_running and (each.page == RUN or each.rank == "info"))
        ]

    # -- forecasts ---------------------------------------------------------------------------------

    def _foretell(self, *_unused: object) -> None:
        document, analysis = self.workspace.document, self.workspace.analysis
        if document is None or analysis is None or self.workspace.is_refining:
            return  # windows of the first answer would move at once
        state, moment = document.state, document.moment()
        self._forecast_s = moment.ticks_s or 0.0
        self.workspace.submit(
            lambda token: forecasts(analysis, state, moment.at, token), self._take_forecasts, slot=_SLOT
        )

    def _take_forecasts(self, foretold: Mapping[str, JarForecast]) -> None:
        self._forecasts = foretold
        self._look()

    # -- intents -----------------------------------------------------------------------------------

    def see(self, key: str = "") -> bool:
        """Quiet an alarm for good, without a key the first; it can be undone. Returns whether there was one."""
        alarm = next((each for each in self._found if each.key == key or not key), None)
        document = self.workspace.document
        if alarm is None or document is None:
            return False
        if alarm.key.startswith(PAUSE) or document.read_only:
            self._dismissed.add(alarm.key)
            self._look()
            return True
        return self.workspace.execute(Acknowledge(alarm.key, _what(alarm)), origin=self) is not None

    def see_all(self) -> None:
        """Quiet every alarm that is no danger."""
        for alarm in self._found:
            if alarm.rank != "danger":
                self.see(alarm.key)

    def show(self, key: str = "") -> None:
        """Go to what an alarm is about, without a key the first one's; it stays until it is seen."""
        alarm = next((each for each in self._found if each.key == key or not key), None)
        if alarm is not None:
            self.show_wanted.emit(alarm.page, alarm.target)


def _keys(found: tuple[Alarm, ...]) -> set[str]:
    return {each.key for each in found}


def _what(alarm: Alarm) -> str:
    if alarm.page == RUN:
        return "alarm of the run"
    return "residue of today" if alarm.code == "limits.residue_open" else f"alarm of jar {alarm.target}"
