"""From a comparison to what the section shows: words in cards, and the numbers of the picture; pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.bench.comparisons import Measure
from stirfall.bench.units import format_number, unit_label
from stirfall.desktop.evidence.compare_state import Bar, Card, KeptLine, Picture, Strip
from stirfall.inference.proportions import Span, Stratified
from stirfall.reporting import compare_words as words
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span
from stirfall.session.comparing_records import Adjusted, BlockedMeans, Compared, Side, is_share

if TYPE_CHECKING:
    from stirfall.desktop.shown import Shown
    from stirfall.session.comparing_records import Subject

_DANGERS = ("compare.no_wait",)
_ROOM = 0.06
_LEAST_REACH = 0.25
_MOST_DOTS = 400
_MOST_LEVELS = 500


def subject_choices(subjects: tuple[Subject, ...]) -> tuple[tuple[str, str], ...]:
    """Return what groups can be about as key and word."""
    return tuple(
        (each.what, sentence(f"compare.subject_{each.what}") if _is_word(each) else each.name) for each in subjects
    )


def _is_word(subject: Subject) -> bool:
    return not subject.what.startswith("factor:")


def level_choices(subject: Subject | None) -> tuple[tuple[str, str], ...]:
    """Return the levels of a subject, each with the number of its attempts; of very many those with most."""
    if subject is None:
        return ()
    levels = subject.levels
    if len(levels) > _MOST_LEVELS:
        levels = tuple(sorted(levels, key=lambda each: -each.attempts)[:_MOST_LEVELS])
    return tuple((each.value, f"{each.value} ({each.attempts})") for each in levels)


def measure_choices() -> tuple[tuple[str, str], ...]:
    """Return what can be compared as key and words."""
    return tuple((measure.value, words.capital(words.measure_name(measure))) for measure in Measure)


def unit_of(subject: Subject | None, shown: Shown) -> str:
    """Return the unit in which the ends of a range are typed."""
    return "" if subject is None or not subject.unit else unit_label(shown.unit(subject.unit))


def warnings_of(found: Compared, decimal: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the dangers and the other warnings as sentences."""
    told = [
        (each.code in _DANGERS, line)
        for each, line in zip(found.warnings, words.warning_lines(found, decimal=decimal), strict=True)
    ]
    return tuple(line for danger, line in told if danger), tuple(line for danger, line in told if not danger)


def cards_of(found: Compared, decimal: str) -> tuple[Card, ...]:
    """Return the answer in parts; none where a group is empty."""
    many = Card("many", sentence("compare_page.many"), words.many_lines(found, decimal=decimal))
    if found.p is None:
        return (many,)
    made = (
        Card(
            "counted",
            sentence("compare_page.counted"),
            (
                "\n".join(words.count_lines(found, decimal=decimal)),
                *words.difference_lines(found, decimal=decimal)[:1],
                *words.difference_lines(found, decimal=decimal)[-1:],
                *words.probability_lines(found, decimal=decimal),
            ),
        ),
        Card(
            "lots",
            sentence("compare_page.lots"),
            (*words.blocked_lines(found, decimal=decimal), *words.lot_lines(found)),
        ),
        Card("alike", sentence("compare_page.alike"), words.adjusted_lines(found, decimal=decimal)),
        Card("cannot", sentence("compare_page.cannot"), words.cannot_tell_lines(found, decimal=decimal)),
        Card("needed", sentence("compare_page.needed"), words.needed_lines(found, decimal=decimal)),
        Card(
            "how",
            sentence("compare_page.how"),
            (
                *words.note_lines(found, decimal=decimal),
                *words.difference_lines(found, decimal=decimal)[1:-1],
                *words.chances_lines(found, decimal=decimal),
            ),
        ),
        many,
    )
    return tuple(card for card in made if card.lines)


def kept_lines(found: Compared, decimal: str) -> tuple[KeptLine, ...]:
    """Return the comparisons of the session, this one first."""
    if found.many is None:
        return ()
    return tuple(
        KeptLine(words.kept_line(each, decimal=decimal), place == 0) for place, each in enumerate(found.many.kept)
    )


def matters_text(measure: Measure, matters: float, decimal: str, unit: str = "") -> str:
    """Write the difference that matters."""
    if is_share(measure):
        return f"{round(100.0 * matters)} points"
    if measure is Measure.RECOVERY:
        return f"{round(matters)} points"
    return f"{format_number(matters, digits=2, decimal=decimal)}\u202f{unit}"


