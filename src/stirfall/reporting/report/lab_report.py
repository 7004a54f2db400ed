"""The lab report of a session: everything that was done, found and not found, in one document tree."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from stirfall import __version__
from stirfall.bench.cancel import CancelToken
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.report.attempts import attempt_blocks
from stirfall.reporting.report.closing import (
    caution_blocks,
    limit_blocks,
    missing_blocks,
    provenance_blocks,
)
from stirfall.reporting.report.findings import bench_blocks, comparison_blocks, drift_blocks, rival_blocks
from stirfall.reporting.report.history import history_blocks
from stirfall.reporting.report.kept_figure import KeptFigure
from stirfall.reporting.report.materials import material_blocks
from stirfall.reporting.report.methods import method_blocks
from stirfall.reporting.report.model import model_blocks
from stirfall.reporting.report.results import (
    Recommended,
    effect_blocks,
    issued_blocks,
    proof_blocks,
    recipe_blocks,
    recommended,
    recovery_blocks,
)
from stirfall.reporting.report.source import ReportSource
from stirfall.reporting.report.telling import Telling, moment_words
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    Drawn,
    FigureBlock,
    Heading,
    Notice,
    Paragraph,
    PhotoBlock,
    Report,
    TableBlock,
)
from stirfall.reporting.shares import counted, in_full, level_percent
from stirfall.session.analysis import Analysis

_SHORT = 12


def lab_report(
    source: ReportSource,
    analysis: Analysis,
    *,
    figures: Sequence[Drawn] | None = None,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> Report:
    """Return the report of a session as its refined ``analysis`` answers; the same input gives the same report.

    ``figures`` are those to be shown, by default all of them. Raises Cancelled.
    """
    analysis = replace(analysis, state=source.told(analysis.state))
    telling = Telling(source, analysis, decimal, frozenset(analysis.table.ids), token)
    telling.poll()
    found = recommended(telling)
    parts: tuple[Callable[[], list[Block]], ...] = (
        lambda: _opening(telling, found),
        lambda: method_blocks(telling),
        lambda: material_blocks(telling),
        lambda: attempt_blocks(telling),
        lambda: history_blocks(telling),
        lambda: model_blocks(telling),
        lambda: _results(telling, found),
        lambda: _figures(telling, figures),
        lambda: _photos(telling),
        lambda: limit_blocks(telling),
        lambda: caution_blocks(telling),
        lambda: missing_blocks(telling),
        lambda: provenance_blocks(telling),
    )
    blocks: list[Block] = []
    for part in parts:
        telling.poll()
        blocks += part()
    settings = telling.state.settings
    return Report(
        title=settings.title,
        invented=settings.invented,
        facts=_facts(telling),
        blocks=tuple(_numbered(blocks)),
        foot=f"Stirfall {__version__} · session {source.fingerprint[:_SHORT]}",
        fingerprint=source.fingerprint,
        program_version=__version__,
        created_at=source.created_at,
        recipe=found.recipe,
    )


def _facts(telling: Telling) -> tuple[str, ...]:
    settings = telling.state.settings
    facts = (
        " · ".join(part for part in (settings.metal, settings.material.value, settings.oil) if part),
        f"{telling.source.session_name}, fingerprint {telling.source.fingerprint}",
        f"Made {moment_words(telling.source.created_at)} UTC with Stirfall {__version__}",
    )
    return tuple(fact for fact in facts if fact)


def _opening(telling: Telling, found: Recommended) -> list[Block]:
    blocks: list[Block] = []
    if telling.state.settings.invented:
        what = telling.say("report.invented")
        blocks.append(Notice("invented", f"{INVENTED_NOTICE}. {what}"))
    blocks.append(Heading(telling.say("report.heading_short")))
    lines = [_period(telling)]
    if found.recipe is None:
        lines.append(found.why_none)
    else:
        level = level_percent(found.recipe.probability.level)
        lines.append(telling.say("report.short_chance", chance=in_full(found.recipe.probability), level=level))
        lines += [remark.text for remark in found.recipe.remarks if remark.level != "note"]
    lines.append(telling.say("report.short_what"))
    return [*blocks, Bullets(tuple(lines))]


def _period(telling: Telling) -> str:
    attempts = telling.attempts
    begun = [each.started_at for each in attempts if each.started_at is not None]
    said = {"attempts": counted(len(attempts)), "lots": counted(len(telling.state.lots), "lot")}
    if not begun:
        return telling.say("report.short_attempts", **said)
    first, last = (moment_words(moment)[:10] for moment in (min(begun), max(begun)))
    code = "report.short_day" if first == last else "report.short_period"
    return telling.say(code, **said, first=first, last=last)


def _results(telling: Telling, found: Recommended) -> list[Block]:
    return [
        Heading(telling.say("report.heading_results")),
        *recipe_blocks(telling, found),
        *effect_blocks(telling),
        *recovery_blocks(telling, found),
        *proof_blocks(telling),
        *comparison_blocks(telling),
        *drift_blocks(telling),
        *rival_blocks(telling),
        *bench_blocks(telling),
        *issued_blocks(telling),
    ]


def _figures(telling: Telling, figures: Sequence[Drawn] | None) -> list[Block]:
    if figures is None:
        from stirfall.reporting.figures import figures_of

        figures = figures_of(telling.analysis, decimal=telling.decimal, token=telling.token)
    if not figures:
        return []
    return [
        Heading(telling.say("report.heading_figures")),
        *(FigureBlock(KeptFigure(figure)) for figure in figures),
    ]


def _photos(telling: Telling) -> list[Block]:
    source = telling.source
    heading = Heading(telling.say("report.heading_photos"))
    if not source.photos:
        photographed = sum(each.id in source.photographed for each in telling.attempts)
        return [heading, Paragraph(telling.say("report.no_photos", attempts=counted(photographed)))]
    chosen = [PhotoBlock(each.number, each.grade, each.name, each.media_type, each.data) for each in source.photos]
    return [heading, Paragraph(telling.say("report.photos_chosen")), *chosen]


def _numbered(blocks: Sequence[Block]) -> list[Block]:
    """Return the blocks with tables, figures and photos counted from 1."""
    seen = {TableBlock: 0, FigureBlock: 0, PhotoBlock: 0}
    numbered: list[Block] = []
    for block in blocks:
        if isinstance(block, (TableBlock, FigureBlock, PhotoBlock)):
            seen[type(block)] += 1
            block = replace(block, number=seen[type(block)])  # noqa: PLW2901 - the same block, counted
        numbered.append(block)
    return numbered
