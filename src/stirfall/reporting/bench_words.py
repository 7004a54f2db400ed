"""What benches say of each other in plain sentences and as JSON, and how pooling went."""

from __future__ import annotations

from collections.abc import Sequence

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.units import format_number
from stirfall.inference.group_left_out import GroupForetold
from stirfall.inference.proportions import Span
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, counted, interval, level_percent, percent, span
from stirfall.session.benches import BenchResult, BenchSpread, HoldsElsewhere
from stirfall.session.benches_nested import Level, NestedAnswer
from stirfall.session.pooling import Pooled, SourceCount


def said(reason: Reason, *, decimal: str = ".") -> str:
    """Return a reason as its sentence."""
    return sentence(reason.code, reason.params, decimal=decimal)


# ------------------------------------------------------------------------------------------------ other benches


def new_bench_text(found: HoldsElsewhere, *, decimal: str = ".", given: bool = False) -> str:
    """Say the chance at the recipe of a bench not seen yet, or why there is no recipe."""
    if found.why_no_recipe is not None:
        return sentence("benches.no_recipe", {"why": said(found.why_no_recipe, decimal=decimal)})
    if found.new_bench is None:
        return ""
    about = {
        "chance": percent(found.new_bench.mean),
        "interval": interval(found.new_bench),
        "level": level_percent(found.new_bench.level),
        "basis": basis(found.new_bench),
    }
    return sentence("benches.given_new_one" if given else "benches.new_one", about)


def clean_text(bench: BenchResult) -> str:
    """Say how many attempts of a bench were clean, with Wilson's interval."""
    if bench.clean is None:
        return sentence("benches.no_clean")
    share: Span = bench.clean
    about = {
        "clean": round(share.value * share.n),
        "trials": share.n,
        "share": percent(share.value),
        "interval": span(share.lower, share.upper),
    }
    return sentence("benches.clean", about)


def recipe_text(bench: BenchResult) -> str:
    """Say the chance of a bench at the recipe, "" where none is known."""
    if bench.at_recipe is None:
        return ""
    about = {"chance": percent(bench.at_recipe.mean), "interval": interval(bench.at_recipe)}
    return sentence("benches.at_recipe", about)


def foretold_text(bench: BenchResult, *, decimal: str = ".") -> str:
    """Say what the other benches foretold of a bench, and what it got."""
    told = bench.foretold
    if told is None:
        return sentence("benches.not_foretold")
    about = {
        "expected": format_number(round(told.expected, 1), decimal=decimal),
        "trials": round(told.trials),
        "lower": round(told.lower),
        "upper": round(told.upper),
        "clean": round(told.clean),
    }
    words = sentence("benches.foretold", about)
    return f"{words}: {judged(told)}"


def judged(told: GroupForetold) -> str:
    """Say how what a bench got stands to what the others foretold."""
    if not told.is_inside:
        return sentence("benches.fewer" if told.clean < told.lower else "benches.more")
    return sentence("benches.says_little" if told.is_wide else "benches.as_foretold")


def score_text(told: GroupForetold, *, decimal: str = ".") -> str:
    """Say the log score per trial of a bench beside what was to be expected."""

    def each(value: float) -> str:
        return format_number(round(value / told.trials, 2), decimal=decimal)

    about = {
        "score": each(told.score),
        "expected": each(told.score_expected),
        "lower": each(told.score_lower),
        "upper": each(told.score_upper),
        "plain": each(told.score_plain),
    }
    return sentence("benches.score", about)


def spread_text(spread: BenchSpread, level: float, *, decimal: str = ".") -> str:
    """Say how much benches differ at one gate."""

    def written(value: float) -> str:
        return format_number(value, digits=2, decimal=decimal)

    ratio, lower, upper = (written(value) for value in spread.ratio)
    about = {
        "event": sentence(f"effect.gate_{spread.gate}"),
        "ratio": ratio,
        "lower": lower,
        "upper": upper,
        "level": level_percent(level),
        "sd": written(spread.sd),
        "sd_lower": written(spread.lower),
        "sd_upper": written(spread.upper),
    }
    return sentence("benches.spread", about)


