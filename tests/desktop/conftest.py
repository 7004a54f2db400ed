"""What all window tests share: a settings folder of their own, a document and a workspace that answers at once."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import pytest
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Conditions, Factor, Scale, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.desktop.theme import LIGHT, apply_theme
from stirfall.desktop.workspace import Workspace
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.session.jobs import ImmediateExecutor

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.bench.campaign import CampaignState

# The import mode of the tests adds no folder to the path, so what they share is put there by hand.
sys.path.insert(0, str(Path(__file__).parent))

from small_campaigns import few_attempts, two_attempts

W = TypeVar("W", bound=QWidget)
NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def settings_dir(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A settings folder that dies with the test, so that no test reads or writes the person's own."""
    folder = tmp_path / "settings"
    monkeypatch.setenv("STIRFALL_SETTINGS_DIR", str(folder))
    return folder


@pytest.fixture
def themed(qapp: QApplication) -> QApplication:
    """The application in the light theme, as the window wears it."""
    apply_theme(qapp, LIGHT)
    return qapp


@pytest.fixture
def put_on_screen(qtbot: QtBot) -> Callable[[W, int, int], W]:
    """Show a widget at a size and wait until it is on the screen and has the keyboard."""

    def put(widget: W, width: int, height: int) -> W:
        qtbot.addWidget(widget)
        widget.resize(width, height)
        widget.show()
        qtbot.waitExposed(widget)
        widget.activateWindow()
        qtbot.waitUntil(widget.isActiveWindow, timeout=3000)
        return widget

    return put


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(NOW)


@pytest.fixture
def campaign_settings() -> CampaignSettings:
    return CampaignSettings(
        title="Invented dross",
        material=MaterialClass.BASE_METAL,
        metal="invented alloy",
        melting_point_c=139.0,
        oil="invented white oil",
        oil_flash_c=225.0,
        invented=True,
    )


def graded_attempts(count: int = 24) -> tuple[Attempt, ...]:
    """Attempts with an obvious pattern: too young beads nothing, the middle is clean, the old ones bead."""
    made = []
    for number in range(1, count + 1):
        age = 4.0 * 1.18**number
        parted = Parted.YES if age > 20 or number % 5 == 0 else Parted.NO
        pool = Pooled.ONE_POOL if age < 90 or number % 6 == 0 else Pooled.BEADS
        made.append(
            Attempt(
                id=f"a{number}",
                number=number,
                conditions=Conditions(
                    {"sample age": age, "temperature": 150.0 + number % 4, "stirring action": "swirl"}
                ),
                started_at=NOW - timedelta(days=30) + timedelta(hours=number),
                recorded_at=NOW - timedelta(days=30) + timedelta(hours=number, minutes=20),
                lot_id="L1",
                parted=parted,
                pooled=pool if parted is Parted.YES else None,
                invented=True,
            )
        )
    return tuple(made)


@pytest.fixture
def few_factors() -> tuple[Factor, ...]:
    by_name = {factor.name: factor for factor in standard_factors()}
    return (
        Factor("sample age", "h", 2.0, 480.0, Scale.LOG, role=by_name["sample age"].role, default=24.0),
        by_name["temperature"],
        by_name["stirring action"],
    )


@pytest.fixture
def empty_document(tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock) -> Iterator[Document]:
    """A new campaign with the standard factors and nothing recorded."""
    with Document.create(tmp_path / "empty.stirfall", campaign_settings, clock=clock) as document:
        yield document


@pytest.fixture
def document(
    tmp_path: Path,
    campaign_settings: CampaignSettings,
    few_factors: tuple[Factor, ...],
    clock: FixedClock,
) -> Iterator[Document]:
    """A campaign with three factors, a lot, two jars on the shelf and 24 graded attempts."""
    lot = Lot("L1", NOW - timedelta(days=40))
    jars = tuple(Jar(f"J{number}", "L1", NOW - timedelta(days=number)) for number in (1, 3))
    made = Document.create(
        tmp_path / "invented.stirfall",
        campaign_settings,
        few_factors,
        lots=(lot,),
        jars=jars,
        attempts=graded_attempts(),
        clock=clock,
    )
    with made:
        yield made


@pytest.fixture
def document_of_few(
    tmp_path: Path, campaign_settings: CampaignSettings, few_factors: tuple[Factor, ...], clock: FixedClock
) -> Iterator[Document]:
    """A campaign with two jars and two attempts, whose odds are worked out at once."""
    with few_attempts(tmp_path, campaign_settings, few_factors, clock) as made:
        yield made


@pytest.fixture
def document_of_two(
    tmp_path: Path, campaign_settings: CampaignSettings, few_factors: tuple[Factor, ...], clock: FixedClock
) -> Iterator[Document]:
    """A campaign of two attempts: what is tested on it does not depend on what they say, and fits take time."""
    with two_attempts(tmp_path, campaign_settings, few_factors, clock) as made:
        yield made


@pytest.fixture
def state_of_two_lots(document: Document) -> CampaignState:
    """The attempts of ``document``, every other one from a second lot."""
    state = document.state
    attempts = tuple(replace(one, lot_id=("L1", "L2")[one.number % 2]) for one in state.attempts)
    return replace(state, lots=(*state.lots, Lot("L2")), attempts=attempts)


@pytest.fixture
def two_lots(tmp_path: Path, state_of_two_lots: CampaignState) -> Iterator[Document]:
    state = state_of_two_lots
    made = Document.create(
        tmp_path / "two.stirfall", state.settings, state.factors, lots=state.lots, attempts=state.attempts
    )
    with made:
        yield made


@pytest.fixture
def refined(state_of_two_lots: CampaignState) -> Analysis:
    """The refined answer of two lots."""
    return analyse(state_of_two_lots, refined=True)


@pytest.fixture
def workspace(themed: QApplication) -> Iterator[Workspace]:
    """A workspace whose background work is done at once; no document is open."""
    made = Workspace(ImmediateExecutor())
    yield made
    made.close_document()
    made.deleteLater()
