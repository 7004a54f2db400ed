"""What every test shares: no display, no settings of the person who runs them, one profile for Hypothesis."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

# Before anything loads Qt: tests never open a window on someone's screen.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# The processes that pytest starts inherit it. They are as many as there are cores, and more threads of linear
# algebra would only wait for each other: long fits take half of the time. Answers do not depend on it (a test).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parents[1]

settings.register_profile(
    "stirfall", deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow], print_blob=True
)
settings.load_profile("stirfall")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the slow tests, so that none of them is alone at the end; the rest stays as shuffled."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the checkout."""
    return ROOT


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Point every per-user folder at a new place, so that no test reads or writes the settings of a person."""
    home = tmp_path_factory.mktemp("home")
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_STATE_HOME", "APPDATA"):
        monkeypatch.setenv(name, str(home))


@dataclass(frozen=True)
class CommandResult:
    """What one command line gave."""

    code: int
    out: str
    err: str


@pytest.fixture
def stirfall_command(capsys: pytest.CaptureFixture[str]) -> Callable[..., CommandResult]:
    """Run the command line in this process, as its entry point does, and return code and texts."""
    from stirfall.cli.main import run

    def call(*arguments: str | Path) -> CommandResult:
        capsys.readouterr()
        code = run([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return CommandResult(code, captured.out, captured.err)

    return call
