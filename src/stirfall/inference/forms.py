"""The candidate forms of the model: one gate or two, straight or with a hump, by age or by film index."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from stirfall.bench.factors import FILM_INDEX_NAME, Factor, Role
from stirfall.inference.design import Design
from stirfall.inference.gate_rows import GateName
from stirfall.inference.table import AttemptTable

_EXPOSURES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME)
_FEWEST_VALUES = 3
_SMALL_DIFFERENCE = 4.0
GATE_NAMES: Mapping[int, tuple[GateName, ...]] = {1: ("clean",), 2: ("parted", "pooled")}


@dataclass(frozen=True)
class Form:
    """One form: the number of gates and, per gate, the factor with a hump beyond those of the settings.

    ``without`` names factors of the campaign that this form leaves out. ``key`` is its lasting name, in files too;
    ``code`` and ``params`` name the sentence that says what it is.
    """

    key: str
    humps: tuple[str | None, ...]
    code: str
    params: Mapping[str, object] = field(default_factory=dict)
    without: tuple[str, ...] = ()

    @property
    def gates(self) -> int:
        """One or two."""
        return len(self.humps)


@dataclass(frozen=True)
class FormScore:
    """A form and how well it foretold attempts that it had not seen.

    ``log_score`` is the sum over the scored attempts of the log leave-one-out probability of what was seen (clean
    or not), ``log_score_se`` its standard error; ``behind`` how much less that is than the best form's, with the
    standard error of the paired difference. ``pareto_k`` is the largest (NaN: first-order formula);
    ``log_marginal`` the log marginal likelihood, to be compared among forms with as many gates only. ``weight`` is
    its share in the answer.
    """

    form: Form
    weight: float
    log_score: float
    log_score_se: float
    behind: float
    behind_se: float
    pareto_k: float
    log_marginal: float
    is_pinned: bool = False

    @property
    def is_distinguishable(self) -> bool:
        """Whether the form is behind the best by more than its noise: twice the standard error, and at least 4.

        Below 4 the standard error is itself too small with few attempts (Sivula, Magnusson, Matamoros & Vehtari
        2020, arXiv 2008.10296; the source is quoted from memory).
        """
        return self.behind > max(2.0 * self.behind_se, _SMALL_DIFFERENCE) and self.behind_se > 0.0


def candidate_forms(design: Design, table: AttemptTable) -> tuple[Form, ...]:
    """Return the forms that the attempts can speak for, the straight one with as many gates as the table first.

    A hump is a candidate in the first exposure (sample age before time under oil before hot time; a film index that
    is alone comes last), the temperature and the stirring, where at least three values were tried and the settings
    do not ask for it already. Where the campaign has a film index beside an age, the forms are by age, and one more
    by the film index in its place.
    """
    film = _film_index(design.factors)
    ages = tuple(factor.name for factor in _exposures(design.factors) if factor.name != film)
    by_film = film if ages else None
    humps = _hump_factors([factor for factor in design.factors if factor.name != by_film], design, table)
    one = [_form((None,))] + [_form((name,)) for name in humps]
    two = [_form((None, None))]
    two += [_form((name, None)) for name in humps] + [_form((None, name)) for name in humps]
    if by_film is not None:
        one = [replace(form, without=(by_film,)) for form in one] + [_by_film((None,), by_film, ages)]
        two = [replace(form, without=(by_film,)) for form in two] + [_by_film((None, None), by_film, ages)]
    return tuple(one) if table.gates == 1 else (*two, *one)


def possible_keys(factors: Sequence[Factor]) -> frozenset[str]:
    """Return the key of every form that these factors could have, whatever has been tried so far."""
    names = [factor.name for factor in factors if not factor.is_choice]
    forms = [_form((None,)), _form((None, None))]
    for name in names:
        forms += [_form((name,)), _form((name, None)), _form((None, name))]
    film = _film_index(factors)
    if film is not None:
        forms += [_by_film((None,), film, ()), _by_film((None, None), film, ())]
    return frozenset(form.key for form in forms)


def union_design(design: Design, forms: Sequence[Form]) -> Design:
    """Return the design that has the terms of every form."""
    humps = dict.fromkeys(name for form in forms for name in form.humps if name is not None)
    return replace(design, humps=(*design.humps, *humps))


def gate_design(design: Design, hump: str | None, without: tuple[str, ...] = ()) -> Design:
    """Return the design of one gate with this hump beyond those that it has, and without some factors."""
    kept = design.without(without) if without else design
    return kept if hump is None else replace(kept, humps=(*kept.humps, hump))


def _film_index(factors: Sequence[Factor]) -> str | None:
    """Return the name of the film index, None where the campaign has none; it is known by its role or its name."""
    numbers = [factor for factor in factors if not factor.is_choice]
    by_role = (factor.name for factor in numbers if factor.role is Role.FILM_INDEX)
    return next(by_role, None) or next((f.name for f in numbers if f.name.casefold() == FILM_INDEX_NAME), None)


def _exposures(factors: Sequence[Factor]) -> list[Factor]:
    """Return the numbers that are exposures to time: sample ages, then times under oil, then hot times."""
    return [factor for role in _EXPOSURES for factor in factors if factor.role is role and not factor.is_choice]


def _by_film(humps: tuple[str | None, ...], film: str, ages: tuple[str, ...]) -> Form:
    if len(humps) == 1:
        return Form(f"one gate, {film} in place of age", humps, "form.film_one", {"factor": film}, ages)
    return Form(f"two gates, {film} in place of age", humps, "form.film_two", {"factor": film}, ages)


def _form(humps: tuple[str | None, ...]) -> Form:
    if len(humps) == 1:
        (name,) = humps
        if name is None:
            return Form("one gate, straight", humps, "form.straight_one")
        return Form(f"one gate, hump in {name}", humps, "form.hump_one", {"factor": name})
    for gate, name in enumerate(humps, 1):
        if name is not None:
            params = {"factor": name, "gate": gate}
            return Form(f"two gates, hump in {name} at gate {gate}", humps, "form.hump_two", params)
    return Form("two gates, straight", humps, "form.straight_two")


def _hump_factors(factors: Sequence[Factor], design: Design, table: AttemptTable) -> list[str]:
    numbers = [factor for factor in factors if not factor.is_choice]
    films = [factor for factor in numbers if factor.role is Role.FILM_INDEX]
    chosen = (_exposures(numbers) or films)[:1] + [factor for factor in numbers if factor.role is Role.TEMPERATURE][
        :1
    ]
    chosen += [factor for factor in numbers if _is_stirring(factor)][:1]
    return [
        factor.name
        for factor in dict.fromkeys(chosen)
        if factor.name not in design.humps and len(np.unique(table.columns[factor.name])) >= _FEWEST_VALUES
    ]


def _is_stirring(factor: Factor) -> bool:
    return factor.name.casefold().startswith("stir") and factor.role in (None, Role.GENERAL)
