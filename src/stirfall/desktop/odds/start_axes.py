"""Along which factors the pictures start."""

from __future__ import annotations

from stirfall.bench.factors import Factor, Role


def first_axis(factors: tuple[Factor, ...]) -> str:
    """Return the sample age, else any exposure, else a film index, the first number, the first factor."""
    for role in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME, Role.FILM_INDEX):
        for factor in factors:
            if factor.role is role and not factor.is_choice:
                return factor.name
    numbers = [factor.name for factor in factors if not factor.is_choice]
    return numbers[0] if numbers else factors[0].name


def first_pair(factors: tuple[Factor, ...], axis: str) -> tuple[str, str]:
    """Return the axis and the temperature, else another number; empty names when there are not two."""
    others = [factor for factor in factors if not factor.is_choice and factor.name != axis]
    others.sort(key=lambda factor: factor.role is not Role.TEMPERATURE)
    is_number = any(factor.name == axis and not factor.is_choice for factor in factors)
    return (axis, others[0].name) if others and is_number else ("", "")
