"""Comparisons in words: the headline, the counts, the difference, and what it may and may not be taken for.

Shares in whole per cent and differences of shares in whole points, with interval and n; chances of tests as people
say them. Every function returns finished lines.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from stirfall.bench.comparisons import Measure
from stirfall.bench.estimates import Reason
from stirfall.bench.units import THIN_SPACE, format_number
from stirfall.inference.proportions import Span, Stratified
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, level_percent, percent, span
from stirfall.session.comparing_records import (
    Adjusted,
    CannotTell,
    Compared,
    Kept,
    Needed,
    Side,
)

_SMALLEST = 0.001


def headline(found: Compared, *, decimal: str = ".") -> str:
    """Say it in one sentence."""
    return capital(_text(found.headline, decimal))


def short_headline(found: Compared, *, decimal: str = ".") -> str:
    """Say it in one sentence where the groups are named beside it: "3 of 9 against 7 of 10"."""
    sides = {"first": _reached(found, found.first), "second": _reached(found, found.second)}
    params = {key: sides.get(key, value) for key, value in found.headline.params.items()}
    return capital(sentence(found.headline.code, params, decimal=decimal))


def _reached(found: Compared, side: Side) -> Reason:
    if side.share is not None:
        return Reason("compare.side_short", {"k": side.k, "n": side.n})
    mean = math.nan if side.mean is None else float(f"{side.mean.value:.3g}")
    return Reason("compare.side_short_number", {"mean": mean, "unit": found.unit})


def capital(text: str) -> str:
    """Return the text with a capital first letter."""
    return text[:1].upper() + text[1:]


def name_of(side: Side, *, decimal: str = ".") -> str:
    """Say who belongs to a group."""
    return _text(side.name, decimal)


def measure_name(measure: Measure) -> str:
    """Say what is compared."""
    return sentence(f"compare.measure_{measure.name.lower()}")


def chance_text(p: float, *, decimal: str = ".") -> str:
    """Write the chance of a test: whole per cent from 1 % on, two digits below, never nothing at all."""
    if p < _SMALLEST:
        return f"less than {format_number(100 * _SMALLEST, decimal=decimal)}{THIN_SPACE}%"
    if p < 0.01:
        return f"{format_number(100.0 * p, digits=1, decimal=decimal)}{THIN_SPACE}%"
    return f"{round(100.0 * p)}{THIN_SPACE}%"


def chance_digits(p: float, *, decimal: str = ".") -> str:
    """Write the chance of a test with the digits that a reader may want to check: 0.148."""
    if p < _SMALLEST:
        return f"below {format_number(_SMALLEST, decimal=decimal)}"
    return format_number(p, digits=3 if p >= 0.01 else 2, decimal=decimal)


def amount(found: Compared, value: float, *, decimal: str = ".", signed: bool = False) -> str:
    """Write a difference of the measure: whole points of a share, a number with its unit."""
    if found.is_share:
        whole = round(100.0 * value)
        text = format_number(float(whole), decimal=decimal)
        unit = " point" if abs(whole) == 1 else " points"
    elif found.measure is Measure.RECOVERY:
        text, unit = _off(value, decimal), " points"
    else:
        text, unit = _off(value, decimal), f"{THIN_SPACE}{found.unit}"
    return f"{'+' if signed and value > 0 and text != '0' else ''}{text}{unit}"


def bare(found: Compared, value: float, *, decimal: str = ".") -> str:
    """Write a difference without its unit, as it stands before "to"."""
    return format_number(float(round(100.0 * value)), decimal=decimal) if found.is_share else _off(value, decimal)


def count_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say what each group reached, with its interval."""
    return tuple(capital(_counts(found, side, decimal)) for side in (found.first, found.second))


def difference_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how large the difference is, first less second, and how often chance alone gives as much."""
    if found.p is None:
        return ()
    off = found.difference
    n = found.first.n + found.second.n
    if off is None:
        assert found.means is not None, "shares always have a difference"
        value = amount(found, found.means.permuted.value, decimal=decimal, signed=True)
        lines = [sentence("compare.difference_only", {"difference": value, "n": n})]
    else:
        lines = [sentence("compare.difference", {**_span_params(found, off, decimal), "n": n})]
    if found.shares is not None:
        lines.append(sentence("compare.difference_score", _span_params(found, found.shares.score, decimal)))
    return (*lines, _by_chance(found, decimal))


def chances_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say the chances of the tests one by one; none for numbers, which have one test."""
    shares = found.shares
    if shares is None:
        return ()
    if shares.boschloo.method == "score":
        return (sentence("compare.tests_score"),)
    if shares.boschloo.method == "fisher":
        return (sentence("compare.tests_fisher"),)
    tests = {name: getattr(shares, name) for name in ("boschloo", "barnard", "fisher")}
    two = {name: chance_digits(found.two_sided, decimal=decimal) for name, found in tests.items()}
    one = {name: chance_digits(getattr(shares.boschloo, name), decimal=decimal) for name in ("greater", "less")}
    return sentence("compare.tests", two), sentence("compare.tests_sides", one)


