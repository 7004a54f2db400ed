"""The wheel in an environment of its own: it holds what it needs, and does the main job from any folder."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from dataclasses import dataclass
from pathlib import Path

import pytest

pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]


@dataclass(frozen=True)
class Installed:
    """A wheel, and the new environment that it is installed in."""

    wheel: Path
    python: Path

    @property
    def command(self) -> Path:
        return self.python.with_name("stirfall.exe" if os.name == "nt" else "stirfall")


def _run(*command: str | Path, cwd: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM", "PYTHONPATH", "PYTHONHOME")
    clean = {name: value for name, value in os.environ.items() if name not in hidden}
    return subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        env={**clean, **environment},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Installed:
    """Build the wheel of this checkout and install it alone.

    The libraries that it depends on are those of the environment that runs the tests, lent to the new one by its
    path; they come after its own folder, so the package under test is the wheel's.
    """
    place = tmp_path_factory.mktemp("wheel")
    build = ("-m", "build", "--wheel", "--no-isolation", "--outdir", place, root)
    built = _run(sys.executable, *build, cwd=place)
    assert built.returncode == 0, built.stdout + built.stderr
    (wheel,) = place.glob("*.whl")
    folder = place / "environment"
    venv.create(folder, with_pip=False, symlinks=os.name != "nt")
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    own = Path(
        _run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=place).stdout.strip()
    )
    (own / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    pip = (
        "-m",
        "pip",
        "--python",
        python,
        "install",
        "--no-deps",
        "--no-index",
        "--disable-pip-version-check",
        wheel,
    )
    done = _run(sys.executable, *pip, cwd=place)
    assert done.returncode == 0, done.stdout + done.stderr
    return Installed(wheel, python)


def test_the_wheel_carries_its_resources_and_nothing_of_the_tests(installed: Installed) -> None:
    names = zipfile.ZipFile(installed.wheel).namelist()
    for part in (
        "stirfall/resources/cautions.toml",
        "stirfall/resources/guide/command_line.md",
        "stirfall/resources/schemas/recipe.schema.json",
        "stirfall/py.typed",
    ):
        assert part in names
    assert sum(name.endswith("datapackage.json") for name in names) == 3
    assert any(name.endswith("LICENSE.txt") and ".dist-info/" in name for name in names)
    assert not [name for name in names if "test" in name.lower()]


def test_the_package_that_runs_is_the_one_from_the_wheel(installed: Installed, tmp_path: Path) -> None:
    told = _run(installed.python, "-c", "import stirfall; print(stirfall.__file__)", cwd=tmp_path)
    assert Path(told.stdout.strip()).is_relative_to(installed.python.parents[1])


def test_the_demo_does_the_main_job_from_another_folder_twice(installed: Installed, tmp_path: Path) -> None:
    elsewhere = tmp_path / "another folder"
    elsewhere.mkdir()
    settings = str(tmp_path / "settings")
    for _ in range(2):
        told = _run(installed.command, "demo", cwd=elsewhere, STIRFALL_SETTINGS_DIR=settings)
        assert told.returncode == 0, told.stdout + told.stderr
        assert "no display" in told.stdout
        assert "Invented data, for learning the tool" in told.stdout
        assert "Clean separation:" in told.stdout
        assert "Next attempts:" in told.stdout
    made = elsewhere / "stirfall_demo"
    assert "Invented data, for learning the tool" in (made / "recipe.md").read_text(encoding="utf-8")
    assert isinstance(json.loads((made / "recipe.json").read_text(encoding="utf-8")), dict)
    assert (made / "recipe.pdf").read_bytes().startswith(b"%PDF-")
    picture = (made / "window.png").read_bytes()
    assert picture.startswith(b"\x89PNG\r\n\x1a\n")
    # Width and height stand at bytes 16 to 24 of a PNG (ISO/IEC 15948, 11.2.2).
    assert int.from_bytes(picture[16:20], "big") >= 1000
    assert int.from_bytes(picture[20:24], "big") >= 600
    # A picture of one flat colour would be a few kilobytes.
    assert len(picture) > 30_000
    checked = _run(installed.command, "check", made / "demo.stirfall", cwd=elsewhere)
    assert checked.returncode == 0, checked.stderr


def test_another_place_for_the_demo_can_be_named(installed: Installed, tmp_path: Path) -> None:
    told = _run(installed.command, "demo", "--out", tmp_path / "here", cwd=tmp_path)
    assert told.returncode == 0, told.stdout + told.stderr
    assert (tmp_path / "here" / "window.png").exists()
    assert not (tmp_path / "stirfall_demo").exists()


def test_a_folder_that_cannot_be_made_is_one_line(installed: Installed, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    told = _run(installed.command, "demo", "--out", tmp_path / "taken" / "deep", cwd=tmp_path)
    assert told.returncode == 2
    assert len(told.stderr.strip().splitlines()) == 1
