"""The tables of a session file, and the numbers that mark it as ours."""

from __future__ import annotations

APPLICATION_ID = 0x53744661  # "StFa"
SCHEMA_VERSION = 5
SUFFIX = ".stirfall"

# What came with guided runs, in one piece, because the migration to version 3 makes these tables too.
RUN_TABLES = """
CREATE TABLE run (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    started_at TEXT NOT NULL,
    conditions TEXT NOT NULL CHECK (json_valid(conditions)),
    steps TEXT NOT NULL CHECK (json_valid(steps)),
    jar_id TEXT REFERENCES jar (id),
    lot_id TEXT REFERENCES lot (id),
    attempt_id TEXT REFERENCES attempt (id),
    ended_at TEXT,
    end_reason TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE run_event (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    run_id TEXT NOT NULL REFERENCES run (id),
    kind TEXT NOT NULL,
    at TEXT NOT NULL,
    step TEXT NOT NULL,
    word TEXT NOT NULL,
    value REAL,
    text TEXT NOT NULL,
    ticks_s REAL,
    boot TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX run_event_by_run ON run_event (run_id);
CREATE TABLE regrade (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    attempt_id TEXT NOT NULL REFERENCES attempt (id),
    at TEXT NOT NULL,
    outcome TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE acknowledgement (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    key TEXT NOT NULL,
    at TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE anchor (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    outcome TEXT NOT NULL,
    added_at TEXT NOT NULL,
    name TEXT NOT NULL,
    media_type TEXT NOT NULL,
    data BLOB NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE temperature_log (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    attempt_id TEXT NOT NULL REFERENCES attempt (id),
    added_at TEXT NOT NULL,
    name TEXT NOT NULL,
    points TEXT NOT NULL CHECK (json_valid(points)),
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX temperature_log_by_attempt ON temperature_log (attempt_id);
CREATE TABLE draft_photo (
    key TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    data BLOB NOT NULL
);
"""

# What came with planning, for the migration to version 4 as well.
PLAN_TABLES = """
CREATE TABLE proof (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    started_at TEXT NOT NULL,
    recipe TEXT NOT NULL CHECK (json_valid(recipe)),
    rule TEXT NOT NULL,
    claim REAL NOT NULL,
    confidence REAL NOT NULL,
    attempts INTEGER NOT NULL,
    failures_allowed INTEGER NOT NULL,
    good REAL,
    risk_of_missing REAL,
    tolerances TEXT NOT NULL CHECK (json_valid(tolerances)),
    title TEXT NOT NULL,
    ended_at TEXT,
    end_reason TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE evening_plan (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    made_at TEXT NOT NULL,
    begins_at TEXT NOT NULL,
    hours REAL NOT NULL,
    draw INTEGER NOT NULL,
    attempts TEXT NOT NULL CHECK (json_valid(attempts)),
    dropped_at TEXT,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
"""

# What came with comparisons, issued recipes and pooled sessions, for the migration to version 5 as well.
EVIDENCE_TABLES = """
CREATE TABLE comparison (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    made_at TEXT NOT NULL,
    first TEXT NOT NULL CHECK (json_valid(first)),
    second TEXT NOT NULL CHECK (json_valid(second)),
    measure TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE issued_recipe (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    number INTEGER NOT NULL,
    issued_at TEXT NOT NULL,
    title TEXT NOT NULL,
    conditions TEXT NOT NULL CHECK (json_valid(conditions)),
    document TEXT NOT NULL CHECK (json_valid(document)),
    fingerprint TEXT NOT NULL,
    program_version TEXT NOT NULL,
    note TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE change_mark (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    text TEXT NOT NULL,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
"""

