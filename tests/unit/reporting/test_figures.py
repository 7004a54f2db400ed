"""Figures for paper: which there are, that their numbers are the analysis', and that they are the same twice."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.reporting.figures import figures_of
from stirfall.reporting.figures.drawing import drawable, spread_out
from stirfall.reporting.shares import percent
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.samples import samples
from stirfall.storage.package import read_package

_SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def analysis() -> Analysis:
    sample = next(each for each in samples() if each.key == "tin-bismuth-dross")
    return analyse(read_package(sample.folder).state)


def test_a_campaign_without_attempts_has_no_figure_of_chances() -> None:
    empty = analyse(CampaignState(CampaignSettings(), (Factor("age", "h", 1.0, 100.0),)))
    assert figures_of(empty) == ()


def test_the_numbers_of_the_figures_are_those_of_the_analysis(analysis: Analysis) -> None:
    conditions = analysis.complete(analysis.best().conditions)
    figures = {figure.name: figure for figure in figures_of(analysis, conditions)}
    assert {"chance", "outcomes", "effects", "attempts", "lots", "recovery"} <= set(figures)
    assert "foretold" not in figures  # the quick answer foretells nothing
    assert len(figures["attempts"].rows) == len(analysis.state.attempts)
    age = next(factor for factor in analysis.state.factors if factor.name == figures["chance"].columns[0])
    at_a_day = {"d": 1.0, "h": 24.0, "min": 1440.0}[age.unit]
    row = next(row for row in figures["chance"].rows if row[0] in ("1\u2009d", "24\u2009h"))
    curve = analysis.curve(age.name, conditions, points=121)
    nearest = min(range(len(curve.x)), key=lambda place: abs(curve.x[place] - at_a_day))
    assert abs(int(row[1].split("\u2009")[0]) - round(100 * float(curve.mean[nearest]))) <= 1
    clean = {lot: (k, n) for lot, k, n in _counts(analysis)}
    assert {row[0]: row[1:3] for row in figures["lots"].rows} == {
        lot: (f"{k} of {n}", percent(k / n)) for lot, (k, n) in clean.items()
    }


def _counts(analysis: Analysis) -> list[tuple[str, int, int]]:
    found = []
    for lot in analysis.state.lots:
        counted = [a.clean_count for a in analysis.state.attempts if a.lot_id == lot.id and a.clean_count]
        if counted:
            found.append((lot.id, sum(k for k, _ in counted), sum(n for _, n in counted)))
    return found


def test_a_figure_is_the_same_twice_and_needs_nothing_from_elsewhere(analysis: Analysis, tmp_path: Path) -> None:
    figure = figures_of(analysis)[0]
    svg = figure.svg()
    assert svg == figure.svg()
    root = ET.fromstring(svg)
    assert root.tag == f"{_SVG}svg"
    links = [value for each in root.iter() for name, value in each.attrib.items() if name.endswith("href")]
    assert all(link.startswith("#") for link in links)
    assert not list(root.iter(f"{_SVG}script"))
    picture = figure.png(60)
    assert picture == figure.png(60)
    assert picture.startswith(b"\x89PNG")
    wide, high = (int.from_bytes(picture[at : at + 4]) for at in (16, 20))
    assert (wide, high) == (int(figure.width_mm / 25.4 * 60), int(figure.height_mm / 25.4 * 60))


def test_no_exposure_is_drawn_for_a_metal_that_may_not_wait(analysis: Analysis) -> None:
    from dataclasses import replace

    from stirfall.bench.materials import MaterialClass

    settings = replace(analysis.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)
    figures = figures_of(analyse(replace(analysis.state, settings=settings)))
    exposures = {f.name for f in analysis.state.factors if f.role is not None and f.role.is_exposure}
    assert exposures
    assert not {figure.columns[0] for figure in figures if figure.name in ("chance", "outcomes")} & exposures


def test_cancelling_stops_between_figures(analysis: Analysis) -> None:
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        figures_of(analysis, Conditions(), token=token)


def test_marks_are_spread_evenly_and_always_alike() -> None:
    offsets = spread_out(50, 2.0)
    assert offsets == spread_out(50, 2.0)
    assert max(map(abs, offsets)) <= 1.0
    ordered = sorted(offsets)
    assert max(after - before for before, after in pairwise(ordered)) < 0.1


def test_whatever_a_name_holds_the_figures_are_drawn(recwarn: pytest.WarningsRecorder) -> None:
    """A dollar sign began a formula, and a sign that the font lacks gave a warning each time. No source."""
    name, lots = "dose $x^{$ \U0001f525", ("\U0001f9ea\u202eL$", "W" * 300)
    grades = ((Parted.YES, Pooled.ONE_POOL), (Parted.NO, None))
    attempts = tuple(
        Attempt(f"a{n}", n, Conditions({name: float(n)}), lot_id=lots[n % 2], parted=parted, pooled=pooled)
        for n in range(1, 7)
        for parted, pooled in [grades[n // 2 % 2]]
    )
    state = CampaignState(
        CampaignSettings(), (Factor(name, "g", 0.0, 10.0),), tuple(Lot(each) for each in lots), attempts=attempts
    )
    figures = {figure.name: figure for figure in figures_of(analyse(state))}
    for each in ("chance", "effects", "lots"):
        assert figures[each].png(40).startswith(b"\x89PNG")
    assert not recwarn.list
    assert drawable(f" a\nb\u202ec{name} ", 18) == "a bcdose $x^{$ □"
    assert drawable("W" * 300, 5) == "WWWW…"
