"""What the settings may say about the model: each name must be a factor of the campaign, and of the right kind."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from dataclasses import replace

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.bench.records import (
    LOT_EFFECT_BENCH,
    LOT_EFFECT_JAR,
    LOT_EFFECT_LOT,
    LOT_EFFECT_NONE,
    CampaignSettings,
)

LOT_EFFECT_WORDS = (LOT_EFFECT_LOT, LOT_EFFECT_JAR, LOT_EFFECT_BENCH, LOT_EFFECT_NONE)


def sharing_words(choices: Collection[str]) -> tuple[str, ...]:
    """Return the words for what attempts share that are no names of ``choices``; "bench" may be such a name."""
    return tuple(word for word in LOT_EFFECT_WORDS if word != LOT_EFFECT_BENCH or word not in choices)


def checked_model(settings: CampaignSettings, factors: Collection[Factor]) -> CampaignSettings:
    """Return the settings with squares and products each named once, in the order given.

    Hidden factors may be named: hiding takes them out of the model, and showing them brings them back. Raises
    InputError ``factor.unknown``, ``design.hump_of_choice``, ``design.product_of_itself``,
    ``settings.lot_effect_unknown``, ``settings.lot_effect_of_number``, ``settings.form_unknown`` or
    ``settings.prior_not_finite``.
    """
    by_name = {factor.name: factor for factor in factors}
    for name in _named(settings):
        if name not in by_name:
            raise InputError("factor.unknown", name=name, known=_names(by_name))
    for name in settings.humps:
        if by_name[name].is_choice:
            raise InputError("design.hump_of_choice", name=name)
    for first, second in settings.products:
        if first == second:
            raise InputError("design.product_of_itself", name=first)
    _check_lot_effect(settings.lot_effect, by_name.values())
    _check_form(settings.form, by_name.values())
    for sd in (settings.intercept_prior_sd, settings.effect_prior_sd, settings.lot_sd_prior):
        if not math.isfinite(sd):
            raise InputError("settings.prior_not_finite")
    pairs: dict[frozenset[str], tuple[str, str]] = {}
    for first, second in settings.products:
        pairs.setdefault(frozenset((first, second)), (first, second))
    return replace(settings, humps=tuple(dict.fromkeys(settings.humps)), products=tuple(pairs.values()))


def check_model_keeps(settings: CampaignSettings, factors: Collection[Factor]) -> None:
    """Raise InputError where new factors would take away what the model names, or change its kind.

    Raises ``factor.in_model`` for a factor that is gone, ``factor.in_model_number`` or ``factor.in_model_choice``
    for one of the other kind.
    """
    new = {factor.name: factor for factor in factors}
    own_word = settings.lot_effect in LOT_EFFECT_WORDS
    for name in [*_named(settings), *(() if own_word else (settings.lot_effect,))]:
        if name not in new:
            raise InputError("factor.in_model", name=name)
    for name in settings.humps:
        if new[name].is_choice:
            raise InputError("factor.in_model_number", name=name)
    if not own_word and not new[settings.lot_effect].is_choice:
        raise InputError("factor.in_model_choice", name=settings.lot_effect)


def _check_lot_effect(wanted: str, factors: Collection[Factor]) -> None:
    if wanted in LOT_EFFECT_WORDS:
        return
    choices = [factor.name for factor in factors if factor.is_choice]
    if wanted in choices:
        return
    if any(factor.name == wanted for factor in factors):
        raise InputError("settings.lot_effect_of_number", name=wanted)
    raise InputError("settings.lot_effect_unknown", name=wanted, known=_names([*LOT_EFFECT_WORDS, *choices]))


def _check_form(wanted: str, factors: Collection[Factor]) -> None:
    if not wanted:
        return
    from stirfall.inference.forms import possible_keys

    if wanted not in possible_keys(tuple(factors)):
        raise InputError("settings.form_unknown", form=wanted)


def _named(settings: CampaignSettings) -> list[str]:
    return [*settings.humps, *(name for pair in settings.products for name in pair)]


def _names(names: Iterable[str]) -> str:
    return ", ".join(names) or "none"
