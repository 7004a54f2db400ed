"""What the house rules look at: the source files, and the files of the checkout."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

# The import mode of the tests adds no folder to the path, so the reader of sources is put there by hand.
sys.path.insert(0, str(Path(__file__).parent))

from house_source import PACKAGE, ROOT, Source


@pytest.fixture(scope="session")
def sources() -> list[Source]:
    """Every Python file of the program."""
    return [Source(path) for path in sorted(PACKAGE.rglob("*.py"))]


@pytest.fixture(scope="session")
def checkout() -> list[Path]:
    """Every file that git tracks or would track; without git, every file outside hidden and build folders."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    if listing.returncode == 0 and listing.stdout:
        paths = [ROOT / name for name in listing.stdout.decode().split("\0") if name]
    else:
        skipped = {"build", "dist", "__pycache__", "stirfall_demo"}
        paths = [
            path
            for path in ROOT.rglob("*")
            if not any(part in skipped or part.startswith(".") for part in path.relative_to(ROOT).parts[:-1])
        ]
    return [path for path in paths if path.is_file()]
