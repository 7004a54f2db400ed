"""Sources of reports for the tests: the invented dross campaign, with operators and with text that means harm."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from stirfall.bench.campaign import CampaignState
from stirfall.reporting.report.names import Nameless
from stirfall.reporting.report.source import ReportSource
from stirfall.storage.package import PackageContent, read_package

SAMPLES = Path(__file__).parents[3] / "sample_sessions"
MADE = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)
PEOPLE = ("Anna Fox", "Ben")
HARM = (
    '<script>alert("1")</script>',
    "\"'&<b>bold</b> | pipe `code` [link](http://example.invalid)",
    "right \u202eto left\u202c and \u2067isolated\u2069",
    "W" * 4000,
    "first line\nsecond line\r\nthird \x00\x1b[31mline",
)


def dross() -> PackageContent:
    """Return the invented campaign that comes with the program."""
    return read_package(SAMPLES / "tin-bismuth-dross")


def source_from(content: PackageContent, state: CampaignState, *, with_names: bool = False) -> ReportSource:
    """Return a source of a campaign without a session file."""
    nameless = Nameless(state.attempts)
    return ReportSource(
        state=state if with_names else nameless.state(state),
        corrections=content.corrections if with_names else nameless.corrections(content.corrections),
        session_name="dross.stirfall",
        fingerprint="0123456789abcdef" * 4,
        created_at=MADE,
        with_names=with_names,
        operators=len(nameless.known),
        nameless=None if with_names else nameless,
    )


def with_people(state: CampaignState) -> CampaignState:
    """Return the campaign with two operators, one of whom stands in a note."""
    attempts = [
        replace(each, facts=replace(each.facts, operator=PEOPLE[place % 2]))
        for place, each in enumerate(state.attempts)
    ]
    attempts[4] = replace(attempts[4], note="Ben helped; Anna Fox held the lid; a Benford note")
    return replace(state, attempts=tuple(attempts))


def with_harm(state: CampaignState) -> CampaignState:
    """Return the campaign with text that tries to be markup, to turn the line, or to leave the page."""
    attempts = list(state.attempts)
    for place, text in enumerate(HARM):
        attempts[place] = replace(attempts[place], note=text)
    attempts[5] = replace(attempts[5], struck_reason=HARM[0])
    settings = replace(state.settings, title=f"Trial {HARM[0]} {HARM[2]}", oil=HARM[1])
    return replace(state, attempts=tuple(attempts), settings=settings)