def picture_of(found: Compared, decimal: str) -> Picture | None:
    """Return the numbers of the picture; None where a group is empty."""
    if found.p is None:
        return None
    strips = tuple(_strip(found, side, decimal) for side in (found.first, found.second))
    low, high = (0.0, 1.0) if found.is_share else _ends(strips)
    bars = _bars(found, decimal)
    reach = max(
        [_LEAST_REACH if found.is_share else 0.0, found.matters]
        + [abs(end) for bar in bars for end in (bar.lower, bar.upper, bar.value) if end is not None]
    )
    reach *= 1.0 + _ROOM
    first, second = (words.name_of(side, decimal=decimal) for side in (found.first, found.second))
    return Picture(
        words.capital(words.measure_name(found.measure)),
        strips,
        low,
        high,
        "%" if found.is_share else unit_label(found.unit),
        sentence("compare_page.difference", {"first": first, "second": second}),
        bars,
        min(reach, 1.0) if found.is_share else reach,
        found.matters,
        sentence("compare_page.matters", {"difference": words.amount(found, found.matters, decimal=decimal)}),
        found.is_share,
    )


def _strip(found: Compared, side: Side, decimal: str) -> Strip:
    name = words.capital(words.name_of(side, decimal=decimal))
    dots = _thinned(tuple(dot.value for dot in side.dots), is_share=found.is_share)
    if side.share is not None:
        share = side.share
        told = f"{side.k} of {side.n}: {percent(share.value)}, {span(share.lower, share.upper)}"
        return Strip(name, told, dots, share.value, share.lower, share.upper)
    mean = side.mean
    assert mean is not None, "a group with numbers has a mean"
    value = format_number(mean.value, digits=3, decimal=decimal)
    if side.n == 1:
        return Strip(name, f"{value}\u202f{found.unit}, n = 1", dots, mean.value)
    ends = [format_number(end, digits=3, decimal=decimal) for end in (mean.lower, mean.upper)]
    told = f"{value}\u202f{found.unit}, {ends[0]} to {ends[1]}, n = {side.n}"
    return Strip(name, told, dots, mean.value, mean.lower, mean.upper)


def _thinned(values: tuple[float, ...], *, is_share: bool) -> tuple[float, ...]:
    """Return no more dots than can be told apart: of shares none beyond them, of numbers an even pick by size."""
    if len(values) <= _MOST_DOTS:
        return values
    ordered = sorted(values)
    last = len(ordered) - 1
    return () if is_share else tuple(ordered[round(at * last / (_MOST_DOTS - 1))] for at in range(_MOST_DOTS))


def _ends(strips: tuple[Strip, ...]) -> tuple[float, float]:
    values = [
        end for strip in strips for end in (*strip.dots, strip.lower, strip.upper, strip.value) if end is not None
    ]
    low, high = min(values), max(values)
    room = _ROOM * (high - low) or 0.5 * abs(high) or 1.0
    return low - room, high + room


def _bars(found: Compared, decimal: str) -> tuple[Bar, ...]:
    plain = sentence("compare_page.bar_counted")
    made = [_bar(found, plain, found.difference, decimal)]
    if found.difference is None and found.means is not None:
        value = found.means.permuted.value
        made = [Bar(plain, words.amount(found, value, decimal=decimal, signed=True), value)]
    lots, blocked = sentence("compare_page.bar_lots"), found.blocked
    if isinstance(blocked, Stratified):
        off = Span(blocked.value, blocked.lower, blocked.upper, blocked.level, blocked.attempts)
        made.append(_bar(found, lots, off, decimal))
    elif isinstance(blocked, BlockedMeans):
        value = blocked.permuted.value
        made.append(Bar(lots, words.amount(found, value, decimal=decimal, signed=True), value))
    if isinstance(found.adjusted, Adjusted):
        made.append(_bar(found, sentence("compare_page.bar_alike"), found.adjusted.difference, decimal))
    return tuple(bar for bar in made if bar is not None)


def _bar(found: Compared, name: str, off: Span | None, decimal: str) -> Bar | None:
    if off is None:
        return None
    ends = words.bare(found, off.lower, decimal=decimal), words.amount(found, off.upper, decimal=decimal)
    told = f"{words.amount(found, off.value, decimal=decimal, signed=True)}, {ends[0]} to {ends[1]}"
    return Bar(name, told, off.value, off.lower, off.upper)
