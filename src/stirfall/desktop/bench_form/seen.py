"""What was seen at the bench beside the conditions: the look of the surface, humidity, oil, temperatures; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar
from stirfall.bench.run_facts import NO_FACTS, RunFacts
from stirfall.bench.substances import SurfaceLook
from stirfall.desktop.bench_form.typed import Quantity, Typed, read_lines

SEEN: tuple[Quantity, ...] = (
    Quantity("room_rh_percent", "room humidity", "%"),
    Quantity("oil_ml", "oil with the metal", "mL"),
    Quantity("peak_c", "highest temperature", "C"),
    Quantity("lifted_at_c", "lifted out at", "C"),
)
SEEN_NAMES = tuple(quantity.name for quantity in SEEN)


@dataclass(frozen=True)
class LookState:
    """The look of the surface: what was answered, whether it must be, and whether it means danger.

    ``is_alarming``: on this class of metal the look, seen now or noted on the jar, means: do not open.
    """

    look: str
    is_needed: bool
    is_alarming: bool
    jar: Jar | None

    @property
    def jar_look(self) -> str:
        """The look that was noted on the jar."""
        return self.jar.look if self.jar is not None else ""

    @property
    def can_note(self) -> bool:
        """Whether the look can be noted on the jar, where it does not stand yet."""
        seen_now = self.is_needed and bool(self.look) and SurfaceLook(self.look).is_alarming
        return seen_now and self.jar is not None and self.jar.look != self.look


def look_matters(material: MaterialClass) -> bool:
    """Whether a look must be told before recording: a metal that may be dangerous under its crust."""
    return material is not MaterialClass.BASE_METAL


def read_look(look: str, campaign: CampaignState, jar: Jar | None) -> LookState:
    """Return the state of the look for this class of metal and this jar."""
    matters = look_matters(campaign.settings.material)
    looks = [text for text in (look, jar.look if jar is not None else "") if text]
    alarming = matters and any(SurfaceLook(text).is_alarming for text in looks)
    return LookState(look, matters, alarming, jar)


def read_seen(texts: Mapping[str, str], decimal: str, editing: str | None) -> tuple[Typed, ...]:
    """Return each thing seen as it was understood."""
    return read_lines(SEEN, texts, decimal, editing, _check)


def facts_of(look: str, seen: tuple[Typed, ...]) -> RunFacts:
    """Return what was seen as an attempt keeps it."""
    values = {item.name: item.value for item in seen}
    return replace(RunFacts(look=look), **values)  # type: ignore[arg-type]  # the names of its numbers


def _check(name: str, value: float) -> None:
    replace(NO_FACTS, **{name: value})  # type: ignore[arg-type]  # the names of its numbers
