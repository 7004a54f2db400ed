"""What the second grades say, in sentences: how many agree, kappa, and what it means for learning."""

from __future__ import annotations

from stirfall.bench.units import MINUS, THIN_SPACE
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import level_percent, span
from stirfall.session.regrading import Comparison


def agreement_lines(comparison: Comparison, *, decimal: str = ".") -> tuple[str, ...]:
    """Return the sentences about the agreement of first and second grades, the main one first."""
    found = comparison.agreement
    if found.observed is None:
        return (sentence("agreement.none"),)
    share = {
        "same": round(found.observed.mean * found.n),
        "share": f"{round(100.0 * found.observed.mean)}{THIN_SPACE}%",  # what was counted, so it may be all or none
        "interval": span(found.observed.lower, found.observed.upper),
        "level": level_percent(found.level),
        "n": found.n,
    }
    lines = [sentence("regrade.agreement_one" if found.n == 1 else "regrade.agreement", share)]
    if found.kappa is None or found.lower is None or found.upper is None:
        lines.append(sentence("agreement.one_class"))
    else:
        kappa = {
            name: f"{value:.2f}".replace("-", MINUS).replace(".", decimal)
            for name, value in (("kappa", found.kappa), ("lower", found.lower), ("upper", found.upper))
        }
        lines.append(sentence("regrade.kappa", kappa))
    if comparison.is_low:
        lines.append(sentence("regrade.low" if comparison.is_surely_low else "regrade.low_perhaps"))
    return tuple(lines)


def differing_lines(comparison: Comparison) -> tuple[str, ...]:
    """Return a sentence for each attempt whose second grade is not the first."""
    return tuple(
        sentence("regrade.differs", {"number": each.number, "first": each.first.value, "second": each.second.value})
        for each in comparison.differing
    )
