"""Everything that one attempt keeps beyond conditions and grades, as it is read in the ledger; pure."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.records import Attempt
from stirfall.bench.units import Amount, format_quantity
from stirfall.desktop.bench_form.film_line import film_text
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.seen import SEEN
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES, SHEET
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.sentences import sentence

_LOOK = "Surface before melting"


@dataclass(frozen=True)
class FactLine:
    """One line: what it is, what stands there, and whether it is to be looked at (``is_warning``)."""

    label: str
    text: str
    is_warning: bool = False


@dataclass(frozen=True)
class FactSection:
    """A few lines under one heading."""

    title: str
    lines: tuple[FactLine, ...]


def fact_sections(attempt: Attempt, campaign: CampaignState, decimal: str) -> tuple[FactSection, ...]:
    """Return what was seen, the limits that were gone past, and the weighings, each with its heading."""
    sections = (
        FactSection("Where it was made", _origin(attempt)),
        FactSection("What was seen", _seen(attempt, campaign, decimal)),
        FactSection("Limits gone past", _gone_past(attempt)),
        FactSection("Weighing", _weighing(attempt, campaign, decimal)),
    )
    return tuple(section for section in sections if section.lines)


def _origin(attempt: Attempt) -> tuple[FactLine, ...]:
    """Return where a pooled attempt was made; nothing for this session's own."""
    origin = attempt.origin
    if origin is None:
        return ()
    session = f"“{origin.session}”, attempt {origin.number}"
    return (
        FactLine("Bench", origin.bench),
        FactLine("Session", session),
        FactLine("Its fingerprint", origin.fingerprint[:16]),
    )


def _seen(attempt: Attempt, campaign: CampaignState, decimal: str) -> tuple[FactLine, ...]:
    from stirfall.session.film import film_of_attempt

    facts = attempt.facts
    values = {quantity: getattr(facts, quantity.name) for quantity in SEEN}
    lines = [FactLine(_LOOK, facts.look)] if facts.look else []
    lines += [FactLine(label, text) for label, text in (("Who", facts.operator), ("Tool", facts.tool)) if text]
    for quantity, value in values.items():
        if value is not None:
            text = format_quantity(value, quantity.unit, digits=4, decimal=decimal)
            lines.append(FactLine(titled(quantity.label), text))
    film = film_of_attempt(campaign, attempt)
    if film is not None:
        label, _, band = film_text(film, campaign, decimal).partition("index ")
        lines.append(FactLine(f"{label}index", band))
    if facts.ticked:
        lines.append(FactLine("Start checklist", _ticked(attempt, campaign)))
    missing = [] if facts.look else [_LOOK.lower()]
    missing += [quantity.label for quantity, value in values.items() if value is None]
    missing += [] if facts.operator else ["who"]
    missing += [] if facts.tool else ["tool"]
    missing += [] if facts.ticked else ["start checklist"]
    if missing:
        lines.append(FactLine("Not noted", ", ".join(missing)))
    return tuple(lines)


def _ticked(attempt: Attempt, campaign: CampaignState) -> str:
    count = len(attempt.facts.ticked)
    known = {item.key for item in load_cautions(campaign.settings.material).checklist}
    whole = known <= set(attempt.facts.ticked)
    return f"all {count} lines ticked that day" if whole else f"{count} lines ticked that day"


def _gone_past(attempt: Attempt) -> tuple[FactLine, ...]:
    return tuple(
        FactLine(f"⚠ {kept.text}", f"Why: {kept.reason}" if kept.reason else "no reason given", is_warning=True)
        for kept in attempt.facts.accepted
    )


def _weighing(attempt: Attempt, campaign: CampaignState, decimal: str) -> tuple[FactLine, ...]:
    from stirfall.session.weighing import attempt_weighing

    result = attempt_weighing(campaign, attempt)
    if result.is_empty:
        return ()
    lines = [*_masses(attempt, decimal), *_sheet(attempt, decimal)]
    shares = {
        "Gross yield": result.gross_yield,
        "Metal recovery": result.recovery,
        "Closure": result.closure,
        "Closure without the oil": result.corrected_closure,
    }
    for label, share in shares.items():
        if share is not None:
            lines.append(FactLine(label, share.percent().text(decimal=decimal)))
    if result.oil_film_g is not None:
        lines.append(FactLine("Oil on the beads, estimated", result.oil_film_g.text(decimal=decimal)))
    for flag in result.flags:
        is_warning = flag.level == "warn"
        sign = "⚠ To look at" if is_warning else "• Note"
        lines.append(FactLine(sign, sentence(flag.code, flag.params, decimal=decimal), is_warning))
    return tuple(lines)


def _masses(attempt: Attempt, decimal: str) -> list[FactLine]:
    lines = []
    for name in MASS_NAMES:
        net, tare = getattr(attempt.masses, name), attempt.sheet.tare(name)
        if net is None:
            continue
        text = _grams(net, decimal)
        if tare is not None:
            gross = float(f"{net + tare:.12g}")
            text = f"{text} net: {_grams(gross, decimal)} on the balance, tare {_grams(tare, decimal)}"
        lines.append(FactLine(titled(MASS_LABELS[name]), text))
    return lines


def _sheet(attempt: Attempt, decimal: str) -> list[FactLine]:
    sheet = attempt.sheet
    lines = [FactLine("Oil removed", sheet.oil_removed)] if sheet.oil_removed else []
    for quantity in SHEET:
        value = getattr(sheet, quantity.name)
        if value is not None:
            lines.append(FactLine(titled(quantity.label), Amount(value, quantity.unit).text(decimal=decimal)))
    return lines


def _grams(value: float, decimal: str) -> str:
    return format_quantity(value, "g", digits=6, decimal=decimal)
