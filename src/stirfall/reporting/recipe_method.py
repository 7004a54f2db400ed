"""How the answer of a recipe was found, in words: gates, forms and their weights, lots, priors and sampler."""

from __future__ import annotations

from collections.abc import Sequence

from stirfall.bench.outcomes import Parted
from stirfall.bench.records import LOT_EFFECT_BENCH, LOT_EFFECT_NONE
from stirfall.bench.units import format_number
from stirfall.inference.forms import FormScore
from stirfall.inference.lot_laplace import is_many
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, level_percent, percent
from stirfall.session.analysis import Analysis

_MOST_FORMS = 3


def method_sentences(analysis: Analysis, *, decimal: str = ".") -> tuple[str, ...]:
    """Return the sentences that a reader needs to find the same answer again."""
    level = level_percent(analysis.state.settings.level)
    dropped = analysis.model.counts.dropped_factors
    return (
        f"Bayesian logistic regression. {_gates(analysis)}",
        *partly_rule(analysis),
        _shapes(analysis),
        *_film(analysis),
        *_forms(analysis.forms, differ=analysis.forms_differ),
        *_lots(analysis, decimal),
        _priors(analysis, decimal),
        _sampler(analysis, decimal),
        f"Intervals hold {level} of the posterior and know only what was varied.",
        *((f"Left out for want of values: {', '.join(dropped)}.",) if dropped else ()),
    )


def _gates(analysis: Analysis) -> str:
    seen = {score.form.gates for score in analysis.forms if score.weight > 0} or {len(analysis.model.gates)}
    if seen == {1, 2}:
        return "In forms with two gates the chance is that of parting times that of pooling after parting."
    if seen == {2}:
        return "The chance is that of parting times that of pooling after parting (two gates)."
    return "The chance is that of a clean separation (one gate)."


def partly_rule(analysis: Analysis) -> tuple[str, ...]:
    """Return what partly parted counts as, where that is not simply failed: the record's words do not tell it."""
    partly = analysis.state.settings.partly
    if partly == "failed":
        return ()
    used = set(analysis.table.ids)
    count = sum(each.parted is Parted.PARTLY for each in analysis.state.attempts if each.id in used)
    return (sentence(f"recipe.partly.{partly}", {"attempts": counted(count)}),)


def _shapes(analysis: Analysis) -> str:
    design = analysis.base.design
    text = "Each factor acts by a straight line on the log odds, on its own scale"
    if design.humps:
        text += f", with a hump in {', '.join(design.humps)}"
    if any(score.weight > 0 and any(score.form.humps) for score in analysis.forms):
        text += ", but for the humps of the forms named below"
    if design.products:
        text += f", and with the product of {'; of '.join(' and '.join(pair) for pair in design.products)}"
    return f"{text}."


def _film(analysis: Analysis) -> tuple[str, ...]:
    """Say where the film index of attempts and of the answer comes from, where it follows from the ages."""
    name = analysis.follows
    return () if name is None else (sentence("recipe.film_follows", {"factor": name}),)


def _forms(forms: Sequence[FormScore], *, differ: bool) -> tuple[str, ...]:
    """Name the heaviest forms with their weights; nothing in the first answer, which has one form."""
    if not forms:
        return ("A first answer: one form, and attempts of one lot taken as independent.",)
    pinned = [score for score in forms if score.is_pinned]
    if pinned:
        return (f"Only one form is used, as the campaign settings say: {_name(pinned[0])}.",)
    if len(forms) == 1:
        return (f"One form could be told from the values tried: {_name(forms[0])}.",)
    heavy = sorted(forms, key=lambda score: -score.weight)[:_MOST_FORMS]
    rest = len(forms) - len(heavy)
    named = "; ".join(f"{_name(score)}, {percent(score.weight)}" for score in heavy)
    more = f"; {rest} more share the rest" if rest else ""
    noise = "" if differ else " Their scores do not differ beyond their noise."
    text = f"{len(forms)} forms are weighed by how well each foretold every attempt from the others"
    return (f"{text}: {named}{more}.{noise}",)


def _name(score: FormScore) -> str:
    name = sentence(score.form.code, score.form.params)
    return name[:1].lower() + name[1:].rstrip(".")


def _lots(analysis: Analysis, decimal: str) -> tuple[str, ...]:
    """Say what attempts share, and whether the answer is for a known one or for a new one."""
    if analysis.stage == "first":
        return ()
    grouping, known = analysis.table.grouping, len(analysis.table.group_names)
    if grouping == LOT_EFFECT_NONE:
        return ("Every attempt counts as independent, whatever its lot.",)
    if known < 2:
        return (f"Fewer than two of “{grouping}” are known, so nothing is said about how they differ.",)
    scale = format_number(analysis.state.settings.lot_sd_prior, digits=3, decimal=decimal)
    new = "a bench not seen yet" if grouping == LOT_EFFECT_BENCH else "a new one"
    answer = f"{new}, with all that it may differ" if analysis.lot is None else f"“{analysis.lot}”"
    text = f"Attempts of the same {grouping} may be alike beyond their conditions ({known} known)"
    return (
        f"{text}: half-normal prior of scale {scale} for the spread of their log odds.",
        f"The chance is for {answer}.",
    )


def _priors(analysis: Analysis, decimal: str) -> str:
    settings = analysis.state.settings
    base, effect = (
        format_number(value, digits=3, decimal=decimal)
        for value in (settings.intercept_prior_sd, settings.effect_prior_sd)
    )
    return (
        f"Priors: normal around zero, standard deviation {base} for the intercept and {effect} for each effect "
        "over half the campaign's range."
    )


def _sampler(analysis: Analysis, decimal: str) -> str:
    if analysis.stage == "refined" and any(is_many(rows) for rows in analysis.rows.values()):
        return "Found by a normal approximation around the mode, which so many attempts allow."
    health = analysis.model.health
    size = format_number(health.effective_sample_size, digits=4, decimal=decimal)
    shape = format_number(health.pareto_k, digits=2, decimal=decimal)
    state = "sound" if health.is_sound else "doubtful: do not trust the interval"
    found = f"Found by importance sampling with {health.draws} draws: effective size {size}, Pareto k {shape}"
    return f"{found} ({state})."