def probability_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how likely it is that one group is really ahead, each by itself."""
    if found.probability is None:
        return ()
    side, chance = _ahead(found, found.probability)
    params: dict[str, object] = {"name": name_of(side, decimal=decimal), "chance": percent(chance)}
    if found.shares is not None:
        return (sentence("compare.posterior", params),)
    larger = None if found.means is None else found.means.larger
    assert larger is not None, "it has a probability"
    spans = _span_params(found, larger.difference, decimal)
    return (sentence("compare.posterior_mean", {**params, **spans}),)


def blocked_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say what lots compared with themselves say, or why they cannot be."""
    made = found.blocked
    if isinstance(made, Reason):
        return (_text(made, decimal),)
    used = made.used if isinstance(made, Stratified) else made.permuted.used
    left = made.left_out if isinstance(made, Stratified) else made.permuted.left_out
    params = {"lots": counted(len(used), "lot"), "attempts": counted(made.attempts)}
    lines = []
    if isinstance(made, Stratified):
        off = Span(made.value, made.lower, made.upper, made.level, made.attempts)
        lines.append(sentence("compare.blocked", {**params, **_span_params(found, off, decimal)}))
        p = made.p
    else:
        value = amount(found, made.permuted.value, decimal=decimal, signed=True)
        lines.append(sentence("compare.blocked_mean", {**params, "difference": value}))
        p = made.permuted.p
    lines.append(sentence("compare.blocked_chance", {"p": chance_text(p, decimal=decimal)}))
    if left:
        lines.append(sentence("compare.blocked_left", {"attempts": counted(left)}))
    return tuple(lines)


def lot_lines(found: Compared) -> tuple[str, ...]:
    """Say the counts of each lot that has both groups."""
    if not isinstance(found.blocked, Stratified):
        return ()
    return tuple(
        capital(
            sentence("compare.blocked_lot", {name: getattr(lot, name) for name in ("name", "k1", "n1", "k2", "n2")})
        )
        for lot in found.blocked.used
    )


def adjusted_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how the groups compare with all else alike, through the model, or why that cannot be said."""
    made = found.adjusted
    if not isinstance(made, Adjusted):
        return (_text(made, decimal),)
    first, second = (name_of(side, decimal=decimal) for side in (found.first, found.second))
    params: dict[str, object] = {"first": first, "second": second, **_span_params(found, made.difference, decimal)}
    for key, share in (("first", made.first), ("second", made.second)):
        params[f"{key}_share"], params[f"{key}_span"] = percent(share.value), span(share.lower, share.upper)
    side, chance = _ahead(found, made.probability)
    how: dict[str, object] = {"rows": made.rows}
    if made.first_at is not None and made.second_at is not None:
        how |= {"first_at": _text(made.first_at, decimal), "second_at": _text(made.second_at, decimal)}
    return (
        sentence("compare.adjusted", params),
        sentence("compare.adjusted_chance", {"name": name_of(side, decimal=decimal), "chance": percent(chance)}),
        sentence(f"compare.adjusted_{made.how}", how),
    )


def cannot_tell_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say the smallest difference that these attempts can tell."""
    told = found.cannot_tell
    if told is None:
        return ()
    attempts = counted(found.first.n + found.second.n, "trial" if _of_trials(found) else "attempt")
    if told.smallest is None:
        code = "compare.cannot_tell_any" if found.is_share else "compare.cannot_tell_numbers"
        return (sentence(code, {"attempts": attempts}),)
    smallest = amount(found, told.smallest, decimal=decimal)
    return (
        sentence("compare.cannot_tell", {"attempts": attempts, "smallest": smallest}),
        sentence("compare.cannot_tell_means"),
    )


def needed_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how many attempts a difference that matters takes, and one as large as was seen."""
    told: CannotTell | None = found.cannot_tell
    if told is None or (told.smallest is None and not found.is_share):
        return ()
    if found.no_wait:
        return (sentence("compare.needed_no_wait"),)
    pairs = ((told.matters, "compare.needed"), (told.observed, "compare.needed_observed"))
    return tuple(_needed(found, each, code, decimal) for each, code in pairs if each is not None)


def many_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how many comparisons were made, and what their number does to this one."""
    many = found.many
    if many is None:
        return ()
    if many.made == 1:
        return (sentence("compare.many_one"),)
    lines = [sentence("compare.many", {"made": many.made, "by_chance": percent(many.by_chance)})]
    if many.p is not None and many.adjusted is not None:
        chances = {
            "p": chance_text(many.p, decimal=decimal),
            "adjusted": chance_text(many.adjusted, decimal=decimal),
        }
        code = "compare.many_adjusted" if many.method == "holm" else "compare.many_bounded"
        if chances["p"] == chances["adjusted"]:
            code = "compare.many_same"
        lines.append(sentence(code, {"made": many.made, **chances}))
    return tuple(lines)


