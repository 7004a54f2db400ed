"""Alarms that were seen, as a table of the open text form; a package without any has no such file."""

from __future__ import annotations

from stirfall.bench.running import Acknowledgement
from stirfall.storage.package_cells import ID, TEXT, TIME
from stirfall.storage.package_tables import Table, columns

ACKNOWLEDGED = Table(
    "acknowledgements",
    columns(
        ("id", ID, "Identity of the act."),
        ("key", TEXT, "The alarm that was seen and quieted."),
        ("at", TIME, "When, UTC."),
    ),
    vars,
    lambda row: Acknowledgement(**row),  # type: ignore[arg-type]
    key="id",
)
