"""``stirfall new``: a session file, empty or from a table of trials."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Role, Scale, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import PARTLY_CHOICES, CampaignSettings, find_factor
from stirfall.bench.units import parse_quantity
from stirfall.cli.output import complain, say
from stirfall.reporting.recipe_parts import shown_span
from stirfall.reporting.shares import counted
from stirfall.session.model_settings import sharing_words

if TYPE_CHECKING:
    from stirfall.storage.tables import TableContent

_MOST_CELLS = 50


@dataclass(frozen=True)
class _Columns:
    """The options that say what the columns of the table mean."""

    outcome: str | None
    success: tuple[str, ...]
    trials: str | None
    parted: str | None
    pooled: str | None
    group: str | None
    factor: tuple[str, ...]

    @property
    def any_given(self) -> bool:
        """Whether one of them was used."""
        return any(vars(self).values())


@click.command("new")
@click.argument("session", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--from", "table", metavar="TABLE", type=click.Path(path_type=Path), help="A table with a heading.")
@click.option(
    "--package", metavar="PLACE", type=click.Path(path_type=Path), help="A Data Package: a folder or a zip file."
)
@click.option("--outcome", metavar="COL", help="The column that tells the result, or counts the clean ones.")
@click.option("--success", metavar="VALUE", multiple=True, help="The result that counts as clean, or such as '>0'.")
@click.option("--trials", metavar="COL", help="For grouped rows: the column with the number of trials.")
@click.option("--parted", metavar="COL", help="The column of gate 1: no, partly, yes.")
@click.option("--pooled", metavar="COL", help="The column of gate 2: beads, few pieces, one pool, not observed.")
@click.option("--group", metavar="COL", help="The column that names the lot.")
@click.option("--factor", metavar="COL[=UNIT][:log|:choice]", multiple=True, help="A factor; text is a choice.")
@click.option("--title", metavar="TEXT", help="What the campaign is called; the name of the file otherwise.")
@click.option("--material", metavar="CLASS", default="other", help="The class of metal, such as 'base metal'.")
@click.option("--melting-point", metavar="TEMPERATURE", help="Melting point of the metal, in C or with its unit.")
@click.option("--oil-flash", metavar="TEMPERATURE", help="Flash point of the oil, in C or with its unit.")
@click.option("--film-index", is_flag=True, help="Add the film index as a factor beside the ages.")
@click.option("--gates", type=click.Choice(["one", "two"]), help="How the outcome is modelled.")
@click.option("--partly", type=click.Choice(PARTLY_CHOICES), default="failed", help="What partly parted counts as.")
@click.option(
    "--lot-effect", metavar="NAME", default="lot", help="What attempts share: lot, jar, bench, none, a choice."
)
@click.option("--hump", metavar="NAME", multiple=True, help="A factor that can be too small and too large.")
@click.option("--product", metavar="NAME NAME", nargs=2, multiple=True, help="Two factors that act on each other.")
def command(
    session: Path,
    *,
    table: Path | None,
    package: Path | None,
    title: str | None,
    material: str,
    melting_point: str | None,
    oil_flash: str | None,
    film_index: bool,
    gates: str | None,
    partly: str,
    lot_effect: str,
    hump: tuple[str, ...],
    product: tuple[tuple[str, str], ...],
    **columns: str | tuple[str, ...] | None,
) -> int:
    """Make the session FILE: empty with the standard factors, from a table of attempts, or from a Data Package."""
    from stirfall.session.document import Document

    if package is not None:
        return _from_package(session, package)
    settings = CampaignSettings(
        title=title or session.stem,
        material=MaterialClass.parse(material),
        melting_point_c=None if melting_point is None else parse_quantity(melting_point, "C"),
        oil_flash_c=None if oil_flash is None else parse_quantity(oil_flash, "C"),
        gates=1 if gates == "one" else 2,
        partly=partly,
        lot_effect=lot_effect,
        humps=hump,
        products=product,
    )
    mapped = _Columns(**columns)  # type: ignore[arg-type]
    if table is None:
        if mapped.any_given:
            raise InputError("new.table_missing")
        factors = _with_film(settings, standard_factors()) if film_index else standard_factors()
        with Document.create(session, _with_names(settings, factors), factors):
            beside = ", and the film index" if film_index else ""
            say(f"Made {session}: no attempts yet, {len(standard_factors())} standard factors{beside}.")
        return 0
    content = _read(table, mapped)
    if content is None:
        return 2
    if gates == "two" and not content.two_gates:
        raise InputError("odds.gates_not_graded")
    if film_index:
        content = replace(content, factors=_with_film(settings, content.factors))
    named = _with_names(settings, content.factors)
    with Document.create(session, named, content.factors, lots=content.lots, attempts=content.attempts):
        _report(session, content)
    return 0


def _from_package(session: Path, package: Path) -> int:
    """Make the session of a Data Package, which tells all that other options would; raises InputError."""
    from stirfall.bench.running import TemperatureLog
    from stirfall.session.packages import import_package
    from stirfall.storage.edits import StoredPhoto

    given = click.get_current_context().get_parameter_source
    known = ("session", "package")
    source = click.core.ParameterSource.COMMANDLINE
    others = [name for name in click.get_current_context().params if name not in known and given(name) is source]
    if others:
        name = {"table": "from"}.get(others[0], others[0].replace("_", "-"))
        raise InputError("new.package_alone", option=f"--{name}")
    with import_package(package, session) as document:
        state = document.state
        counts = {"factor": len(state.factors), "lot": len(state.lots), "run": len(state.runs)}
        kinds = [item.kind for item in document.bulky().items]
        counts |= {"photo": kinds.count(StoredPhoto), "temperature log": kinds.count(TemperatureLog)}
        parts = [counted(len(state.attempts)), *(counted(count, word) for word, count in counts.items() if count)]
        say(f"Made {session}: {', '.join(parts)}.")
    return 0


def _with_film(settings: CampaignSettings, factors: tuple[Factor, ...]) -> tuple[Factor, ...]:
    """Return the factors with the film index, unless they have one already."""
    if any(factor.role is Role.FILM_INDEX for factor in factors):
        return factors
    from stirfall.session.film import add_film_factor

    return (*factors, add_film_factor(CampaignState(settings, factors)))


def _with_names(settings: CampaignSettings, factors: tuple[Factor, ...]) -> CampaignSettings:
    """Return the settings with the names of factors as the session writes them; raises ``factor.unknown``."""

    def name(text: str) -> str:
        return find_factor(factors, text).name

    known = {factor.name.casefold(): factor.name for factor in factors}
    return replace(
        settings,
        humps=tuple(name(text) for text in settings.humps),
        products=tuple((name(first), name(second)) for first, second in settings.products),
        lot_effect=settings.lot_effect
        if settings.lot_effect in sharing_words([factor.name.casefold() for factor in factors if factor.is_choice])
        else known.get(settings.lot_effect.casefold(), settings.lot_effect),
    )


def _read(table: Path, columns: _Columns) -> TableContent | None:
    """Return what the table holds, or None after listing the cells that cannot be used."""
    from stirfall.reporting.sentences import error_sentence
    from stirfall.storage.tables import BadCell, FactorColumn, TableMapping, read_attempt_table

    mapping = TableMapping(
        factors=tuple(FactorColumn.parse(text) for text in columns.factor),
        outcome=columns.outcome,
        success=columns.success,
        trials=columns.trials,
        parted=columns.parted,
        pooled=columns.pooled,
        group=columns.group,
    )
    try:
        return read_attempt_table(table, mapping)
    except InputError as error:
        cells = error.params.get("cells")
        if not isinstance(cells, tuple):
            raise
        complain(error_sentence(error))
        for cell in cells[:_MOST_CELLS]:
            if isinstance(cell, BadCell):
                complain(f"  {cell.place}. {error_sentence(cell.reason)}")
        return None


def _report(session: Path, content: TableContent) -> None:
    trials = sum(attempt.trials for attempt in content.attempts)
    parts = [counted(len(content.attempts), "attempt")]
    if trials != len(content.attempts):
        parts.append(counted(trials, "trial"))
    parts.append(counted(len(content.factors), "factor"))
    if content.lots:
        parts.append(counted(len(content.lots), "lot"))
    say(f"Made {session}: {', '.join(parts)}.")
    for factor in content.factors:
        note = ", never varies" if factor.name in content.constant else ""
        say(f"  {factor.name}: {_range(factor)}{note}")
    ungraded = sum(attempt.clean_count is None for attempt in content.attempts)
    if ungraded:
        say(f"  Without a result, so not counted: {counted(ungraded, 'row')}.")


def _range(factor: Factor) -> str:
    if factor.is_choice:
        return ", ".join(factor.levels)
    return f"{shown_span(*factor.bounds, factor.unit)}{', log scale' if factor.scale is Scale.LOG else ''}"
