"""``python -m stirfall`` is the command line."""

from __future__ import annotations

from stirfall.cli.main import main

if __name__ == "__main__":
    main()
