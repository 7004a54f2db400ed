"""Everything that the Effects view shows, as frozen values, and how it follows from an analysis."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from stirfall.bench.records import LOT_EFFECT_BENCH
from stirfall.desktop.odds.factor_axis import FactorRow, reach_of
from stirfall.desktop.odds.phrases import FEW_ATTEMPTS, counted, joined
from stirfall.reporting.effect_words import (
    effect_notes,
    effect_sentence,
    factor_span,
    odds_factor,
    sign_certainty,
    step_words,
    untried_lines,
)
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import level_percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stirfall.bench.cancel import CancelToken
    from stirfall.inference.effects import Effect
    from stirfall.inference.gate_rows import GateName
    from stirfall.inference.refined import LotEffect, LotSpread
    from stirfall.session.analysis import Analysis

MOST_LOTS = 30
"""More rows than this nobody compares; of more lots those with the most attempts are shown."""
Phase = Literal["closed", "waiting", "few", "failed", "ready"]


@dataclass(frozen=True)
class RowsBlock:
    """One block of rows: the effects on one gate, or the lots of one gate."""

    heading: str
    note: str = ""
    rows: tuple[FactorRow, ...] = ()


@dataclass(frozen=True)
class EffectsContent:
    """What one analysis says about effects; ``few`` stands alone where there are too few attempts to say it."""

    intro: str
    blocks: tuple[RowsBlock, ...]
    summary: str
    few: str = ""


@dataclass(frozen=True)
class EffectsState:
    """The whole view. ``reach`` is that of the axis which all rows share."""

    phase: Phase = "closed"
    message: str = ""
    intro: str = ""
    blocks: tuple[RowsBlock, ...] = ()
    reach: float = 10.0
    is_stale: bool = False
    summary: str = ""


def effects_state(
    content: EffectsContent | None, *, is_open: bool, is_stale: bool = False, problem: str = ""
) -> EffectsState:
    """Return the state for what is known; without content one sentence says what will appear, and when."""
    if not is_open:
        return EffectsState("closed", sentence("effects_view.closed"))
    if content is None:
        return EffectsState("failed" if problem else "waiting", problem or sentence("effects_view.waiting"))
    if content.few:
        return EffectsState("few", content.few)
    reach = reach_of(row for block in content.blocks for row in block.rows)
    intro = problem or content.intro
    return EffectsState("ready", "", intro, content.blocks, reach, is_stale, content.summary)


def effects_content(analysis: Analysis, decimal: str, token: CancelToken | None = None) -> EffectsContent:
    """Work out the effects of an analysis in words; made for a worker thread."""
    basis = basis_of(analysis)
    if analysis.base.n <= FEW_ATTEMPTS:
        few = sentence("effects_view.few", {"attempts": basis, "enough": FEW_ATTEMPTS + 1})
        return EffectsContent("", (), "", few)
    effects = analysis.effects()
    if token is not None:
        token.raise_if_cancelled()
    names = [gate.name for gate in analysis.model.gates]
    may_wait = analysis.limits.may_wait
    blocks = tuple(
        gate_block(name, [one for one in effects if one.gate == name], may_wait=may_wait, decimal=decimal)
        for name in names
    )
    level = level_percent(analysis.model.level)
    intro = sentence("effects_view.intro", {"level": level, "attempts": basis})
    if analysis.stage == "first":
        intro = " ".join((sentence("effects_view.first_answer"), intro))
    return EffectsContent(intro, (*blocks, *lot_blocks(analysis, names, decimal)), _summary(blocks))


def basis_of(analysis: Analysis) -> str:
    """Write what an answer rests on: "47 attempts", or "481 trials" where attempts hold several trials."""
    return counted(analysis.base.n, "trial" if analysis.base.of_trials else "attempt")


def gate_block(name: str, effects: Sequence[Effect], *, may_wait: bool, decimal: str) -> RowsBlock:
    """Return the effects on one gate, the surest sign first; what is not known stands below without a picture."""
    told = [effect for effect in effects if effect.is_known or effect.level is None]
    rows = [effect_row(effect, may_wait=may_wait, decimal=decimal) for effect in told]
    rows += [FactorRow(line, line, is_sure=False) for line in untried_lines(effects)]
    humped = [one.factor.name for one in effects if one.hump is not None and one.is_known]
    note = sentence("effects_view.averaged", {"factors": joined(humped)}) if humped else ""
    return RowsBlock(sentence(f"effects_view.gate.{name}"), note, tuple(rows))


def effect_row(effect: Effect, *, may_wait: bool, decimal: str) -> FactorRow:
    """Return one effect as a row: what the step does, and aside how sure that is."""
    whole = effect_sentence(effect, may_wait=may_wait, decimal=decimal)
    key = f"{effect.factor.name}:{effect.level or ''}"
    multiplier = effect.multiplier
    if multiplier is None:
        return FactorRow(key, whole, is_sure=False)
    params = {
        "step": step_words(effect, decimal=decimal),
        "gate": sentence(f"effect.gate_{effect.gate}"),
        "factor": factor_span(multiplier, decimal=decimal),
    }
    text = sentence("effect.multiplies", params)
    aside = whole.removeprefix(text).lstrip(";. ")
    beside = () if effect.hump is not None and not effect.beside else effect_notes(effect)
    return FactorRow(
        key,
        text,
        " ".join((aside[:1].upper() + aside[1:], *beside)),
        multiplier.median,
        multiplier.lower,
        multiplier.upper,
        is_sure=sign_certainty(multiplier) != "unsure",
    )


def lot_blocks(analysis: Analysis, gates: Sequence[GateName], decimal: str) -> tuple[RowsBlock, ...]:
    """Return the lots of each gate, or one block that says how they come to appear."""
    groups, one = _group_words(analysis.table.grouping)
    shown = []
    for gate in gates:
        lots = [lot for lot in analysis.lots if lot.gate == gate]
        if not lots:
            continue
        spread = analysis.lot_spread.get(gate)
        note = "" if spread is None else _spread_text(spread, gate, one, decimal)
        if len(lots) > MOST_LOTS:
            most = sentence("effects_view.most_lots", {"shown": MOST_LOTS, "lots": len(lots)})
            note = f"{note} {most}".strip()
            lots = sorted(lots, key=lambda lot: -lot.attempts)[:MOST_LOTS]
        heading = sentence(f"effects_view.lots_at.{gate}", {"groups": groups})
        shown.append(RowsBlock(heading, note, tuple(lot_row(lot, gate, decimal) for lot in lots)))
    return tuple(shown) or (RowsBlock(groups, _why_no_lots(analysis)),)


def lot_row(lot: LotEffect, gate: str, decimal: str) -> FactorRow:
    """Return one lot as a row: "L2: odds of parting ×0.6 (0.2 to 1.4), 12 attempts"."""
    mean, lower, upper = (math.exp(value) for value in (lot.mean, lot.lower, lot.upper))
    params = {
        "lot": lot.lot,
        "event": sentence(f"effect.gate_{gate}"),
        "middle": odds_factor(mean, decimal=decimal),
        "lower": odds_factor(lower, decimal=decimal),
        "upper": odds_factor(upper, decimal=decimal),
        "attempts": counted(lot.attempts),
    }
    return FactorRow(f"{gate}:{lot.lot}", sentence("effects_view.lot", params), "", mean, lower, upper)


def _spread_text(spread: LotSpread, gate: str, one: str, decimal: str) -> str:
    sizes = (("middle", spread.mean), ("lower", spread.lower), ("upper", spread.upper))
    params = {key: odds_factor(math.exp(value), decimal=decimal) for key, value in sizes}
    return sentence("effects_view.spread", {**params, "one": one, "event": sentence(f"effect.gate_{gate}")})


def _group_words(grouping: str) -> tuple[str, str]:
    """Return what the groups and one of them are called: "Lots" and "a lot"."""
    if grouping == "jar":
        return sentence("effects_view.jars"), sentence("effects_view.a_jar")
    if grouping == LOT_EFFECT_BENCH:
        return sentence("effects_view.benches"), sentence("effects_view.a_bench")
    if grouping in ("lot", "none"):
        return sentence("effects_view.lots"), sentence("effects_view.a_lot")
    return sentence("effects_view.levels", {"factor": grouping}), sentence(
        "effects_view.a_level", {"factor": grouping}
    )


def _why_no_lots(analysis: Analysis) -> str:
    table = analysis.table
    if table.grouping == "none":
        return sentence("effects_view.lots_off")
    word = table.grouping if table.grouping in ("lot", "jar", "bench") else f"“{table.grouping}”"
    if not table.group_names:
        return sentence("effects_view.no_lots", {"one": word})
    if len(table.group_names) == 1:
        return sentence("effects_view.one_lot", {"one": word, "name": table.group_names[0]})
    return sentence("effects_view.lots_later" if analysis.stage == "first" else "effects_view.lots_unknown")


def _summary(blocks: Sequence[RowsBlock]) -> str:
    first = [block.rows[0].text for block in blocks if block.rows]
    return " ".join(first)
