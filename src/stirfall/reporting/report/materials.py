"""Metal, solids, oils and additives of a campaign, its lots with their assays, and its jars."""

from __future__ import annotations

from collections import Counter

from stirfall.bench.records import Jar, Lot
from stirfall.bench.units import THIN_SPACE
from stirfall.physics.measured import Measured
from stirfall.reporting.recipe_materials import material_lines
from stirfall.reporting.report.telling import NOT_KNOWN, Telling, moment_words
from stirfall.reporting.report.tree import Block, Bullets, Column, Heading, Paragraph, TableBlock


def material_blocks(telling: Telling) -> list[Block]:
    """Return what was worked with; what is not known is said to be so."""
    state = telling.state
    lines = (f"Class: {state.settings.material.value}.", *material_lines(state.settings, decimal=telling.decimal))
    blocks: list[Block] = [Heading(telling.say("report.heading_materials")), Bullets(lines)]
    blocks += [_lots(telling)] if state.lots else [Paragraph(telling.say("report.no_lots"))]
    blocks += _jars(telling) if state.jars else [Paragraph(telling.say("report.no_jars"))]
    return blocks


def _lots(telling: Telling) -> TableBlock:
    count = Counter(each.lot_id for each in telling.state.attempts)
    columns = (
        Column("Lot"),
        Column("Made (UTC)", whole=True),
        Column(f"Solids,{THIN_SPACE}%", is_number=True),
        Column(f"Metal,{THIN_SPACE}%", is_number=True),
        Column("Assays", is_number=True),
        Column("Attempts", is_number=True),
        Column("Note", wide=True),
    )
    rows = tuple(_lot_row(telling, lot, count[lot.id]) for lot in telling.state.lots)
    return TableBlock(telling.say("report.caption_lots"), columns, rows, telling.say("report.lots_note"))


def _lot_row(telling: Telling, lot: Lot, attempts: int) -> tuple[str, ...]:
    metal = NOT_KNOWN
    if lot.metal_percent is not None:
        metal = Measured(lot.metal_percent, lot.metal_u_percent).bare(decimal=telling.decimal)
        metal += "" if lot.metal_u_percent is not None else " (u unknown)"
    assays = NOT_KNOWN if lot.assays is None else str(lot.assays)
    solids = telling.number(lot.solids_percent)
    return (lot.id, moment_words(lot.made_at), solids, metal, assays, str(attempts), lot.note)


def _jars(telling: Telling) -> list[Block]:
    columns = (
        Column("Jar"),
        Column("Lot"),
        Column("Started (UTC)", whole=True),
        Column("Ended (UTC)", whole=True),
        Column("Oil"),
        Column("Oil over metal, mm", is_number=True),
        Column("Lid"),
        Column("Charge, g", is_number=True),
        Column("Attempts", is_number=True),
        Column("Note", wide=True),
    )
    count = Counter(each.jar_id for each in telling.state.attempts)
    rows = tuple(_jar_row(telling, jar, count[jar.id]) for jar in telling.state.jars)
    blocks: list[Block] = [TableBlock(telling.say("report.caption_jars"), columns, rows)]
    told = [jar for jar in telling.state.jars if any(_jar_details(telling, jar)[1:])]
    if told:
        more = (
            Column("Jar"),
            Column("Inner diameter, mm", is_number=True),
            Column("Headspace, mm", is_number=True),
            Column("Pieces", is_number=True),
            Column("Piece size, mm", is_number=True),
            Column("Metal area, cm²", is_number=True),
            Column("Made of"),
            Column("Oil's history"),
            Column("Stored at, °C", is_number=True),
            Column("Room humidity, %", is_number=True),
            Column("Surface"),
        )
        details = tuple(_jar_details(telling, jar) for jar in told)
        blocks.append(TableBlock(telling.say("report.caption_jar_details"), more, details))
    return blocks


def _jar_row(telling: Telling, jar: Jar, attempts: int) -> tuple[str, ...]:
    ended = "on the shelf" if jar.is_ageing else moment_words(jar.emptied_at)
    if jar.planned:
        ended = "planned only"
    note = f"residue; {jar.note}".rstrip("; ") if jar.is_residue else jar.note
    depth, charge = telling.number(jar.oil_depth_mm), telling.number(jar.charge_g)
    started = moment_words(jar.started_at)
    return (jar.id, jar.lot_id, started, ended, jar.oil, depth, jar.lid, charge, str(attempts), note)


def _jar_details(telling: Telling, jar: Jar) -> tuple[str, ...]:
    return (
        jar.id,
        telling.number(jar.inner_diameter_mm),
        telling.number(jar.headspace_mm),
        NOT_KNOWN if jar.piece_count is None else str(jar.piece_count),
        telling.number(jar.piece_mm),
        telling.number(jar.metal_area_cm2),
        jar.material,
        jar.oil_history,
        telling.number(jar.storage_c),
        telling.number(jar.room_rh_percent),
        jar.look,
    )
