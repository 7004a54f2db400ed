"""One quantity typed as text beside the factors: what was understood, and what is wrong with it; pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import partial

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.desktop.shown import Shown


@dataclass(frozen=True)
class Quantity:
    """What can be typed: the name of the field it fills, its label and its unit."""

    name: str
    label: str
    unit: str

    @property
    def title(self) -> str:
        """The label with its unit, as it stands beside the line."""
        return self.titled(".")

    def titled(self, decimal: str) -> str:
        """Return the label with the unit in which the reader likes the quantity."""
        return f"{self.label[:1].upper()}{self.label[1:]}, {Shown.of(decimal).label(self.unit)}"


@dataclass(frozen=True)
class Typed:
    """A quantity as typed: raw text, the value that was understood (None: unknown), its echo and its problem."""

    quantity: Quantity
    text: str
    value: float | None = None
    echo: str = ""
    problem: Reason | None = None

    @property
    def name(self) -> str:
        """The name of the field it fills."""
        return self.quantity.name


def read_typed(
    quantity: Quantity, text: str, decimal: str, check: Callable[[float], object], *, is_editing: bool = False
) -> Typed:
    """Return what ``text`` means; ``check`` raises InputError for a value that cannot be.

    While it is being typed (``is_editing``) a text that cannot be read is no problem yet.
    """
    if not text.strip():
        return Typed(quantity, text)
    try:
        value = Shown.of(decimal).read(text, quantity.unit)
        check(value)
    except InputError as error:
        told = Reason(error.code, {**error.params, "name": quantity.label})
        return Typed(quantity, text, problem=None if is_editing else told)
    shown = Shown.of(decimal)
    says_itself = is_bare_number(text) and shown.unit(quantity.unit) == quantity.unit
    echo = "" if says_itself else f"= {shown.echo(value, quantity.unit)}"
    return Typed(quantity, text, value, echo)


def read_lines(
    quantities: Iterable[Quantity],
    texts: Mapping[str, str],
    decimal: str,
    editing: str | None,
    check: Callable[[str, float], object],
) -> tuple[Typed, ...]:
    """Return what each quantity's text means; ``editing`` names the one that is being typed."""
    return tuple(
        read_typed(
            quantity,
            texts.get(quantity.name, ""),
            decimal,
            partial(check, quantity.name),
            is_editing=editing == quantity.name,
        )
        for quantity in quantities
    )


def is_bare_number(text: str) -> bool:
    """Whether the text is a number alone, which says itself."""
    bare = text.strip().replace(",", ".").replace("\u2212", "-")
    return bare.replace(".", "", 1).lstrip("+-").isdigit()
