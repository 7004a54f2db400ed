"""A recipe from its JSON: an issued recipe is shown again from what was issued, whatever the program can do now.

Everything that a sheet says is in the JSON as finished words; numbers that moved since are not worked out anew.
Parts that an older program did not write are left out, parts that a newer one added are passed over.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from typing import Literal, cast

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate
from stirfall.bench.materials import Caution, Cautions, MaterialClass
from stirfall.bench.substances import NOTHING_KNOWN, Substances
from stirfall.reporting.recipe_batch import BatchLine, BatchSize, BatchWarning
from stirfall.reporting.recipe_parts import (
    CurveMark,
    Evidence,
    EvidenceAttempt,
    Handbook,
    Recipe,
    RecipeCurve,
    RecipeProof,
    RecipeValue,
    Remark,
    RemarkLevel,
    Step,
)
from stirfall.storage.compact import expand

Json = Mapping[str, object]
Level = Literal["block", "warn", "note"]
_NAME = "stirfall.recipe/"
_LARGEST = 1e15


def recipe_from_text(text: str, *, number: int | None = None) -> Recipe:
    """Return the recipe that a JSON text holds, with its number where it was issued.

    Raises InputError ``recipe.not_readable`` where the text is no recipe of this program.
    """
    try:
        document = json.loads(text, parse_constant=_refuse)
        if not isinstance(document, dict) or not str(document.get("schema", "")).startswith(_NAME):
            raise InputError("recipe.not_readable", number=number or 0)
        return replace(_Reader(document).recipe(number), source=text)
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError, RecursionError) as error:
        raise InputError("recipe.not_readable", number=number or 0) from error


class _Reader:
    def __init__(self, document: Json) -> None:
        self._all = document

    def recipe(self, number: int | None) -> Recipe:
        every, material = self._all, _part(self._all, "material")
        session, batch, handbook = _part(every, "session"), every.get("batch"), every.get("handbook")
        curve = every.get("curve")
        return Recipe(
            title=_text(every, "title"),
            session_name=_text(session, "name"),
            fingerprint=_text(session, "fingerprint"),
            program_version=_text(_part(every, "program"), "version"),
            created_at=datetime.fromisoformat(_text(every, "created_at")),
            invented=bool(every["invented"]),
            blocked=bool(every["blocked"]),
            metal=_text(material, "metal"),
            melting_point_c=_number(material, "melting_point_c"),
            oil=_text(material, "oil"),
            oil_flash_c=_number(material, "oil_flash_c"),
            materials=_texts(material, "lines"),
            substances=_substances(material),
            probability=_estimate(_part(every, "probability")),
            gates=tuple((name, _estimate(cast("Json", each))) for name, each in _part(every, "gates").items()),
            drop=_sure(every, "drop_points") / 100.0,
            values=tuple(_value(each) for each in _rows(every, "conditions")),
            steps=tuple(_step(each) for each in _rows(every, "steps")),
            evidence=_evidence(_part(every, "evidence"), _part(every, "probability")),
            remarks=tuple(_remark(each) for each in _rows(every, "remarks")),
            limits=_texts(every, "limits"),
            cautions=_cautions(_part(every, "cautions"), _text(material, "class")),
            curve=_curve(cast("Json", curve)) if curve is not None else None,
            proofs=tuple(_proof(each) for each in _rows(every, "proofs")),
            batch=_batch(cast("Json", batch)) if batch is not None else None,
            handbook=_handbook(cast("Json", handbook)) if handbook is not None else None,
            number=number,
        )


# --------------------------------------------------------------------------------------------------------- parts


def _estimate(every: Json) -> Estimate:
    mean, lower, upper = _shares(every)
    level = _sure(every, "level_percent") / 100.0
    return Estimate(mean, lower, upper, level, int(_sure(every, "n")), bool(every.get("of_trials", False)))


def _shares(every: Json) -> tuple[float, float, float]:
    """Return mean and bounds as shares; what is named as beyond 1 or 99 per cent lies outside these again."""
    beyond = _texts(every, "beyond")

    def share(name: str) -> float:
        whole = _sure(every, name)
        if name not in beyond:
            return whole / 100.0
        return 0.001 if whole < 50 else 0.999

    return share("percent"), share("lower_percent"), share("upper_percent")


def _drawn(every: Json) -> tuple[float, float, float]:
    mille = every.get("drawn_permille")
    if not isinstance(mille, list):
        return _shares(every)
    mean, lower, upper = (_plain(each) / 1000.0 for each in mille)
    return mean, lower, upper


def _value(every: Json) -> RecipeValue:
    value = every["value"]
    return RecipeValue(
        name=_text(every, "name"),
        unit=_text(every, "unit"),
        value=value if isinstance(value, str) else _sure(every, "value"),
        low=_number(every, "low"),
        high=_number(every, "high"),
        levels=_texts(every, "levels"),
        note=_text(every, "note"),
        filled=not every["given"],
        tried=bool(every["tried"]),
    )


def _step(every: Json) -> Step:
    return Step(
        heading=_text(every, "heading"),
        text=_text(every, "text"),
        names=_texts(every, "conditions"),
        amounts=tuple((_text(each, "label"), _text(each, "amount")) for each in _rows(every, "amounts")),
        timer_s=_number(every, "timer_s"),
        see=_text(every, "see"),
        otherwise=_text(every, "otherwise"),
        bench=_text(every, "bench"),
    )


def _evidence(every: Json, chance: Json) -> Evidence:
    inside, priors, sampler = _part(every, "inside_all_ranges"), _part(every, "priors"), _part(every, "sampler")
    used = int(_sure(every, "attempts_used"))
    return Evidence(
        used=used,
        clean=int(_number(every, "clean") or 0),
        trials=int(_number(every, "trials") or _sure(chance, "n")),
        outcomes=_counts(every, "outcomes"),
        left_out=_counts(every, "left_out"),
        inside=(int(_sure(inside, "clean")), int(_sure(inside, "trials"))),
        sentences=_texts(every, "method"),
        priors=(_sure(priors, "intercept_sd"), _sure(priors, "effect_sd")),
        draws=int(_sure(sampler, "draws")),
        effective_sample_size=_sure(sampler, "effective_sample_size"),
        pareto_k=_sure(sampler, "pareto_k"),
        sound=bool(sampler["sound"]),
        attempts=tuple(_attempt(each) for each in _rows(every, "attempts")),
    )


def _attempt(every: Json) -> EvidenceAttempt:
    return EvidenceAttempt(
        _text(every, "id"),
        int(_sure(every, "number")),
        _text(every, "outcome"),
        bool(every["counts"]),
        _text(every, "digest"),
    )


def _remark(every: Json) -> Remark:
    return Remark(cast("RemarkLevel", _text(every, "level")), _text(every, "code"), _text(every, "text"))


def _cautions(every: Json, material: str) -> Cautions:
    items = tuple(
        Caution(_text(each, "key"), _text(each, "text"), _text(each, "source"), bool(each.get("check", False)))
        for each in _rows(every, "items")
    )
    return Cautions(MaterialClass(material), _text(every, "headline"), items)


def _curve(every: Json) -> RecipeCurve:
    points, tried = _rows(every, "points"), cast("Sequence[float] | None", every.get("tried"))
    shares, x = [_drawn(each) for each in points], [_sure(each, "x") for each in points]
    if len(x) < 2 or any(after <= before for before, after in pairwise(x)):
        raise ValueError(x)
    return RecipeCurve(
        factor=_text(every, "factor"),
        unit=_text(every, "unit"),
        log=every["scale"] == "log",
        x=tuple(x),
        mean=tuple(each[0] for each in shares),
        lower=tuple(each[1] for each in shares),
        upper=tuple(each[2] for each in shares),
        tried=None if tried is None else (_plain(tried[0]), _plain(tried[1])),
        at=_sure(every, "at"),
        marks=tuple(CurveMark(_sure(each, "x"), bool(each["clean"])) for each in _rows(every, "attempts")),
    )


def _proof(every: Json) -> RecipeProof:
    interval = cast("Sequence[int] | None", every.get("interval_percent"))
    lower = _number(every, "lower_bound_percent")
    return RecipeProof(
        title=_text(every, "title"),
        started_at=datetime.fromisoformat(_text(every, "started_at")),
        verdict=_text(every, "verdict"),
        rule=_text(every, "rule"),
        claim=_sure(every, "claim_percent") / 100.0,
        confidence=_sure(every, "confidence_percent") / 100.0,
        made=int(_sure(every, "attempts")),
        failures=int(_sure(every, "failures")),
        lower_percent=None if lower is None else int(lower),
        interval_percent=None if interval is None else (int(interval[0]), int(interval[1])),
        is_result=bool(every.get("interval_is_result", False)),
        lines=_texts(every, "text"),
    )


def _batch(every: Json) -> BatchSize:
    return BatchSize(
        charge_g=_number(every, "charge_g"),
        from_g=_number(every, "from_g"),
        largest_g=_number(every, "largest_proven_g"),
        lines=tuple(_batch_line(each) for each in _rows(every, "quantities")),
        warnings=tuple(
            BatchWarning(cast("Level", _text(each, "level")), _text(each, "code"), _text(each, "text"))
            for each in _rows(every, "warnings")
        ),
        asked=_texts(every, "asked"),
        scaled=tuple((name, _plain(each)) for name, each in _part(every, "scaled_conditions").items()),
    )


def _batch_line(every: Json) -> BatchLine:
    return BatchLine(
        key=_text(every, "key"),
        name=_text(every, "name"),
        unit=_text(every, "unit"),
        before=_number(every, "before"),
        after=_number(every, "after"),
        shown_before=_text(every, "before_text"),
        shown_after=_text(every, "after_text"),
        how=_text(every, "how"),
        is_estimate=bool(every.get("estimate", False)),
    )


def _handbook(every: Json) -> Handbook:
    names = ("purpose", "apparatus", "tested", "failures", "unknown", "references")
    return Handbook(*(_texts(every, name) for name in names))


def _substances(material: Json) -> Substances:
    known = material.get("known")
    return expand(Substances, known) if isinstance(known, dict) else NOTHING_KNOWN


# ------------------------------------------------------------------------------------------------------- values


def _part(every: Json, name: str) -> Json:
    part = every.get(name, {})
    if not isinstance(part, dict):
        raise TypeError(name)
    return part


def _rows(every: Json, name: str) -> tuple[Json, ...]:
    rows = every.get(name) or []
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise TypeError(name)
    return tuple(rows)


def _text(every: Json, name: str) -> str:
    return str(every.get(name, ""))


def _texts(every: Json, name: str) -> tuple[str, ...]:
    texts = every.get(name) or []
    if not isinstance(texts, list):
        raise TypeError(name)
    return tuple(map(str, texts))


def _number(every: Json, name: str) -> float | None:
    value = every.get(name)
    return None if value is None else _plain(value)


def _sure(every: Json, name: str) -> float:
    return _plain(every[name])


def _plain(value: object) -> float:
    """Return a number that a bench can mean; raises ValueError for one that is not finite, or absurd."""
    number = float(cast("float", value))
    if not abs(number) <= _LARGEST:
        raise ValueError(number)
    return number


def _refuse(constant: str) -> float:
    raise ValueError(constant)


def _counts(every: Json, name: str) -> tuple[tuple[str, int], ...]:
    return tuple((word, int(cast("int", count))) for word, count in _part(every, name).items())