# Withdrawn rows are records whose making was undone: they stay in the file and are not part of the state.
TABLES = (
    """
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE setting (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE factor (
    name TEXT PRIMARY KEY,
    position INTEGER NOT NULL,
    unit TEXT NOT NULL,
    low REAL,
    high REAL,
    scale TEXT NOT NULL,
    step REAL,
    levels TEXT NOT NULL CHECK (json_valid(levels)),
    role TEXT NOT NULL,
    default_value TEXT CHECK (default_value IS NULL OR json_valid(default_value)),
    hidden INTEGER NOT NULL
);
CREATE TABLE lot (
    seq INTEGER NOT NULL UNIQUE,
    id TEXT PRIMARY KEY,
    made_at TEXT,
    solids_percent REAL,
    note TEXT NOT NULL,
    metal_percent REAL,
    metal_u_percent REAL,
    assays INTEGER,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE jar (
    seq INTEGER NOT NULL UNIQUE,
    id TEXT PRIMARY KEY,
    lot_id TEXT NOT NULL REFERENCES lot (id),
    started_at TEXT NOT NULL,
    oil TEXT NOT NULL,
    oil_depth_mm REAL,
    lid TEXT NOT NULL,
    charge_g REAL,
    note TEXT NOT NULL,
    emptied_at TEXT,
    inner_diameter_mm REAL,
    headspace_mm REAL,
    piece_count INTEGER,
    piece_mm REAL,
    metal_area_cm2 REAL,
    material TEXT NOT NULL DEFAULT '',
    oil_history TEXT NOT NULL DEFAULT '',
    storage_c REAL,
    room_rh_percent REAL,
    contents TEXT NOT NULL DEFAULT 'crude',
    look TEXT NOT NULL DEFAULT '',
    looked_at TEXT,
    planned INTEGER NOT NULL DEFAULT 0,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE attempt (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    number INTEGER NOT NULL UNIQUE,
    conditions TEXT NOT NULL CHECK (json_valid(conditions)),
    started_at TEXT,
    recorded_at TEXT,
    lot_id TEXT REFERENCES lot (id),
    jar_id TEXT REFERENCES jar (id),
    parted TEXT,
    pooled TEXT,
    successes INTEGER,
    trials INTEGER NOT NULL,
    aborted INTEGER NOT NULL,
    abort_reason TEXT NOT NULL,
    masses TEXT NOT NULL CHECK (json_valid(masses)),
    note TEXT NOT NULL,
    overrides TEXT NOT NULL CHECK (json_valid(overrides)),
    struck_reason TEXT,
    invented INTEGER NOT NULL,
    facts TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(facts)),
    sheet TEXT NOT NULL DEFAULT '{}' CHECK (json_valid(sheet)),
    run_id TEXT REFERENCES run (id),
    proof_id TEXT REFERENCES proof (id),
    origin TEXT CHECK (origin IS NULL OR json_valid(origin)),
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE command (
    seq INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    action TEXT NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    records TEXT NOT NULL CHECK (json_valid(records))
);
CREATE TABLE correction (
    seq INTEGER PRIMARY KEY,
    command_seq INTEGER REFERENCES command (seq),
    at TEXT NOT NULL,
    kind TEXT NOT NULL,
    record_id TEXT NOT NULL,
    field TEXT NOT NULL,
    old TEXT NOT NULL,
    new TEXT NOT NULL,
    reason TEXT NOT NULL,
    command TEXT NOT NULL
);
CREATE INDEX correction_by_record ON correction (record_id);
CREATE TABLE tick (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    day TEXT NOT NULL,
    ticked_at TEXT NOT NULL,
    material TEXT NOT NULL,
    keys TEXT NOT NULL CHECK (json_valid(keys)),
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE attachment (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    attempt_id TEXT NOT NULL REFERENCES attempt (id),
    added_at TEXT NOT NULL,
    name TEXT NOT NULL,
    media_type TEXT NOT NULL,
    data BLOB NOT NULL,
    original BLOB,
    withdrawn INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX attachment_by_attempt ON attachment (attempt_id);
"""
    + RUN_TABLES
    + PLAN_TABLES
    + EVIDENCE_TABLES
    + """
CREATE TABLE draft (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    saved_at TEXT NOT NULL,
    form TEXT NOT NULL CHECK (json_valid(form))
);
"""
)

TABLE_NAMES = (
    "meta",
    "setting",
    "factor",
    "lot",
    "jar",
    "attempt",
    "command",
    "correction",
    "tick",
    "attachment",
    "run",
    "run_event",
    "regrade",
    "acknowledgement",
    "anchor",
    "temperature_log",
    "proof",
    "evening_plan",
    "comparison",
    "issued_recipe",
    "change_mark",
    "draft",
    "draft_photo",
)
