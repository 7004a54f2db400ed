"""What the label of a jar, or of the product of an attempt, says; ``desktop.printing`` draws it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt, CampaignSettings, Jar
from stirfall.bench.scan_codes import attempt_code, jar_code
from stirfall.bench.units import format_quantity
from stirfall.planning.limits_exposure import is_alarming
from stirfall.planning.use_by import use_by
from stirfall.reporting.cautions import load_label_words

SHELF, PLANNED, RESIDUE, ALL = "shelf", "planned", "residue", "all"
GROUPS = (SHELF, PLANNED, RESIDUE, ALL)
INVENTED = "Invented"
_SEEN = "Surface seen {look}: do not open, touch or cut."


@dataclass(frozen=True)
class Label:
    """One label: its name in large letters, such as the id of a jar, the text of its code, and what is to be read.

    ``contents`` says what is in the jar, ``hazard`` what to heed, ``times`` when it was started and until when it
    is to be used (counted from the planned start of a planned jar), ``blanks`` what is written on it by hand;
    ``mark`` is "Invented" for an invented campaign.
    """

    name: str
    code: str
    contents: tuple[str, ...]
    hazard: str
    times: tuple[str, ...]
    blanks: tuple[str, ...]
    mark: str = ""


def make_label(state: CampaignState, jar: Jar, *, zone: tzinfo | None = None, decimal: str = ".") -> Label:
    """Return the label of a jar; times are local ones, in ``zone`` or that of the computer."""
    started = local_time(jar.started_at, zone)
    head = "Start planned" if jar.planned else "Residue since" if jar.is_residue else "Started"
    return Label(
        name=jar.id,
        code=jar_code(jar.id),
        contents=_contents(state.settings, jar, decimal),
        hazard=_hazard(state.settings, jar),
        times=(f"{head} {started}", *_use_by(state, jar, zone)),
        blanks=("Started", "Owner") if jar.planned else ("Owner",),
        mark=INVENTED if state.settings.invented else "",
    )


def make_product_label(
    state: CampaignState, attempt: Attempt, *, zone: tzinfo | None = None, decimal: str = "."
) -> Label:
    """Return the label for the vessel that holds the product of an attempt; its code opens the attempt."""
    mass = attempt.masses.product_g
    weighed = "" if mass is None else f"{format_quantity(mass, 'g', digits=4, decimal=decimal)} "
    first = f"{weighed}product of attempt {attempt.number}"
    graded = "not graded" if attempt.outcome is Outcome.NOT_GRADED else attempt.outcome.value
    lot = f" of lot {attempt.lot_id}" if attempt.lot_id else ""
    made = "at a time not known" if attempt.started_at is None else local_time(attempt.started_at, zone)
    return Label(
        name=f"A {attempt.number}",
        code=attempt_code(attempt.number),
        contents=(
            f"{first[:1].upper()}{first[1:]}, {graded}",
            f"{state.settings.metal.strip() or 'metal not named'}{lot}",
        ),
        hazard=load_label_words(state.settings.material).jar,
        times=(f"Made {made}",),
        blanks=("Owner",),
        mark=INVENTED if state.settings.invented or attempt.invented else "",
    )


def choose_attempts(state: CampaignState, numbers: Sequence[int]) -> tuple[Attempt, ...]:
    """Return the attempts of these numbers in the order asked for; raises InputError ``labels.no_attempt``."""
    by_number = {attempt.number: attempt for attempt in state.attempts}
    for number in numbers:
        if number not in by_number:
            raise InputError("labels.no_attempt", number=number)
    return tuple(by_number[number] for number in dict.fromkeys(numbers))


def choose_jars(state: CampaignState, wanted: Sequence[str]) -> tuple[Jar, ...]:
    """Return the jars of these ids or groups (``GROUPS``), each once, in the order asked for.

    A jar whose id is the word of a group is meant itself. Raises InputError ``jar.unknown``, and ``labels.none``
    where the groups hold no jar.
    """
    groups = {SHELF: state.shelf, PLANNED: state.planned_jars, RESIDUE: state.residues}
    groups[ALL] = (*state.shelf, *state.planned_jars, *state.residues)
    chosen: list[Jar] = []
    for word in wanted:
        jar = _named(state, word)
        if jar is None and word not in groups:
            known = ", ".join(each.id for each in groups[ALL]) or "none"
            raise InputError("jar.unknown", id=word, known=known)
        chosen += (jar,) if jar is not None else groups[word]
    if not chosen:
        raise InputError("labels.none", wanted=", ".join(wanted))
    return tuple({jar.id: jar for jar in chosen}.values())


def local_time(moment: datetime, zone: tzinfo | None) -> str:
    """Write a moment as local date, time and distance from UTC: ``2026-11-24 18:30 (+01:00)``."""
    here = moment.astimezone(zone)
    return f"{here:%Y-%m-%d %H:%M} ({here.isoformat()[-6:]})"


def _named(state: CampaignState, word: str) -> Jar | None:
    wanted = word.strip().casefold()
    exact = state.jar(word.strip())
    return exact or next((jar for jar in state.jars if jar.id.casefold() == wanted), None)


def _hazard(settings: CampaignSettings, jar: Jar) -> str:
    """Return the words of the class, and before them what was seen on this very jar where that means danger."""
    words = load_label_words(settings.material)
    usual = words.residue if jar.is_residue else words.jar
    return f"{_SEEN.format(look=jar.look)} {usual}" if is_alarming(settings, jar.look) else usual


def _contents(settings: CampaignSettings, jar: Jar, decimal: str) -> tuple[str, ...]:
    """What counts comes first: where a label is too small, the ends of these lines are cut."""
    kind = "residue" if jar.is_residue else "crude"
    charge = "" if jar.charge_g is None else f"{format_quantity(jar.charge_g, 'g', digits=4, decimal=decimal)} "
    metal = settings.metal.strip() or "metal not named"
    first = f"{charge}{kind} of lot {jar.lot_id}, {metal}"
    oil = jar.oil.strip() or settings.oil.strip()
    lid = f"Lid {jar.lid.strip()}" if jar.lid.strip() else "Lid not noted"
    return first[:1].upper() + first[1:], f"{lid}, {f'under {oil}' if oil else 'oil not named'}"


def _use_by(state: CampaignState, jar: Jar, zone: tzinfo | None) -> tuple[str, ...]:
    """Residue is not used, so it has no date; the zone is not said twice."""
    if jar.is_residue:
        return ()
    until = use_by(state, jar)
    if until is None:
        return ("use by: no date known",)
    text = local_time(until, zone)
    same = until.astimezone(zone).utcoffset() == jar.started_at.astimezone(zone).utcoffset()
    return (f"use by {text.partition(' (')[0] if same else text}",)
