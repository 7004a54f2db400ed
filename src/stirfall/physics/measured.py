"""A measured value with its standard uncertainty, and the law that carries uncertainty through a formula."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from stirfall.bench.errors import InputError
from stirfall.bench.units import MINUS, THIN_SPACE, parse_number

COVERAGE = "(u, k = 1)"


@dataclass(frozen=True)
class Measured:
    """A value with its standard uncertainty ``u`` (coverage factor k = 1), both in ``unit``.

    ``u`` None means that the uncertainty is unknown, which is never shown as zero; 0 means exact by definition.
    """

    value: float
    u: float | None = None
    unit: str = ""

    def __post_init__(self) -> None:
        """Make plain numbers; raises InputError ``measured.impossible`` for what is not finite, or a negative u."""
        object.__setattr__(self, "value", float(self.value))
        if self.u is not None:
            object.__setattr__(self, "u", float(self.u))
        if not math.isfinite(self.value) or not (self.u is None or (math.isfinite(self.u) and self.u >= 0.0)):
            raise InputError("measured.impossible", value=f"{self.value:g}", u=f"{self.u}")

    @property
    def relative_u(self) -> float | None:
        """The standard uncertainty as a share of the value, None where either says nothing."""
        return None if self.u is None or self.value == 0.0 else self.u / abs(self.value)

    def percent(self) -> Measured:
        """Return a share of 1 as per cent."""
        return Measured(100.0 * self.value, None if self.u is None else 100.0 * self.u, "%")

    def within(self, low: float, high: float) -> bool:
        """Whether the value lies in the closed range, whatever its uncertainty; rounding errors do not count."""
        return low <= round(self.value, 12) <= high

    def text(self, *, decimal: str = ".") -> str:
        """Write it with its coverage: ``0.10214 ± 0.00010 mol/L (u, k = 1)``, or with the words ``u unknown``."""
        bare = self.bare(decimal=decimal)
        if self.u == 0.0:
            return bare
        return f"{bare} {COVERAGE}" if self.u is not None else f"{bare} (u unknown)"

    def bare(self, *, decimal: str = ".") -> str:
        """Write value and uncertainty, the latter to one or two significant digits, without the coverage.

        Two digits where the uncertainty begins with 1.00 to 3.54, one digit to 9.49, then up to 10 with two (the
        rule of the Particle Data Group, Review of Particle Physics, from memory; GUM 7.2.6 wants two at most).
        Without an uncertainty four significant digits are written, which claims nothing about their worth.
        """
        unit = f"{THIN_SPACE}{self.unit}" if self.unit else ""
        power = _power(max(abs(self.value), self.u or 0.0))
        value, u = self.value / 10.0**power, self.u if self.u is None else self.u / 10.0**power
        if u is None or u == 0.0:
            text = _plain(value, max(0, 3 - _magnitude(value)))
        else:
            places = _places(u)
            text = f"{_plain(value, places)} ± {_plain(u, places)}"
            text = f"({text})" if power else text
        text = f"{text}·10^{power}" if power else text
        return text.replace("-", MINUS).replace(".", decimal) + unit


@dataclass(frozen=True)
class Contribution:
    """One line of an uncertainty budget: an input, and what it gives to the result's standard uncertainty.

    ``effect`` is |df/dx| u(x) in the unit of the result (None where u of the input is unknown); ``share`` is its
    share of the variance, None where the variance is not known as a whole.
    """

    name: str
    measured: Measured
    effect: float | None
    share: float | None


@dataclass(frozen=True)
class Derived:
    """A result with its budget, largest contribution first; exact inputs are left out of the budget."""

    measured: Measured
    budget: tuple[Contribution, ...]


def propagate(formula: Callable[..., float], inputs: Mapping[str, Measured], unit: str = "") -> Derived:
    """Return ``formula(**inputs)`` with its standard uncertainty by the law of propagation, inputs independent.

    ``formula`` may use + - * / and ** only, so that the derivatives are analytic. u(y)² = sum of (df/dx_i)² u(x_i)²
    (GUM, JCGM 100:2008, equation 10; the linear terms only). Where an input's uncertainty is unknown, that of the
    result is unknown, and the budget still lists what is known. Raises InputError ``measured.impossible`` where
    the formula has no finite value.
    """
    from uncertainties import ufloat

    variables = {name: ufloat(each.value, each.u) for name, each in inputs.items() if each.u}
    try:
        result = formula(**{name: variables.get(name, each.value) for name, each in inputs.items()})
    except (ZeroDivisionError, OverflowError) as error:
        raise InputError("measured.impossible", value="∞", u="") from error
    value = float(getattr(result, "nominal_value", result))
    components: Mapping[object, float] = getattr(result, "error_components", dict)()
    effects = {name: abs(components.get(variable, 0.0)) for name, variable in variables.items()}
    variance = sum(effect**2 for effect in effects.values())
    is_known = all(each.u is not None for each in inputs.values())
    budget = [
        Contribution(
            name,
            inputs[name],
            effects.get(name),
            effects[name] ** 2 / variance if is_known and variance > 0.0 else None,
        )
        for name in inputs
        if inputs[name].u != 0.0
    ]
    # Unknown contributions first: they may be the largest.
    budget.sort(key=lambda line: (line.effect is not None, -(line.effect or 0.0)))
    return Derived(Measured(value, math.sqrt(variance) if is_known else None, unit), tuple(budget))


def exact(value: float, unit: str = "") -> Measured:
    """Return a number without uncertainty, such as a count or a defined constant."""
    return Measured(value, 0.0, unit)


def read_measured(text: str, unit: str = "") -> Measured:
    """Read ``0.3888 ± 0.00013`` (or with ``+-``), value and standard uncertainty; a bare number has u unknown.

    Raises InputError ``number.unreadable``, ``number.ambiguous`` and ``measured.impossible``.
    """
    value, sign, u = text.replace("+/-", "±").replace("+-", "±").partition("±")
    return Measured(parse_number(value), parse_number(u) if sign else None, unit)


def in_unit(measured: Measured, factor: float, unit: str) -> Measured:
    """Return the value times an exact factor, in another unit."""
    u = None if measured.u is None else measured.u * abs(factor)
    return Measured(measured.value * factor, u, unit)


def _magnitude(value: float) -> int:
    return math.floor(math.log10(abs(value))) if value else 0


def _power(largest: float) -> int:
    """Return the power of ten that is taken out of numbers far from bench size, 0 for most."""
    magnitude = _magnitude(largest)
    return magnitude if not -5 < magnitude < 7 else 0


def _places(u: float) -> int:
    """Return to how many decimals an uncertainty and its value are written; negative: to tens, hundreds."""
    magnitude = _magnitude(u)
    leading = round(u / 10.0 ** (magnitude - 2))
    if leading < 355:
        return 1 - magnitude
    return -magnitude


def _plain(value: float, places: int) -> str:
    # Adding zero turns a rounded -0.0 into 0.0.
    return f"{round(value, places) + 0.0:.{max(0, places)}f}"