def spread_texts(found: HoldsElsewhere, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how much benches differ, gate by gate."""
    if not found.spreads:
        return (sentence("benches.no_spread"),) if len(found.benches) > 1 else ()
    return tuple(spread_text(each, found.level, decimal=decimal) for each in found.spreads)


def nested_texts(found: HoldsElsewhere, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how much benches, and lots within them, differ where both are allowed for; empty where they are not."""
    nested = found.nested
    if nested is None:
        return ()

    def written(value: float) -> str:
        return format_number(value, digits=2, decimal=decimal)

    texts = []
    for bench, lot in zip(nested.benches, nested.lots, strict=True):
        about = {"event": sentence(f"effect.gate_{bench.gate}"), "level": level_percent(found.level)}
        about |= {"benches": written(bench.sd), "benches_low": written(bench.lower)}
        about |= {"benches_high": written(bench.upper), "lots": written(lot.sd)}
        about |= {"lots_low": written(lot.lower), "lots_high": written(lot.upper)}
        texts.append(sentence("benches.nested", about))
    if nested.new_lot is not None:
        chance = {"chance": percent(nested.new_lot.mean), "interval": interval(nested.new_lot)}
        chance |= {"level": level_percent(nested.new_lot.level), "basis": basis(nested.new_lot)}
        texts.append(sentence("benches.nested_new", chance))
    return tuple(texts)


def bench_lines(found: HoldsElsewhere, *, decimal: str = ".", given: bool = False) -> list[str]:
    """Return the whole answer as lines of text, the verdict first."""
    lines = [said(found.verdict, decimal=decimal)]
    answer = new_bench_text(found, decimal=decimal, given=given)
    lines += [answer] if answer else []
    for bench in found.benches:
        lots = f", {counted(bench.lots, 'lot')}" if bench.lots else ""
        lines += ["", f"{bench.name}: {counted(bench.attempts)}{lots}", f"  {clean_text(bench)}"]
        lines += [f"  {text}" for text in (recipe_text(bench),) if text]
        if len(found.benches) > 1:
            lines.append(f"  {foretold_text(bench, decimal=decimal)}")
        if bench.foretold is not None:
            lines.append(f"  {score_text(bench.foretold, decimal=decimal)}")
    spreads = (*spread_texts(found, decimal=decimal), *nested_texts(found, decimal=decimal))
    notes = [said(note, decimal=decimal) for note in found.notes]
    return [*lines, *([""] if spreads or notes else []), *spreads, *notes]


def benches_json(found: HoldsElsewhere) -> dict[str, object]:
    """Return the whole answer for programs."""
    return {
        "level": found.level,
        "used": found.used,
        "verdict": {"code": found.verdict.code, "text": said(found.verdict)},
        "recipe": None if found.recipe is None else dict(found.recipe),
        "why_no_recipe": None if found.why_no_recipe is None else said(found.why_no_recipe),
        "new_bench": None if found.new_bench is None else _estimate(found.new_bench),
        "benches": [_bench(each) for each in found.benches],
        "spread": [
            {"gate": each.gate, "sd": each.sd, "lower": each.lower, "upper": each.upper, "ratio": list(each.ratio)}
            for each in found.spreads
        ],
        "nested": None if found.nested is None else _nested(found.nested),
        "notes": [{"code": note.code, "text": said(note)} for note in found.notes],
    }


def _nested(nested: NestedAnswer) -> dict[str, object]:
    def level(each: Level) -> dict[str, object]:
        return {"gate": each.gate, "sd": each.sd, "lower": each.lower, "upper": each.upper}

    return {
        "benches": [level(each) for each in nested.benches],
        "lots": [level(each) for each in nested.lots],
        "new_lot": None if nested.new_lot is None else _estimate(nested.new_lot),
    }


def _bench(bench: BenchResult) -> dict[str, object]:
    clean, told = bench.clean, bench.foretold
    return {
        "name": bench.name,
        "attempts": bench.attempts,
        "lots": bench.lots,
        "clean": None
        if clean is None
        else {
            "clean": round(clean.value * clean.n),
            "trials": clean.n,
            "share": clean.value,
            "lower": clean.lower,
            "upper": clean.upper,
        },
        "at_recipe": None if bench.at_recipe is None else _estimate(bench.at_recipe),
        "foretold": None
        if told is None
        else {
            "expected": told.expected,
            "lower": told.lower,
            "upper": told.upper,
            "clean": told.clean,
            "trials": told.trials,
            "inside": told.is_inside,
            "says_little": told.is_wide,
            "tail": told.tail,
            "others": told.others,
            "score": told.score,
            "score_expected": told.score_expected,
            "score_lower": told.score_lower,
            "score_upper": told.score_upper,
            "score_plain": told.score_plain,
        },
    }


def _estimate(estimate: Estimate) -> dict[str, object]:
    return {
        "mean": estimate.mean,
        "lower": estimate.lower,
        "upper": estimate.upper,
        "level": estimate.level,
        "n": estimate.n,
    }


# ------------------------------------------------------------------------------------------------------ pooling


def source_text(source: SourceCount) -> str:
    """Say what one session brought."""
    about = {
        "bench": source.bench,
        "title": source.title,
        "attempts": counted(source.attempts),
        "taken": source.taken,
        "repeated": source.repeated,
        "same_as": source.same_as,
    }
    if source.same_as:
        return sentence("pool.source_copy", about)
    return sentence("pool.source_repeats" if source.repeated else "pool.source", about)


def pool_lines(pooled: Pooled, *, decimal: str = ".") -> list[str]:
    """Return how pooling went as lines of text: sources, refusals or the sum, notes."""
    lines = [source_text(source) for source in pooled.sources]
    if pooled.state is not None:
        lines.append(sum_text(pooled))
    told: Sequence[Reason] = (*pooled.refusals, *pooled.notes)
    return lines + [said(reason, decimal=decimal) for reason in told]


def sum_text(pooled: Pooled) -> str:
    """Say what the pooled session holds, "" where there is none."""
    if pooled.state is None:
        return ""
    state = pooled.state
    benches = len({attempt.origin.bench for attempt in state.attempts if attempt.origin is not None})
    about = {
        "attempts": counted(len(state.attempts)),
        "benches": f"{benches} bench" if benches == 1 else f"{benches} benches",
        "lots": counted(len(state.lots), "lot"),
        "jars": counted(len(state.jars), "jar"),
    }
    return sentence("pool.sum", about)


def pool_json(pooled: Pooled) -> dict[str, object]:
    """Return how pooling went for programs."""
    state = pooled.state
    return {
        "pooled": state is not None,
        "title": None if state is None else state.settings.title,
        "attempts": 0 if state is None else len(state.attempts),
        "sources": [
            {
                "bench": each.bench,
                "place": each.place,
                "title": each.title,
                "attempts": each.attempts,
                "taken": each.taken,
                "repeated": each.repeated,
                "versions": each.versions,
                "same_as": each.same_as or None,
            }
            for each in pooled.sources
        ],
        "refusals": [{"code": each.code, "text": said(each)} for each in pooled.refusals],
        "notes": [{"code": each.code, "text": said(each)} for each in pooled.notes],
    }
