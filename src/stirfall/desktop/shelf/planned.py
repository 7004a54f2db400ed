"""The jars that shall be started later, as the shelf shows them; pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import Jar
from stirfall.desktop.shelf.split_starts import said_apart
from stirfall.desktop.shelf.state import kept_under
from stirfall.session.forecast_evenings import said_moment

_NOW = timedelta(minutes=2)


@dataclass(frozen=True)
class PlannedRow:
    """A jar that is planned: when it shall start, whether that time has come, and how far from the plan it is now.

    ``apart`` is such as "90 min early" or "2 h late", "" at the planned time.
    """

    jar: Jar
    starts: str
    wait: str
    is_due: bool
    kept: str
    apart: str = ""

    @property
    def plan(self) -> str:
        """What starting it now would change."""
        if not self.apart:
            return "It is time to start it."
        more = "less" if self.is_due else "more"
        return f"Started now, it is {self.apart}: at any later time its age is that much {more} than planned."

    @property
    def plan_text(self) -> str:
        """The plan in words, with what starting it now would change."""
        return f"Jar {self.jar.id}, lot {self.jar.lot_id}, is planned for {self.starts}, {self._wait}. {self.plan}"

    @property
    def _wait(self) -> str:
        return self.wait.removeprefix("⚠ ")


def planned_rows(campaign: CampaignState, now: datetime, decimal: str) -> tuple[PlannedRow, ...]:
    """Return the jars that shall be started later, the next one first."""
    jars = sorted(campaign.planned_jars, key=lambda jar: jar.started_at)
    return tuple(_planned(jar, now, decimal) for jar in jars)


def _planned(jar: Jar, now: datetime, decimal: str) -> PlannedRow:
    is_due = jar.started_at <= now
    earlier, later = sorted((jar.started_at, now))
    apart = said_apart(earlier, later, decimal)
    is_now = abs(jar.started_at - now) < _NOW
    late = "" if is_now else f"{apart} {'late' if is_due else 'early'}"
    wait = "⚠ due now" if is_now else f"⚠ due {apart} ago" if is_due else f"in {apart}"
    return PlannedRow(jar, said_moment(jar.started_at, now), wait, is_due or is_now, kept_under(jar, decimal), late)
