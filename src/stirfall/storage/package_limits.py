"""How much a package may hold: far beyond any campaign, and little enough to keep memory and disk in hand."""

from __future__ import annotations

MEGABYTE = 1024 * 1024

MOST_DESCRIPTOR = 4 * MEGABYTE
"""Bytes of the descriptor."""
MOST_TABLE = 512 * MEGABYTE
"""Bytes of one table, and of all tables but the temperatures; 100,000 attempts take about 40 megabytes."""
MOST_PICTURE = 32 * MEGABYTE
"""Bytes of one picture; a session takes pictures up to 20 megabytes."""
MOST_TOTAL = 16 * 1024 * MEGABYTE
"""Bytes of all that is read from one package."""
MOST_FILES = 50_000
"""Files of one package."""
MOST_DIRECTORY = 8 * MEGABYTE
"""Bytes that may be asked for at once while a zip file is opened: its list of names is read in one piece."""
MOST_RATIO = 400
"""How many times larger than packed a file may become, once it is larger than ``RATIO_FROM``."""
RATIO_FROM = 8 * MEGABYTE
MOST_CELL = 8 * MEGABYTE
"""Characters of one cell, and of one line of a table."""
MOST_COLUMNS = 2_000
MOST_HEADING = 1_000
"""Characters of one heading."""
MOST_ID = 1_000
"""Characters of an id, or of any other name by which a record is found."""
MOST_ROWS = 2_000_000
"""Rows of all tables but the temperatures: about two gigabytes of memory at the very worst."""
MOST_READINGS = 10_000_000
"""Temperatures of all logs together; they are kept in 16 bytes each while they are read."""
