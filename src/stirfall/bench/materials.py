"""What kind of metal is on the bench: the one fact that decides which cautions and limits apply."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stirfall.bench.errors import InputError


class MaterialClass(StrEnum):
    """Hazard class of the metal, chosen by the person, never guessed."""

    BASE_METAL = "base metal"
    ALKALI_METAL = "alkali metal, sodium-like"
    SUPEROXIDE_FORMER = "superoxide-forming alkali metal"
    OTHER = "other"

    @property
    def is_reactive(self) -> bool:
        """Whether water, carbon dioxide and ordinary extinguishers are wrong for this metal."""
        return self in (MaterialClass.ALKALI_METAL, MaterialClass.SUPEROXIDE_FORMER)

    @property
    def may_lengthen_age(self) -> bool:
        """Whether a longer age or exposure may ever be suggested."""
        return self is not MaterialClass.SUPEROXIDE_FORMER

    def is_too_mild_for(self, hazard: MaterialClass) -> bool:
        """Whether this class would bring cautions and limits that are wrong for a metal of class ``hazard``.

        A superoxide former may be entered as nothing else, another reactive metal not as a base metal.
        """
        if hazard is MaterialClass.SUPEROXIDE_FORMER:
            return self is not hazard
        return hazard is MaterialClass.ALKALI_METAL and self is MaterialClass.BASE_METAL

    @classmethod
    def parse(cls, text: str) -> MaterialClass:
        """Return the class named by ``text`` (its value or its member name); raise InputError otherwise."""
        wanted = text.strip().lower().replace("_", " ")
        for member in cls:
            if wanted in (member.value, member.name.lower().replace("_", " ")):
                return member
        raise InputError("material.unknown", text=text, known=", ".join(member.value for member in cls))


@dataclass(frozen=True)
class Caution:
    """One thing to heed at the bench; ``check`` marks it as a line of the start checklist."""

    key: str
    text: str
    source: str
    check: bool = False


@dataclass(frozen=True)
class Cautions:
    """All cautions for one material class, in the order in which they are shown."""

    material: MaterialClass
    headline: str
    items: tuple[Caution, ...]

    @property
    def checklist(self) -> tuple[Caution, ...]:
        """The lines that must be ticked before the first attempt of a day."""
        return tuple(item for item in self.items if item.check)
