"""The candidate forms of the model: one gate or two, straight or with a hump."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from stirfall.bench.factors import Factor, Role
from stirfall.inference.design import Design
from stirfall.inference.gate_rows import GateName
from stirfall.inference.table import AttemptTable

_EXPOSURES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME)
_FEWEST_VALUES = 3
GATE_NAMES: Mapping[int, tuple[GateName, ...]] = {1: ("clean",), 2: ("parted", "pooled")}


@dataclass(frozen=True)
class Form:
    """One form: the number of gates and, per gate, the factor with a hump beyond those of the settings.

    ``key`` is its lasting name, in files too; ``code`` and ``params`` name the sentence that says what it is.
    """

    key: str
    humps: tuple[str | None, ...]
    code: str
    params: Mapping[str, object] = field(default_factory=dict)

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
        """Whether the form is behind the best by more than twice the standard error of the difference."""
        return self.behind > 2.0 * self.behind_se > 0.0


def candidate_forms(design: Design, table: AttemptTable) -> tuple[Form, ...]:
    """Return the forms that the attempts can speak for, the straight one with as many gates as the table first.

    A hump is a candidate in the first exposure (sample age before time under oil before hot time), the temperature
    and the stirring, where at least three values were tried and the settings do not ask for it already.
    """
    humps = _hump_factors(design, table)
    one = [_form((None,))] + [_form((name,)) for name in humps]
    if table.gates == 1:
        return tuple(one)
    two = [_form((None, None))]
    two += [_form((name, None)) for name in humps] + [_form((None, name)) for name in humps]
    return (*two, *one)


def possible_keys(factors: Sequence[Factor]) -> frozenset[str]:
    """Return the key of every form that these factors could have, whatever has been tried so far."""
    names = [factor.name for factor in factors if not factor.is_choice]
    two = [_form((name, None)) for name in names] + [_form((None, name)) for name in names]
    return frozenset(
        form.key for form in [_form((None,)), _form((None, None)), *two, *(_form((n,)) for n in names)]
    )


def union_design(design: Design, forms: Sequence[Form]) -> Design:
    """Return the design that has the terms of every form."""
    humps = dict.fromkeys(name for form in forms for name in form.humps if name is not None)
    return replace(design, humps=(*design.humps, *humps))


def gate_design(design: Design, hump: str | None) -> Design:
    """Return the design of one gate with this hump beyond those that it has."""
    return design if hump is None else replace(design, humps=(*design.humps, hump))


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


def _hump_factors(design: Design, table: AttemptTable) -> list[str]:
    numbers = [factor for factor in design.factors if not factor.is_choice]
    exposures = [factor for role in _EXPOSURES for factor in numbers if factor.role is role]
    chosen = exposures[:1] + [factor for factor in numbers if factor.role is Role.TEMPERATURE][:1]
    chosen += [factor for factor in numbers if _is_stirring(factor)][:1]
    return [
        factor.name
        for factor in dict.fromkeys(chosen)
        if factor.name not in design.humps and len(np.unique(table.columns[factor.name])) >= _FEWEST_VALUES
    ]


def _is_stirring(factor: Factor) -> bool:
    return factor.name.casefold().startswith("stir") and factor.role in (None, Role.GENERAL)
