"""Shipped files are found in a checkout and in an installed package."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.storage.shipped import shipped

ROOT = Path(__file__).parents[3]


def test_a_checkout_has_its_resources_beside_the_source() -> None:
    assert shipped("resources/LICENSE.txt") == ROOT / "resources" / "LICENSE.txt"
    assert shipped("sample_sessions").is_dir()


def test_an_installed_package_has_its_resources_inside(tmp_path: Path) -> None:
    shutil.copytree(
        ROOT / "src" / "stirfall", tmp_path / "site" / "stirfall", ignore=shutil.ignore_patterns("__pycache__")
    )
    (tmp_path / "site" / "stirfall" / "resources").mkdir()
    (tmp_path / "site" / "stirfall" / "resources" / "x.txt").write_text("here")
    script = "from stirfall.storage.shipped import shipped; print(shipped('resources/x.txt').read_text())"
    ran = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path / "site")},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert ran.stdout == "here\n"


def test_a_missing_part_of_the_program_is_told() -> None:
    with pytest.raises(FileTroubleError) as caught:
        shipped("resources/none.txt")
    assert caught.value.code == "shipped.missing"
