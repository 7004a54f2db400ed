"""Write the three invented campaigns: ``python tests/generators/write_samples.py [FOLDER]``."""

from __future__ import annotations

import sys
from pathlib import Path

import gallium
import tin_bismuth
import work_holding

from stirfall.storage.package import write_package

GENERATORS = {
    "tin-bismuth-dross": tin_bismuth.generate,
    "gallium-beads": gallium.generate,
    "work-holding-alloy": work_holding.generate,
}


def main(folder: Path) -> None:
    for key, generate in GENERATORS.items():
        state, corrections, description = generate()
        write_package(state, corrections, folder / key, description=description)


if __name__ == "__main__":
    default = Path(__file__).resolve().parents[2] / "sample_sessions"
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else default)
