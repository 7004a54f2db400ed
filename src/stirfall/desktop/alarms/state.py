"""What the strip of alarms shows, and when it sounds; pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from stirfall.bench.units import Amount
from stirfall.reporting.alarm_words import SIGNS, alarm_sentence, rank_word, since_text
from stirfall.reporting.sentences import sentence
from stirfall.session.alarm import RANKS, SHELF, Alarm, Rank
from stirfall.session.alarm_pause import Pause
from stirfall.session.forecast_evenings import clock_words

REPEATS_S: dict[Rank, float] = {"due": 30.0, "danger": 3.0}
PAUSE = "pause "


@dataclass(frozen=True)
class AlarmLine:
    """One alarm as shown: its rank as sign and word, its sentence, and how long ago it fell due."""

    key: str
    rank: Rank
    sign: str
    word: str
    said: str
    since: str
    page: str
    target: str

    @property
    def spoken(self) -> str:
        """The whole line for a screen reader."""
        return f"{self.word}: {self.said} {self.since}".strip()

    @property
    def can_show(self) -> bool:
        """Whether there is something to go to."""
        return bool(self.target) or not self.key.startswith(PAUSE)


@dataclass(frozen=True)
class AlarmState:
    """The lines, the most urgent first; none where nothing calls."""

    lines: tuple[AlarmLine, ...] = ()

    @property
    def first(self) -> AlarmLine | None:
        """What is shown when the list is closed."""
        return self.lines[0] if self.lines else None

    @property
    def more(self) -> int:
        """How many stand behind the first."""
        return max(0, len(self.lines) - 1)


def alarm_state(found: Sequence[Alarm], now: datetime, *, decimal: str = ".") -> AlarmState:
    """Return the lines of alarms, most urgent first, at ``now``."""
    return AlarmState(tuple(_line(each, now, decimal) for each in found))


def _line(alarm: Alarm, now: datetime, decimal: str) -> AlarmLine:
    return AlarmLine(
        alarm.key,
        alarm.rank,
        SIGNS[alarm.rank],
        rank_word(alarm.rank),
        alarm_sentence(alarm, decimal=decimal),
        since_text(alarm, now, decimal=decimal),
        alarm.page,
        alarm.target,
    )


def pause_alarm(pause: Pause, found: Sequence[Alarm], now: datetime, tz: tzinfo | None = None) -> Alarm:
    """Return the note that the computer slept or its clock was set, with the number of what fell due meanwhile."""
    params = {
        "began": clock_words(pause.began_at, now, tz),
        "ended": clock_words(pause.ended_at, now, tz),
        "by": Amount(pause.seconds, "s"),
    }
    code = {"slept": "alarm.slept", "forward": "alarm.clock_forward", "back": "alarm.clock_back"}[pause.kind]
    missed = sum(pause.began_at < each.due_at <= pause.ended_at for each in found)
    key = f"{PAUSE}{pause.ended_at.isoformat()}"
    if not missed:
        return Alarm(key, "info", pause.ended_at, code, params, SHELF)
    said = sentence(code, params)
    return Alarm(key, "info", pause.ended_at, "alarm.fell_due", {"said": said, "count": missed}, SHELF)


class Ringing:
    """Remembers what sounded when: a note once, what is due each half minute, a danger all the time."""

    def __init__(self) -> None:
        self._rung: set[str] = set()
        self._last: dict[Rank, float] = {}

    def next(self, found: Sequence[Alarm], seconds: float) -> Rank | None:
        """Return the rank that shall sound at this second of a counter, None for silence."""
        about = {each.about for each in found}
        fresh = {each.rank for each in found if each.about not in self._rung}
        self._rung = about
        there = {each.rank for each in found}
        for rank in RANKS:
            if rank in there and (rank in fresh or self._is_time(rank, seconds)):
                self._last[rank] = seconds
                return rank
        return None

    def _is_time(self, rank: Rank, seconds: float) -> bool:
        """Whether a rank that repeats is to be repeated; a counter that began anew counts as long ago."""
        if rank not in REPEATS_S:
            return False
        since = seconds - self._last.get(rank, -1e9)
        return since < 0.0 or since >= REPEATS_S[rank]
