"""Recovery and expected grams in words, with everything that makes them doubtful."""

from __future__ import annotations

from stirfall.bench.units import Amount
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, interval, percent
from stirfall.session.recovery import ExpectedGrams, Recovery, RecoveryAt


def recovery_lines(
    recovery: Recovery | None, at: RecoveryAt | None, grams: ExpectedGrams | None, *, decimal: str = "."
) -> list[str]:
    """Return the recovery ``at`` some conditions (None: at the average of the attempts), the grams, and doubts."""
    if recovery is None:
        return [sentence("recovery.none")]
    shown = at or recovery.average
    said = {
        "mean": percent(shown.new_attempt.mean),
        "span": interval(shown.new_attempt),
        "attempts": counted(recovery.n),
    }
    average = {"mean": percent(shown.mean.mean), "span": interval(shown.mean)}
    lines = [sentence(f"recovery.of_{recovery.basis}", said), sentence("recovery.on_average", average)]
    lines.append(sentence("recovery.no_charge") if grams is None else grams_sentence(grams, decimal=decimal))
    return [*lines, *recovery_doubts(recovery)]


def grams_sentence(grams: ExpectedGrams, *, decimal: str = ".") -> str:
    """Say how many clean grams an attempt may be expected to give."""
    values = {"mean": grams.mean, "lower": grams.lower, "upper": grams.upper, "if_clean": grams.if_clean}
    said: dict[str, object] = {key: Amount(float(f"{value:.2g}"), "g") for key, value in values.items()}
    return sentence("recovery.grams", said | {"charge": Amount(grams.charge_g, "g")}, decimal=decimal)


def recovery_doubts(recovery: Recovery) -> list[str]:
    """Return what makes the recovery doubtful or partial, each as a sentence."""
    counts = {
        "recovery.over_one": len(recovery.over_one),
        "recovery.held": recovery.held - len(recovery.over_one),
        "recovery.unweighed": recovery.unweighed,
        "recovery.without_solids": recovery.without_solids,
    }
    return [sentence(code, {"attempts": counted(count)}) for code, count in counts.items() if count > 0]
