"""Malformed packages by number: a small good one, spoilt in one way or in several; one number, the same bytes."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import random
import re
import struct
import zipfile
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from functools import cache

from stirfall.bench.campaign import CampaignState, ChecklistTick, Correction
from stirfall.bench.comparisons import Comparison, Group
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.issued import ChangeMark, IssuedRecipe, MarkKind
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses, Origin
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.running import (
    Acknowledgement,
    EventKind,
    PlannedStep,
    Regrade,
    Run,
    RunEvent,
    Step,
    TemperatureLog,
)
from stirfall.storage.edits import StoredAnchor, StoredPhoto
from stirfall.storage.package import DESCRIPTOR, PackageContent
from stirfall.storage.package_targets import Put
from stirfall.storage.package_writer import write_into

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
Files = dict[str, bytes]


def good_content() -> PackageContent:
    """Return a small campaign that has a record of every kind."""
    at = [NOON + timedelta(hours=hours) for hours in range(6)]
    recipe = Conditions({"temperature": 150.0, "action": "fold"})
    attempts = (
        Attempt("a1", 1, recipe, at[1], at[2], "L1", "J1", Parted.YES, Pooled.ONE_POOL, masses=Masses(10.0, 8.0),
                overrides=(AgeOverride("temperature", 1.0, "clock"),), facts=RunFacts(operator="me", peak_c=160.0),
                sheet=WeighingSheet((("product_g", 2.0),), 0.01), run_id="r1"),
        Attempt("a2", 2, recipe, lot_id="L1", successes=1, trials=3, note="=1+1", proof_id="p1",
                origin=Origin("north", "first", "0f", "x9", 4)),
    )  # fmt: skip
    events = (
        RunEvent("e1", "r1", EventKind.STEP, at[1], step="heat", ticks_s=1.5, boot="b"),
        RunEvent("e2", "r1", EventKind.READING, at[1], step="heat", value=151.5),
    )
    run = Run("r1", at[1], recipe, (PlannedStep(Step.HEAT, 60.0, 150.0),), "J1", "L1", "a1", at[2], "", events)
    state = CampaignState(
        CampaignSettings(title="Small", humps=("temperature",)),
        (Factor("temperature", "C", 100, 200), Factor("action", levels=("fold", "press"))),
        (Lot("L1", at[0], 12.5, "first"),),
        (Jar("J1", "L1", at[0], "white oil", 20.0),),
        attempts,
        (ChecklistTick("2026-03-01", at[0], "base metal", ("gloves",)),),
        (run,),
        (Regrade("g1", "a1", at[3], "clean separation"),),
        (Acknowledgement("k1", "jar J1 ready", at[3]),),
        (Proof("p1", at[3], recipe, ProofRule.COUNT, 0.9, 0.95, 90, 1, tolerances={"temperature": 2.0}),),
        (EveningPlan("v1", at[3], at[4], 3.0, 7, (PlannedAttempt(recipe, "J1", "L1", "next", "why", 0.5),)),),
        (Comparison("c1", at[3], Group("lot", "L1"), Group("factor:temperature", low=100.0, high=150.0)),),
        (IssuedRecipe("i1", 1, at[4], "Recipe", recipe, '{"schema": "x"}', "0f", "0.1.0", "note"),),
        (ChangeMark("m1", at[4], MarkKind.OIL, "new oil"),),
    )
    bulky = (
        ("f1", StoredPhoto("a1", "pool.jpg", "image/jpeg", at[2], b"\xff\xd8picture", b"\xff\xd8original")),
        ("n1", StoredAnchor("clean separation", "clean.png", "image/png", at[2], b"\x89PNGpicture")),
        ("t1", TemperatureLog("t1", "a1", "log.csv", at[2], ((at[1], 20.5), (at[2], 150.25)))),
    )
    corrections = (Correction(at[3], "attempt", "a1", "note", '""', '"x"', "typing", "Correct attempt 1"),)
    return PackageContent(state, corrections, "A small campaign.", bulky)


class _Kept:
    """A target that keeps the files."""

    def __init__(self) -> None:
        self.files: Files = {}

    def put(self, name: str, chunks: Iterable[bytes]) -> Put:
        self.files[name] = b"".join(chunks)
        return Put(len(self.files[name]), hashlib.sha256(self.files[name]).hexdigest())


@cache
def _good() -> tuple[tuple[str, bytes], ...]:
    kept = _Kept()
    write_into(kept, good_content())
    return tuple(kept.files.items())


def good_files() -> Files:
    """Return the files of the good package by their names."""
    return dict(_good())


def zipped(files: Iterable[tuple[str, bytes]]) -> bytes:
    """Return files as a zip file, stored, in their order."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, data in files:
            file.writestr(zipfile.ZipInfo(name), data)
    return out.getvalue()


