"""What the register of residue keeps in the note of a jar: from which attempts, where it stands, how kept; pure.

The note is plain English that anybody can read and type, such as "From attempts 12, 14. Stands in the steel
cupboard. Capped, under oil. Handed over on 3 Dec 2026 to the waste route of the house."
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo

from stirfall.bench.records import RESIDUE, Jar
from stirfall.session.forecast_evenings import MONTHS

_FROM = re.compile(r"From attempts? ((?:\d+(?:, |,)?)+)\.\s*", re.IGNORECASE)
_STANDS = re.compile(r"Stands ([^.]+)\.\s*", re.IGNORECASE)
_CAPPED = re.compile(r"(Capped|Under oil)(, under oil)?\.\s*", re.IGNORECASE)
_HANDED = re.compile(r"Handed over ([^.]+)\.\s*", re.IGNORECASE)


@dataclass(frozen=True)
class ResidueNote:
    """The parts of the note; ``handed`` says when and to whom, ``rest`` is what else was written."""

    attempts: tuple[int, ...] = ()
    place: str = ""
    is_capped: bool = False
    is_under_oil: bool = False
    handed: str = ""
    rest: str = ""

    @property
    def attempts_text(self) -> str:
        """The attempts that the residue is from."""
        if not self.attempts:
            return ""
        numbers = ", ".join(str(number) for number in self.attempts)
        return f"attempt {numbers}" if len(self.attempts) == 1 else f"attempts {numbers}"

    def write(self) -> str:
        """Return the note as it is kept."""
        kept = [words for words, holds in (("capped", self.is_capped), ("under oil", self.is_under_oil)) if holds]
        parts = (
            f"From {self.attempts_text}." if self.attempts else "",
            f"Stands {_plain(self.place)}." if self.place.strip() else "",
            f"{', '.join(kept).capitalize()}." if kept else "",
            f"Handed over {_plain(self.handed)}." if self.handed.strip() else "",
            self.rest.strip(),
        )
        return " ".join(part for part in parts if part)


def _plain(text: str) -> str:
    """Return a text as one part of the note: what ends a part is turned into a comma."""
    return re.sub(r"\s*\.\s*(?=\S)", ", ", " ".join(text.split())).strip(" .")


def read_note(note: str) -> ResidueNote:
    """Read the parts of a note; what is none of them stays as the rest."""
    rest = note
    found: dict[str, str] = {}
    for name, pattern in (("from", _FROM), ("stands", _STANDS), ("kept", _CAPPED), ("handed", _HANDED)):
        match = pattern.search(f"{rest} ")
        if match is not None:
            found[name] = match.group(0 if name == "kept" else 1)
            rest = f"{rest} "[: match.start()] + f"{rest} "[match.end() :]
    kept = found.get("kept", "").casefold()
    return ResidueNote(
        attempts=tuple(int(number) for number in re.findall(r"\d+", found.get("from", ""))),
        place=found.get("stands", "").strip(),
        is_capped="capped" in kept,
        is_under_oil="under oil" in kept,
        handed=found.get("handed", "").strip(),
        rest=rest.strip(),
    )


def new_residue(
    jar_id: str, lot_id: str, now: datetime, note: ResidueNote, *, mass_g: float | None, oil: str = ""
) -> Jar:
    """Return a jar of residue that begins to wait now, under ``oil`` where it is under oil."""
    lid = "closed" if note.is_capped else ""
    return Jar(
        jar_id,
        lot_id,
        now,
        oil if note.is_under_oil else "",
        lid=lid,
        charge_g=mass_g,
        note=note.write(),
        contents=RESIDUE,
    )


def added_to(jar: Jar, note: ResidueNote, mass_g: float | None) -> Jar:
    """Return a jar of residue with more in it: attempts and mass add up; an unknown mass makes the sum unknown.

    Place, cap and oil are as they were noted last.
    """
    before = read_note(jar.note)
    attempts = tuple(dict.fromkeys((*before.attempts, *note.attempts)))
    merged = replace(
        before,
        attempts=attempts,
        place=note.place or before.place,
        is_capped=note.is_capped,
        is_under_oil=note.is_under_oil,
    )
    mass = None if mass_g is None or jar.charge_g is None else jar.charge_g + mass_g
    return replace(jar, charge_g=mass, note=merged.write(), lid="closed" if note.is_capped else jar.lid)


def handed_over(jar: Jar, now: datetime, to: str, zone: tzinfo | None = None) -> Jar:
    """Return a jar of residue that was handed over to the waste route at this moment, with to whom."""
    local = now.astimezone(zone)
    when = f"on {local.day} {MONTHS[local.month - 1]} {local.year} {local:%H:%M}"
    note = replace(read_note(jar.note), handed=f"{when} to {_plain(to)}" if to.strip() else when)
    return replace(jar, note=note.write(), emptied_at=now)
