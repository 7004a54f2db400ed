"""The parts of a batch of another size: finished words with their numbers beside them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Literal

from stirfall.bench.errors import InputError

_WORDS = {
    "charge_g": "batch",
    "from_g": "proven batch",
    "vessel_ml": "vessel",
    "vessel_mm": "inner diameter of the vessel",
    "stirrer_mm": "stirring circle",
    "jar_mm": "inner diameter of the jar",
    "oil_ml": "hot oil",
    "heat_up_s": "time to heat up",
}


@dataclass(frozen=True)
class BatchOrder:
    """The batch that is wanted; None: as the campaign has it, or unknown.

    ``charge_g`` is the size, ``from_g`` the proven batch that it is scaled from. Vessel, stirring circle and jar
    are those of the new batch. ``oil_ml`` and ``heat_up_s`` are what the proven batch had and took.
    """

    charge_g: float | None = None
    from_g: float | None = None
    vessel_ml: float | None = None
    vessel_mm: float | None = None
    stirrer_mm: float | None = None
    jar_mm: float | None = None
    oil_ml: float | None = None
    heat_up_s: float | None = None

    def __post_init__(self) -> None:
        """Check that everything given is positive; raises InputError ``batch.not_positive``."""
        for item in fields(self):
            value = getattr(self, item.name)
            if value is not None and not 0 < float(value) < float("inf"):
                raise InputError("batch.not_positive", name=_WORDS[item.name], value=float(value))


USUAL_BATCH = BatchOrder()


@dataclass(frozen=True)
class BatchLine:
    """One quantity: its name, before and after in words and as numbers in ``unit``, and how it was got."""

    key: str
    name: str
    unit: str
    before: float | None
    after: float | None
    shown_before: str
    shown_after: str
    how: str
    is_estimate: bool = False


@dataclass(frozen=True)
class BatchWarning:
    """One thing to heed about the size."""

    level: Literal["block", "warn", "note"]
    code: str
    text: str


@dataclass(frozen=True)
class BatchSize:
    """A batch of ``charge_g`` from a proven one of ``from_g``; None where no charge is known.

    ``asked`` says what is not known and where to enter it. ``scaled`` are the conditions that move with the size,
    by what factor.
    """

    charge_g: float | None
    from_g: float | None
    largest_g: float | None
    lines: tuple[BatchLine, ...]
    warnings: tuple[BatchWarning, ...]
    asked: tuple[str, ...]
    scaled: tuple[tuple[str, float], ...] = ()

    @property
    def is_other_size(self) -> bool:
        """Whether it is not the proven size itself."""
        return self.charge_g is not None and self.charge_g != self.from_g

    @property
    def is_refused(self) -> bool:
        """Whether the operating limits refuse this size."""
        return any(each.level == "block" for each in self.warnings)

    def line(self, key: str) -> BatchLine | None:
        """Return one quantity by its key."""
        return next((each for each in self.lines if each.key == key), None)
