"""How the reader likes numbers: the decimal sign, and with it the unit of temperatures."""

from __future__ import annotations

TEMPERATURE_UNITS = ("C", "F", "K")


class NumberStyle(str):
    """The decimal sign of the reader, which carries the temperature unit that the reader likes.

    Everything that writes a number is handed the decimal sign; so the unit goes wherever the sign goes, and no text
    can be written in another unit than its neighbour. ``temperature`` is one of ``TEMPERATURE_UNITS``, or "" for
    each temperature in its own unit; then the style is equal to the bare sign. Raises ValueError for another unit.
    """

    __slots__ = ("temperature",)
    temperature: str

    def __new__(cls, decimal: str = ".", temperature: str = "") -> NumberStyle:
        """Make a style."""
        if temperature and temperature not in TEMPERATURE_UNITS:
            raise ValueError(temperature)
        made = super().__new__(cls, decimal)
        made.temperature = temperature
        return made

    def __eq__(self, other: object) -> bool:
        return str.__eq__(self, other) is True and self.temperature == liked_temperature(other)

    def __ne__(self, other: object) -> bool:
        return not self == other

    def __hash__(self) -> int:
        return hash((str(self), self.temperature)) if self.temperature else str.__hash__(self)

    def __repr__(self) -> str:
        return f"NumberStyle({str(self)!r}, {self.temperature!r})"


def liked_temperature(decimal: object) -> str:
    """Return the temperature unit that goes with a decimal sign, "" where none is liked."""
    return decimal.temperature if isinstance(decimal, NumberStyle) else ""


def without_units(decimal: str) -> str:
    """Return the bare decimal sign, for files, which keep the units of the campaign."""
    return str(decimal)
