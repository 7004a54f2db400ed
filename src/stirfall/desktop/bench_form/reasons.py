"""Why the person goes past a warning: one line for all that has no reason yet, kept with each warning; pure.

A reason holds for a warning with the amounts that it was given for: a new value asks anew, another unit does not.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stirfall.bench.run_facts import AcceptedWarning
from stirfall.planning.findings import Finding
from stirfall.reporting.sentences import sentence

SUGGESTED = "suggested by this program"


@dataclass(frozen=True)
class Warned:
    """One finding that wants a reason: the words in which it is shown, and the reason given so far.

    ``plain`` are the words without the reader's decimal sign and units, "" where they are those of ``text``.
    """

    finding: Finding
    text: str
    reason: str
    plain: str = ""

    @property
    def key(self) -> str:
        """What the reason holds for."""
        return reason_key(self.finding, self.plain or self.text)


def reason_key(found: Finding, plain: str) -> str:
    """Return what a reason holds for: this limit, on this factor, with these amounts in whatever unit is shown."""
    return f"{found.code}|{found.factor or ''}|{plain}"


def warned_of(
    findings: tuple[Finding, ...],
    given: Mapping[str, str],
    *,
    planned: frozenset[str],
    decimal: str,
) -> tuple[Warned, ...]:
    """Return the findings that want a reason, with the reasons given.

    Where the value of a factor was suggested by this program (``planned``), that is its reason until another is
    given.
    """
    made = []
    for found in findings:
        if found.level != "warn":
            continue
        text = sentence(found.code, found.params, decimal=decimal)
        usual = SUGGESTED if found.factor in planned else ""
        plain = sentence(found.code, found.params)
        made.append(Warned(found, text, given.get(reason_key(found, plain), usual), plain))
    return tuple(made)


def shown_reason(warned: tuple[Warned, ...], given: Mapping[str, str]) -> str:
    """Return the text of the one line: empty while a warning has no reason, else the reason given last."""
    if not warned or any(not item.reason for item in warned):
        return ""
    order = {key: at for at, key in enumerate(given)}
    return max(warned, key=lambda item: order.get(item.key, -1)).reason


def with_reason(warned: tuple[Warned, ...], given: Mapping[str, str], text: str) -> dict[str, str]:
    """Return the reasons after the line was typed.

    It holds for every warning that has what the line showed, and for one whose reason is blank.
    """
    old = shown_reason(warned, given)
    keys = [item.key for item in warned if item.reason == old or not item.reason.strip()]
    return {**{key: kept for key, kept in given.items() if key not in keys}, **dict.fromkeys(keys, text)}


def is_answered(warned: tuple[Warned, ...]) -> bool:
    """Whether every warning has its reason."""
    return all(item.reason.strip() for item in warned)


def accepted(
    warned: tuple[Warned, ...], findings: tuple[Finding, ...], *, abort_reason: str, aborted: bool, decimal: str
) -> tuple[AcceptedWarning, ...]:
    """Return the warnings gone past as an attempt keeps them.

    A broken-off attempt keeps every warning and block with the reason why it was broken off: that a run beyond a
    limit happened is exactly what must be on record.
    """
    if not aborted:
        return tuple(
            AcceptedWarning(item.finding.code, item.finding.factor or "", item.text, item.reason.strip())
            for item in warned
        )
    return tuple(
        AcceptedWarning(
            found.code,
            found.factor or "",
            sentence(found.code, found.params, decimal=decimal),
            abort_reason.strip(),
        )
        for found in findings
        if found.level != "note"
    )
