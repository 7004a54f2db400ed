"""Registering residue: what the entries mean, or what is wrong with which; pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Attempt, Jar
from stirfall.desktop.shelf.amounts import Reader, typed
from stirfall.desktop.shelf.jar_form import next_id
from stirfall.desktop.shelf.residue_note import ResidueNote, added_to, new_residue, read_note
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import AddJar, ChangeJar

NEW = ""


@dataclass(frozen=True)
class ResidueForm:
    """The entries, raw; ``into`` is the jar that it goes into, ``NEW`` for a new one."""

    into: str = NEW
    attempts: str = ""
    mass: str = ""
    is_capped: bool = False
    is_under_oil: bool = False
    place: str = ""


@dataclass(frozen=True)
class ReadResidue:
    """What a form means: the jar as it will be, and the command for it, or what is wrong with which entry."""

    jar: Jar | None = None
    command: AddJar | ChangeJar | None = None
    problems: Mapping[str, Reason] = field(default_factory=dict)


def new_residue_form(campaign: CampaignState, number: int | None = None, decimal: str = ".") -> ResidueForm:
    """Return a form for the residue of an attempt, by its number, or of the newest one; the place as noted last."""
    known = {attempt.number: attempt for attempt in campaign.attempts}
    newest = max(known, default=None)
    attempt = known.get(newest if number is None else number) if newest is not None else None
    last = max(campaign.residues, key=lambda jar: jar.started_at, default=None)
    return ResidueForm(
        attempts="" if attempt is None else str(attempt.number),
        mass="" if attempt is None else typed(attempt.masses.residue_g, decimal),
        place="" if last is None else read_note(last.note).place,
    )


def next_residue_id(campaign: CampaignState) -> str:
    """Return the name of the next jar of residue."""
    return next_id("R", tuple(jar.id for jar in campaign.jars))


def read_residue(form: ResidueForm, campaign: CampaignState, now: datetime) -> ReadResidue:
    """Return the jar of residue that the form means, new or with more in it, or each problem beside its entry."""
    reader = Reader()
    attempts = _attempts(form.attempts, campaign, reader)
    mass = reader.amount("mass", form.mass, "g", above_zero=True)
    before = next((jar for jar in campaign.residues if jar.id == form.into), None) if form.into else None
    if form.into and before is None:
        reader.say("into", "residue.jar_gone", jar=form.into)
    if not form.place.strip() and before is None:
        reader.say("place", "residue.place_missing")
    lot = _lot(attempts, campaign)
    if lot is None and before is None:
        reader.say("attempts", "residue.lot_unknown")
    if reader.problems or (lot is None and before is None):
        return ReadResidue(problems=reader.problems)
    numbers = tuple(attempt.number for attempt in attempts)
    note = ResidueNote(numbers, form.place.strip(), form.is_capped, form.is_under_oil)
    if before is not None:
        jar = added_to(before, note, mass)
        what = note.attempts_text or "work"
        return ReadResidue(jar, ChangeJar(jar, sentence("residue.added_reason", {"source": what})))
    assert lot is not None
    oil = campaign.settings.oil
    jar = new_residue(next_residue_id(campaign), lot, now, note, mass_g=mass, oil=oil)
    return ReadResidue(jar, AddJar(jar))


def _attempts(text: str, campaign: CampaignState, reader: Reader) -> tuple[Attempt, ...]:
    known = {attempt.number: attempt for attempt in campaign.attempts}
    words = [word for word in re.split(r"[\s,;]+", text.strip()) if word]
    for word in words:
        if not word.isdecimal() or int(word) not in known:
            reader.say("attempts", "residue.attempt_unknown", text=word)
            return ()
    return tuple(known[int(word)] for word in dict.fromkeys(words))


def _lot(attempts: tuple[Attempt, ...], campaign: CampaignState) -> str | None:
    """Return the lot that the residue is of: that of the attempts, else the newest."""
    named = [attempt.lot_id for attempt in attempts if campaign.lot(attempt.lot_id) is not None]
    if named:
        return named[-1]
    return campaign.lots[-1].id if campaign.lots else None