@cache
def good_package() -> bytes:
    """Return the good package as a zip file."""
    return zipped(_good())


def malformed_package(seed: int) -> bytes:
    """Return a spoilt package, the same for the same number; now and then it is still a good one."""
    chance = random.Random(seed)
    if chance.random() < 0.4:
        data = bytearray(good_package())
        for _ in range(chance.choice((1, 1, 2, 4))):
            chance.choice(_BYTES)(data, chance)
        return bytes(data)
    files = good_files()
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        chance.choice(_FILES)(files, chance)
    members = list(files.items())
    if chance.random() < 0.1:
        chance.shuffle(members)
    return zipped(members)


# ------------------------------------------------------------------------------------------- bytes of the zip file


def _flip(data: bytearray, chance: random.Random) -> None:
    for _ in range(chance.choice((1, 3, 20))):
        if data:
            data[chance.randrange(len(data))] = chance.randrange(256)


def _cut(data: bytearray, chance: random.Random) -> None:
    del data[chance.randrange(len(data) + 1) :]


def _cut_out(data: bytearray, chance: random.Random) -> None:
    start = chance.randrange(len(data) + 1)
    del data[start : start + chance.randrange(1, 200)]


def _insert(data: bytearray, chance: random.Random) -> None:
    start = chance.randrange(len(data) + 1)
    data[start:start] = chance.randbytes(chance.randrange(1, 60))


def _spoil_header(data: bytearray, chance: random.Random) -> None:
    """Overwrite a field of a header of a member, of the directory, or of its end."""
    mark, size = chance.choice(((b"PK\x03\x04", 30), (b"PK\x01\x02", 46), (b"PK\x05\x06", 22)))
    places = [found.start() for found in re.finditer(re.escape(mark), data)]
    if not places:
        return
    at = chance.choice(places) + chance.randrange(4, size - 3)
    value = chance.choice((0, 1, 0x20, 0x7FFFFFFF, 0xFFFFFFFF, chance.getrandbits(32)))
    data[at : at + 4] = struct.pack("<I", value)


def _rename_inside(data: bytearray, chance: random.Random) -> None:
    """Give a member another name of the same length, in all headers or in one of them."""
    old = chance.choice([name for name, _ in _good()]).encode()
    new = bytearray(old)
    new[chance.randrange(len(new))] = chance.choice(b"\x00\\/:.\xff\xc3A ")
    data[:] = data.replace(old, bytes(new), chance.choice((1, 2)))


_BYTES: tuple[Callable[[bytearray, random.Random], None], ...] = (
    _flip, _flip, _cut, _cut_out, _insert, _spoil_header, _spoil_header, _rename_inside,
)  # fmt: skip


# ----------------------------------------------------------------------------------------------------------- files

_NAMES = (
    "../outside.csv", "/etc/passwd", "C:\\outside.csv", "a\\b.csv", "attempts.csv/inside", "ATTEMPTS.CSV",
    "lots.csv/", "con.csv", "x" * 300, "photos/../../x.jpg", "r\u00e9sum\u00e9.txt", "inner.zip", "", ".", "a//b",
    "__MACOSX/._x",
)  # fmt: skip
_CELLS = (
    "", "'", "=1+1", "nan", "NaN", "inf", "1e999", "-1e999", "1e-999", "9" * 400, "-1", "0", "0.5", "true", "TRUE",
    "2026-13-01T00:00:00Z", "2026-03-01", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "\0", "\ud7ff",
    "[", "{}", "[]", "[[]]", "[1]", '["x"]', "[null]", "{\"a\": 1}", "[NaN]", "[1e999]", '["\\ud800"]', "[" * 900,
    "[" * 900 + "]" * 900, "[" * 100_000, '{"first": 1}', '[["a", "b"]]', '{"oil": 5}', '{"metal": {"key": 3}}',
    '{"what": "lot", "low": "x"}', '{"peak_c": "hot"}', '{"peak_c": 1e400}', "x" * 5000, "'\\u0000", "'\\", "no",
    "lot", "crude", "residue", "a1", "A1", " a1 ", "J1", "L1", "r1", "photos/attempt-001-1.jpg", "../photos/x.jpg",
    "\u202e",     "clean separation", "nothing parted", "1", "2", "99999999999999999999", '"', ",", "\r\n", "\t",
)  # fmt: skip


def _table(files: Files, chance: random.Random) -> str:
    names = [name for name in files if name.endswith(".csv")]
    return chance.choice(names) if names else ""


