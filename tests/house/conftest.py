"""What the house rules look at: the source files, and the files of the checkout."""

from __future__ import annotations

import re
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
    """Every file that git tracks or would track; without git, every file outside folders that tools make."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    if listing.returncode == 0 and listing.stdout:
        paths = [ROOT / name for name in listing.stdout.decode().split("\0") if name]
    else:
        made = re.compile(
            r"\.venv.*|\.git|\..*_cache|\.hypothesis|__pycache__|build|dist|stirfall_demo|.*\.egg-info"
        )
        paths = [path for path in ROOT.rglob("*") if not any(map(made.fullmatch, path.relative_to(ROOT).parts))]
    return [path for path in paths if path.is_file()]
