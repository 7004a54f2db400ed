"""A quick fit for rehearsed campaigns: one form, attempts as independent, few draws."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.inference.design import Design
from stirfall.inference.forms import GATE_NAMES, Form, gate_design, union_design
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import rows_of_gates
from stirfall.inference.odds import GateFit, OddsModel
from stirfall.inference.table import build_table
from stirfall.planning.box import Box, Columns
from stirfall.planning.candidates import candidate_columns, tried_conditions
from stirfall.planning.control import Control, control_of
from stirfall.planning.draws import thin
from stirfall.planning.first_design import usual_columns
from stirfall.planning.goals import Goal
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.objectives import objective_for
from stirfall.planning.recommended import find_best
from stirfall.planning.rehearsal_task import Rules
from stirfall.planning.suggestions import box_for

DRAWS = 512
_DRAWS_FOR_BEST = 256
_CANDIDATES = 256


class Recipe(NamedTuple):
    """The conditions to recommend, ``columns`` of one row, in their box, and how well they are held."""

    box: Box
    control: Control
    columns: Columns


def quick_fit(rules: Rules, state: CampaignState) -> OddsModel:
    """Fit the form of the rules to the attempts of ``state`` with ``DRAWS`` draws per gate.

    The same points are used in every campaign, so that they are made once.
    """
    design, table = build_table(state, gates=rules.gates, filler=rules.filler, without=rules.without)
    settings, form = state.settings, _fitting(rules.form, design, table.gates)
    union = design if form is None else union_design(design.without(form.without), [form])
    gates = []
    for place, name in enumerate(GATE_NAMES[table.gates]):
        shape = design if form is None else gate_design(design, form.humps[place], form.without)
        rows = rows_of_gates(table, shape)[name]
        sd = shape.prior_sd(settings.intercept_prior_sd, settings.effect_prior_sd)
        posterior = fit_gate(rows, sd, draws=DRAWS, seed=place)
        if len(shape.terms) != len(union.terms):
            places = [union.terms.index(term) for term in shape.terms]
            draws = np.zeros((len(posterior.draws), len(union.terms)))
            draws[:, places] = posterior.draws
            posterior = replace(posterior, draws=draws)
        gates.append(GateFit(name, posterior, round(float(rows.k.sum())), posterior.n_trials))
    return OddsModel(union, tuple(gates), table.counts, settings.level, gates[0].n)


def _fitting(form: Form | None, design: Design, gates: int) -> Form | None:
    """Return the form where its humps are of factors that the attempts still have, and its gates are theirs."""
    if form is None or form.gates != gates:
        return None
    names = {factor.name for factor in design.without(form.without).factors}
    return form if all(hump is None or hump in names for hump in form.humps) else None


def quick_best(model: OddsModel, limits: OperatingLimits, state: CampaignState, *, seed: int) -> Recipe:
    """Return the conditions to recommend now, as ``recommended.best`` does with fewer candidates and draws."""
    box = box_for(model, limits, Goal.RELIABLE)
    columns = candidate_columns(box, tried_conditions(state), count=_CANDIDATES, seed=seed)
    control = control_of(box, model.design)
    if limits.tried.any_graded:
        draws, objective = thin(model, _DRAWS_FOR_BEST), objective_for(Goal.RELIABLE, limits)
        chosen, _ = find_best(box, draws, columns, seed, objective=objective, control=control)
    else:
        chosen = usual_columns(box, columns)
    return Recipe(box, control, chosen)
