"""From numbers to one plain sentence: not told apart, probably better, or better beyond chance; pure.

The limits are our own proposal. Beyond chance: the p with all comparisons counted is at most 5 %, and whatever
else answers agrees as surely: within lots p at most 5 %, with all else alike a posterior chance of 97.5 % (its
95 % interval is to one side of none), and of numbers the same chance where each group has a scatter of its own,
for permutations find too much where the smaller group scatters more. One attempt is never beyond chance.
Probably: all posterior chances at hand are at least 95 %, and one-sided p within lots is at most 10 %. What
lots or like conditions contradict is not called better, nor is anything where the groups share nothing in
something else.
"""

from __future__ import annotations

from stirfall.bench.estimates import Reason, whole_percent
from stirfall.inference.proportions import Span, Stratified
from stirfall.session.comparing_records import Adjusted, BlockedMeans, Compared, Side, Verdict, more_is_better

BEYOND = 0.05
PROBABLY = 0.95
_SURE = 0.975
_LOTS_ALONG = 0.10


def verdict_of(found: Compared) -> Verdict:
    """Return what may be said of the difference."""
    if not found.first.n or not found.second.n:
        return "nothing"
    ahead = leading(found)
    if ahead == 0 or _is_contradicted(found, ahead):
        return "apart"
    if _is_beyond(found, ahead):
        return "beyond"
    chances = _chances(found, ahead)
    if chances:
        return "probably" if min(chances) >= PROBABLY and _lots_go_along(found, ahead) else "apart"
    return "probably" if found.p is not None and found.p <= BEYOND else "apart"


def _is_beyond(found: Compared, ahead: int) -> bool:
    many = found.many
    if many is None or many.adjusted is None or many.adjusted > BEYOND or min(found.first.n, found.second.n) < 2:
        return False
    if found.means is not None and (found.probability is None or _toward(found.probability, ahead) < _SURE):
        return False
    if isinstance(found.adjusted, Adjusted) and _toward(found.adjusted.probability, ahead) < _SURE:
        return False
    within = _p_within_lots(found)
    return within is None or within <= BEYOND


def _lots_go_along(found: Compared, ahead: int) -> bool:
    """Whether lots compared with themselves, where they can be, speak for the group ahead at all clearly."""
    made = found.blocked.permuted if isinstance(found.blocked, BlockedMeans) else found.blocked
    if isinstance(made, Reason):
        return True
    return (made.greater if ahead > 0 else made.less) <= _LOTS_ALONG


def leading(found: Compared) -> int:
    """Return 1 where the first group has more, -1 where the second has, 0 where neither."""
    value = raw_difference(found)
    return (value > 0) - (value < 0)


def raw_difference(found: Compared) -> float:
    """Return the difference that was seen, first less second."""
    if found.shares is not None:
        return found.shares.hybrid.value
    return 0.0 if found.means is None else found.means.permuted.value


def _is_contradicted(found: Compared, ahead: int) -> bool:
    """Whether lots compared with themselves, or like conditions, speak for the other group."""
    within = _within_lots(found)
    if within is not None and within * ahead < 0:
        return True
    return isinstance(found.adjusted, Adjusted) and _toward(found.adjusted.probability, ahead) < 0.5


def headline_of(found: Compared) -> Reason:
    """Return the comparison in one sentence."""
    if found.verdict == "nothing":
        empty = [side for side in (found.first, found.second) if not side.n]
        code = "compare.both_empty" if len(empty) == 2 else "compare.one_empty"
        return Reason(code, {"name": empty[0].name, "what": _what(found)})
    ahead = leading(found)
    chances = _chances(found, ahead)
    params: dict[str, object] = {
        "first": _said(found, found.first),
        "second": _said(found, found.second),
        "better": (found.first if (ahead > 0) == more_is_better(found.measure) else found.second).name,
    }
    if found.verdict == "apart":
        return Reason(_apart(found, ahead, chances), {**params, "chance": whole_percent(min(chances, default=0.5))})
    if found.no_wait:
        code = f"compare.headline_differ_{found.verdict}"
        return Reason(code, params)
    sure = "beyond" if found.verdict == "beyond" else "probably" if chances else "perhaps"
    if any(_is_whole(each) for each in found.warnings):
        code = f"compare.headline_else_{sure}"
        return Reason(code, params)
    kind = "better" if more_is_better(found.measure) else "quicker"
    code = f"compare.headline_{kind}_{sure}"
    return Reason(code, {**params, "chance": whole_percent(min(chances, default=0.5))})


def _is_whole(warning: Reason) -> bool:
    """Whether the groups have nothing in common there; other days alone are how a bench works."""
    return warning.params.get("share") == 0 and warning.code != "compare.days_apart"


def _apart(found: Compared, ahead: int, chances: list[float]) -> str:
    """Return the code of what is not told apart; where the counts alone would have said more, why it is not."""
    if found.p is None or found.p > BEYOND or ahead == 0:
        return "compare.headline_apart"
    if _is_contradicted(found, ahead):
        return "compare.headline_contradicted"
    if min(chances, default=1.0) >= PROBABLY:
        return "compare.headline_apart" if _lots_go_along(found, ahead) else "compare.headline_lots_apart"
    if found.no_wait:
        return "compare.headline_apart"
    return "compare.headline_plain_only"


def _what(found: Compared) -> Reason:
    code = f"compare.what_{found.measure.name.lower()}"
    return Reason(code)


def _said(found: Compared, side: Side) -> Reason:
    """Return a group with what it reached: "lot L1 3 of 9"."""
    if found.is_share:
        return Reason("compare.side_share", {"name": side.name, "k": side.k, "n": side.n})
    mean = side.mean.value if isinstance(side.mean, Span) else 0.0
    params = {"name": side.name, "mean": written(mean), "unit": found.unit, "n": side.n}
    return Reason("compare.side_number" if side.n > 1 else "compare.side_one_number", params)


def written(value: float) -> float:
    """Return a number with the three digits that a handful of attempts carries at most."""
    return float(f"{value:.3g}")


def _chances(found: Compared, ahead: int) -> list[float]:
    """Return how likely it is that the group ahead is ahead, as each answer that there is has it."""
    plain = [] if found.probability is None else [_toward(found.probability, ahead)]
    through = [_toward(found.adjusted.probability, ahead)] if isinstance(found.adjusted, Adjusted) else []
    return plain + through


def _toward(probability: float, ahead: int) -> float:
    return probability if ahead > 0 else 1.0 - probability


def _within_lots(found: Compared) -> float | None:
    if isinstance(found.blocked, Stratified):
        return found.blocked.value
    return found.blocked.permuted.value if isinstance(found.blocked, BlockedMeans) else None


def _p_within_lots(found: Compared) -> float | None:
    if isinstance(found.blocked, Stratified):
        return found.blocked.p
    return found.blocked.permuted.p if isinstance(found.blocked, BlockedMeans) else None