def _drop_file(files: Files, chance: random.Random) -> None:
    if files:
        del files[chance.choice(list(files))]


def _add_file(files: Files, chance: random.Random) -> None:
    files[chance.choice(_NAMES)] = chance.randbytes(20)


def _swap_files(files: Files, chance: random.Random) -> None:
    first, second = (chance.choice(list(files)) for _ in range(2)) if files else ("", "")
    if first:
        files[first], files[second] = files[second], files[first]


def _cells_of(files: Files, name: str) -> list[list[bytes]]:
    """Return the cells of a table as they stand between the commas; quoted ones may come out in parts."""
    return [line.split(b",") for line in files[name].split(b"\r\n")]


def _put_cells(files: Files, name: str, cells: list[list[bytes]]) -> None:
    files[name] = b"\r\n".join(b",".join(row) for row in cells)


def _change_cell(files: Files, chance: random.Random) -> None:
    """Put an odd cell where a good one was, quoted as CSV asks for."""
    name = _table(files, chance)
    try:
        rows = list(csv.reader(io.StringIO(files.get(name, b"").decode(), newline="")))
    except (ValueError, csv.Error):
        return
    filled = [row for row in rows[1:] or rows if row]
    if filled:
        row = chance.choice(filled)
        row[chance.randrange(len(row))] = chance.choice(_CELLS)
        out = io.StringIO(newline="")
        csv.writer(out).writerows(rows)
        files[name] = out.getvalue().encode()


def _swap_cells(files: Files, chance: random.Random) -> None:
    name = _table(files, chance)
    if not name:
        return
    cells = _cells_of(files, name)
    first, second = chance.choice(cells), chance.choice(cells)
    one, two = chance.randrange(len(first)), chance.randrange(len(second))
    first[one], second[two] = second[two], first[one]
    _put_cells(files, name, cells)


def _change_rows(files: Files, chance: random.Random) -> None:
    name = _table(files, chance)
    if not name:
        return
    cells = _cells_of(files, name)
    place = chance.randrange(len(cells))
    match chance.randrange(4):
        case 0:
            del cells[place]
        case 1:
            cells.insert(place, cells[place])
        case 2:
            cells[place] = cells[place][: chance.randrange(len(cells[place]))]
        case _:
            cells[place] = cells[place] + [b""] * chance.choice((1, 3000))
    _put_cells(files, name, cells)


def _drop_column(files: Files, chance: random.Random) -> None:
    name = _table(files, chance)
    if name:
        cells = _cells_of(files, name)
        place = chance.randrange(len(cells[0]))
        _put_cells(files, name, [row[:place] + row[place + 1 :] for row in cells])


def _recode(files: Files, chance: random.Random) -> None:
    name = chance.choice(list(files)) if files else ""
    if name:
        text = files[name].decode("utf-8", "replace")
        files[name] = text.encode(chance.choice(("utf-16", "utf-32", "utf-8-sig", "latin-1")), "replace")


def _spoil_file(files: Files, chance: random.Random) -> None:
    name = chance.choice(list(files)) if files else ""
    if name:
        data = bytearray(files[name])
        chance.choice((_flip, _cut, _cut_out, _insert))(data, chance)
        files[name] = bytes(data)


_VALUES = (
    None,
    0,
    -1,
    1e300,
    "",
    "x" * 3000,
    [],
    {},
    [[]],
    [None],
    {"schema": 5},
    "../x.csv",
    "/x",
    "\ud800",
    True,
)


def _change_descriptor(files: Files, chance: random.Random) -> None:
    if DESCRIPTOR not in files:
        return
    if chance.random() < 0.1:
        files[DESCRIPTOR] = chance.choice((b"[" * 100_000, b"[]", b"", b"null", b'{"stirfall": []}', b"\xff\xfe{"))
        return
    try:
        place = json.loads(files[DESCRIPTOR])
    except (ValueError, RecursionError):
        return
    told = place
    while isinstance(place, (dict, list)):
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        if not keys:
            break
        key = chance.choice(keys)
        if not isinstance(place[key], (dict, list)) or chance.random() < 0.3:
            place[key] = chance.choice(_VALUES)
            break
        place = place[key]
    files[DESCRIPTOR] = json.dumps(told).encode()


_FILES: tuple[Callable[[Files, random.Random], None], ...] = (
    _drop_file, _add_file, _swap_files, _change_cell, _change_cell, _change_cell, _change_cell, _swap_cells,
    _change_rows, _drop_column, _recode, _spoil_file, _spoil_file, _change_descriptor, _change_descriptor,
)  # fmt: skip