def kept_line(kept: Kept, *, decimal: str = ".") -> str:
    """Say one comparison of the session with its chance as of now."""
    if kept.p is None or kept.adjusted is None:
        told = sentence("compare.kept_unknown")
    else:
        chances = {name: chance_text(getattr(kept, name), decimal=decimal) for name in ("p", "adjusted")}
        told = sentence("compare.kept_chance", chances)
    names = {"first": _text(kept.first, decimal), "second": _text(kept.second, decimal)}
    params: Mapping[str, object] = {**names, "measure": measure_name(kept.comparison.measure), "p": told}
    return capital(sentence("compare.kept", params))


def warning_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say what else is not alike in the groups, a danger first."""
    return tuple(_text(each, decimal) for each in found.warnings)


def note_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say what was left out, and how it was counted."""
    return tuple(_text(each, decimal) for each in found.notes)


def all_lines(found: Compared, *, decimal: str = ".") -> tuple[str, ...]:
    """Say all of it, the headline first."""
    return (
        headline(found, decimal=decimal),
        *warning_lines(found, decimal=decimal),
        *count_lines(found, decimal=decimal),
        *difference_lines(found, decimal=decimal),
        *chances_lines(found, decimal=decimal),
        *probability_lines(found, decimal=decimal),
        *blocked_lines(found, decimal=decimal),
        *lot_lines(found),
        *adjusted_lines(found, decimal=decimal),
        *cannot_tell_lines(found, decimal=decimal),
        *needed_lines(found, decimal=decimal),
        *many_lines(found, decimal=decimal),
        *note_lines(found, decimal=decimal),
    )


def _counts(found: Compared, side: Side, decimal: str) -> str:
    name = name_of(side, decimal=decimal)
    if not side.n:
        return sentence(
            "compare.counts_none", {"name": name, "what": sentence(f"compare.what_{found.measure.name.lower()}")}
        )
    if side.share is not None:
        share = {"share": percent(side.share.value), "span": span(side.share.lower, side.share.upper)}
        level = level_percent(side.share.level)
        return sentence("compare.counts", {"name": name, "k": side.k, "n": side.n, **share, "level": level})
    assert side.mean is not None, "a group with numbers has a mean"
    params: dict[str, object] = {"name": name, "unit": found.unit, "n": side.n}
    params |= {key: _number(getattr(side.mean, key), decimal) for key in ("lower", "upper")}
    params |= {"mean": _number(side.mean.value, decimal), "level": level_percent(side.mean.level)}
    return sentence("compare.counts_number" if math.isfinite(side.mean.lower) else "compare.counts_one", params)


def _by_chance(found: Compared, decimal: str) -> str:
    assert found.p is not None, "it was compared"
    params: dict[str, object] = {"p": chance_text(found.p, decimal=decimal)}
    if found.means is not None and not found.means.permuted.exact:
        drawn = {
            "drawn": found.means.permuted.arrangements,
            "p_se": chance_text(found.means.permuted.p_se, decimal=decimal),
        }
        return sentence("compare.by_chance_drawn", {**params, **drawn})
    return sentence("compare.by_chance", params)


def _needed(found: Compared, needed: Needed, code: str, decimal: str) -> str:
    params: dict[str, object] = {"difference": amount(found, needed.difference, decimal=decimal)}
    if needed.per_group is None:
        return sentence("compare.needed_unknown", params)
    if not (needed.more_first or needed.more_second):
        more = sentence("compare.needed_enough")
    elif needed.more_first == needed.more_second:
        more = sentence("compare.needed_more_each", {"first": needed.more_first})
    else:
        side = "_first" if not needed.more_second else "_second" if not needed.more_first else ""
        counts = {"first": needed.more_first, "second": needed.more_second}
        code_of_more = f"compare.needed_more{side}"
        more = sentence(code_of_more, counts)
    per_group = counted(needed.per_group, "trial" if _of_trials(found) else "attempt")
    return sentence(code, {**params, "per_group": per_group, "more": more})


def _of_trials(found: Compared) -> bool:
    return any(dot.trials > 1 for side in (found.first, found.second) for dot in side.dots)


def _ahead(found: Compared, probability: float) -> tuple[Side, float]:
    """Return the group that is more likely ahead, with its chance to have more."""
    return (found.first, probability) if probability >= 0.5 else (found.second, 1.0 - probability)


def _span_params(found: Compared, off: Span, decimal: str) -> dict[str, object]:
    return {
        "difference": amount(found, off.value, decimal=decimal, signed=True),
        "lower": bare(found, off.lower, decimal=decimal),
        "upper": amount(found, off.upper, decimal=decimal),
        "level": level_percent(off.level),
    }


def _number(value: float, decimal: str) -> str:
    return format_number(value, digits=3, decimal=decimal)


def _off(value: float, decimal: str) -> str:
    """Write a difference of numbers: two digits, for a handful of attempts carries no more."""
    return format_number(value, digits=2, decimal=decimal)


def _text(reason: Reason, decimal: str) -> str:
    return sentence(reason.code, reason.params, decimal=decimal)
