"""The end of a lab report: limits, cautions, what was not measured, where it comes from, how to cite it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from stirfall import __version__
from stirfall.bench.records import INVENTED_NOTICE, Attempt
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.limit_words import limit_texts
from stirfall.reporting.report.telling import Telling, listed, moment_words
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    CautionsBlock,
    Column,
    Heading,
    Notice,
    Paragraph,
    TableBlock,
)
from stirfall.reporting.shares import counted
from stirfall.storage.package_schema import SCHEMA as PACKAGE_SCHEMA
from stirfall.storage.schema import SCHEMA_VERSION

_SHORT = 12
_MEASURED: tuple[tuple[str, Callable[[Attempt], bool]], ...] = (
    ("the start", lambda each: each.started_at is not None),
    ("the lot", lambda each: each.lot_id is not None),
    ("the jar", lambda each: each.jar_id is not None),
    ("who stirred", lambda each: bool(each.facts.operator)),
    ("the tool", lambda each: bool(each.facts.tool)),
    ("the look of the surface before melting", lambda each: bool(each.facts.look)),
    ("the room humidity", lambda each: each.facts.room_rh_percent is not None),
    ("the highest temperature", lambda each: each.facts.peak_c is not None),
    ("the temperature at lifting out", lambda each: each.facts.lifted_at_c is not None),
    ("the volume of hot oil", lambda each: each.facts.oil_ml is not None),
    ("the charge", lambda each: each.masses.charge_g is not None),
    ("the product", lambda each: each.masses.product_g is not None),
    ("the beads", lambda each: each.masses.beads_g is not None),
    ("the residue", lambda each: each.masses.residue_g is not None),
    ("the purity of the product", lambda each: each.sheet.purity_percent is not None),
    ("how oil was removed", lambda each: bool(each.sheet.oil_removed)),
)


def limit_blocks(telling: Telling) -> list[Block]:
    """Return every operating limit that held, and what the limits say of the campaign."""
    texts = limit_texts(telling.state, decimal=telling.decimal)
    blocks: list[Block] = [Heading(telling.say("report.heading_limits"))]
    blocks += [
        Notice("stop" if found.level == "block" else "warning" if found.level == "warn" else "note", text)
        for found in telling.analysis.limits.findings
        if (text := telling.say(found.code, **found.params))
    ]
    blocks.append(Paragraph(telling.say("report.limits_hold")))
    return [*blocks, Bullets(tuple(f"{each.text} ({each.source})" for each in texts))]


def caution_blocks(telling: Telling) -> list[Block]:
    """Return all cautions of the metal's class; none can be left out."""
    cautions = load_cautions(telling.state.settings.material)
    items = tuple((each.text, each.source) for each in cautions.items)
    return [
        Heading(telling.say("report.heading_cautions")),
        CautionsBlock(cautions.headline, items),
        Paragraph(telling.say("report.local_rules_first")),
    ]


def missing_blocks(telling: Telling) -> list[Block]:
    """Return what was measured in no attempt or only in some, and what this kind of campaign cannot tell."""
    lines = (*_gaps(telling), *_lot_gaps(telling), *_never(telling))
    return [Heading(telling.say("report.heading_missing")), Bullets(lines)]


def _gaps(telling: Telling) -> Iterator[str]:
    attempts, source = telling.attempts, telling.source
    if not attempts:
        yield telling.say("report.no_attempts")
        return
    known = {name: sum(map(is_known, attempts)) for name, is_known in _MEASURED}
    known["a photo"] = sum(each.id in source.photographed for each in attempts)
    known["a temperature log"] = sum(each.id in source.logged for each in attempts)
    for factor in telling.state.factors:
        known.pop(f"the {factor.name}", None)  # told as a condition, which may be the fuller record
        known[factor.name] = sum(factor.name in each.conditions for each in attempts)
    total = len(attempts)
    never = [name for name, count in known.items() if count == 0]
    some = [f"{name} ({count})" for name, count in known.items() if 0 < count < total]
    if never:
        yield telling.say("report.measured_never", names=listed(never))
    if some:
        yield telling.say("report.measured_sometimes", attempts=counted(total), names=", ".join(some))
    if not never and not some:
        yield telling.say("report.measured_always", attempts=counted(total))


def _lot_gaps(telling: Telling) -> Iterator[str]:
    lots = telling.state.lots
    without = [lot.id for lot in lots if lot.metal_percent is None and lot.solids_percent is None]
    if without:
        yield telling.say("report.lots_without_assay", lots=listed(without))
    undated = [lot.id for lot in lots if lot.made_at is None]
    if undated:
        yield telling.say("report.lots_undated", lots=listed(undated))


def _never(telling: Telling) -> Iterator[str]:
    never = [factor.name for factor in telling.state.visible_factors if _is_constant(telling, factor.name)]
    if never and telling.attempts:
        yield telling.say("report.never_varied", names=listed(never))
    yield telling.say("report.not_blind")
    yield telling.say("report.film_not_measured")
    yield telling.say("report.no_mechanism")


def _is_constant(telling: Telling, name: str) -> bool:
    return len({each.conditions[name] for each in telling.attempts if name in each.conditions}) == 1


def provenance_blocks(telling: Telling) -> list[Block]:
    """Return where the report comes from, and how its data are cited."""
    source, say = telling.source, telling.say
    if not source.operators:
        names = say("report.no_operators")
    else:
        names = say("report.with_names" if source.with_names else "report.without_names")
    lines = [
        say("report.from_session", name=source.session_name),
        say("report.from_fingerprint", fingerprint=source.fingerprint),
        say("report.from_program", version=__version__, schema=SCHEMA_VERSION, package=PACKAGE_SCHEMA),
        say("report.from_time", made=moment_words(source.created_at)),
        names,
    ]
    blocks: list[Block] = [Heading(say("report.heading_provenance")), Bullets(tuple(lines))]
    blocks += _origins(telling)
    return [
        *blocks,
        Heading(say("report.heading_cite"), 3),
        Paragraph(say("report.cite_how")),
        Paragraph(cite(telling)),
    ]


def _origins(telling: Telling) -> list[Block]:
    found = Counter(
        (each.origin.bench, each.origin.session, each.origin.fingerprint)
        for each in telling.attempts
        if each.origin is not None
    )
    if not found:
        return []
    columns = (Column("Bench"), Column("Session"), Column("Fingerprint"), Column("Attempts", is_number=True))
    rows = tuple((bench, name, mark, str(count)) for (bench, name, mark), count in found.items())
    return [TableBlock(telling.say("report.caption_origins"), columns, rows)]


def cite(telling: Telling) -> str:
    """Return one line that names these data so that nobody takes others for them."""
    code = "report.cite_invented" if telling.state.settings.invented else "report.cite"
    return telling.say(
        code,
        title=telling.state.settings.title,
        attempts=counted(len(telling.state.attempts)),
        fingerprint=telling.source.fingerprint[:_SHORT],
        version=__version__,
        made=moment_words(telling.source.created_at)[:10],
        notice=INVENTED_NOTICE,
    )
