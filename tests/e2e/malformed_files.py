"""Tables, temperature logs and workbooks that something went wrong with: one for every seed, always the same."""

from __future__ import annotations

import io
import random
import warnings
import zipfile
from collections.abc import Callable
from datetime import datetime
from functools import cache

_HEADINGS = (
    (
        "no",
        "date",
        "lot",
        "who",
        "T (°C)",
        "age [h]",
        "stir/min",
        "stir time",
        "additive",
        "dose mg/g",
        "result",
        "note",
    ),
    ("run", "date", "time", "batch", "temp", "days in oil", "rpm", "gate 1", "gate 2", "charge (g)", "product (g)"),
    ("Nr", "Datum", "Temperature", "hold [min]", "clean ones", "trials", "humidity %", "recovery %", "comment"),
)
_CELLS = (
    "1",
    "2",
    "14.03.2026 10:20",
    "3/4/2026",
    "2026-03-14",
    "2026-03-14T10:20:00+01:00",
    "14:30",
    "25:99",
    "L1",
    "L2",
    "150",
    "151,5",
    "1,234",
    "1.234,5",
    "-7",
    "1e400",
    "nan",
    "inf",
    "90 s",
    "2 min",
    "1 h 30 min",
    "3 d",
    "12 furlongs",
    "none",
    "additive A",
    "clean",
    "beads",
    "partial",
    "part.",
    "+",
    "-",
    "+/-",
    "yes",
    "0",
    "1/3",
    "5 9^9^9",
    "2 s**9**9**9",
    "5 of 3",
    "weird",
    "=1+1",
    "=cmd|' /C calc'!A0",
    "@SUM(A1)",
    "#REF!",
    "\u202e150",
    "१५०",
    "²",
    "٣",
    "0x10",
    "1_000",
    "½",
    "∞",
    "a" * 300,
    '"',
    "'",
    ";",
    ",",
    "\t",
    "|",
    "\u00a0",
    "\ufeff",
    "99999999999999999999",
    "31.02.2026",
    "00/00/0000",
    "0000-00-00",
    "9999-12-31 23:59",
    "12/31/9999 24:00",
    "1 2 3",
    "150 °C",
    "302 F",
    "−5",
    "1.2.3.4",
    "..",
    ",,",
    "e5",
)


@cache
def _texts() -> tuple[bytes, ...]:
    made = []
    for place, header in enumerate(_HEADINGS):
        for mark in (";", ",", "\t"):
            rows = [mark.join(header)]
            rows += [
                mark.join(str((row * 7 + at * 3 + place) % 90 + 1) for at in range(len(header))) for row in range(6)
            ]
            made.append("\r\n".join(rows).encode())
    return tuple(made)


def malformed_table(seed: int) -> bytes:
    """Return a text table with one to five things wrong."""
    pick = random.Random(f"table {seed}")
    data = pick.choice(_texts()) if pick.random() < 0.4 else _random_table(pick)
    for _ in range(pick.randint(1, 5)):
        data = pick.choice(_HARMS)(data, pick)
    return data


def _random_table(pick: random.Random) -> bytes:
    mark = pick.choice(",;\t|")
    header = list(pick.choice(_HEADINGS))
    pick.shuffle(header)
    lines = [mark.join(header)]
    if pick.random() < 0.2:
        lines.insert(0, "Separations, spring")
    lines += [mark.join(_random_row(len(header), pick)) for _ in range(pick.randint(0, 7))]
    text = pick.choice(("\n", "\r\n", "\r")).join(lines)
    return text.encode(pick.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be")))


def _random_row(width: int, pick: random.Random) -> list[str]:
    return [pick.choice(_CELLS) for _ in range(width + pick.choice((0, 0, 0, 0, -1, 1, 3)))]


def _cut(data: bytes, pick: random.Random) -> bytes:
    return data[: pick.randint(0, len(data))]


def _flip(data: bytes, pick: random.Random) -> bytes:
    changed = bytearray(data or b" ")
    for _ in range(pick.randint(1, 8)):
        changed[pick.randrange(len(changed))] = pick.choice((pick.randrange(32, 127), pick.randrange(256)))
    return bytes(changed)


def _insert(data: bytes, pick: random.Random) -> bytes:
    at = pick.randint(0, len(data))
    what = pick.choice(_CELLS).encode("utf-8") if pick.random() < 0.7 else pick.randbytes(pick.randint(1, 12))
    return data[:at] + what + data[at:]


def _repeat(data: bytes, pick: random.Random) -> bytes:
    start = pick.randint(0, len(data))
    end = pick.randint(start, min(len(data), start + 60))
    return data[:end] + data[start:end] * pick.randint(1, 20) + data[end:]


def _drop(data: bytes, pick: random.Random) -> bytes:
    start = pick.randint(0, len(data))
    return data[:start] + data[start + pick.randint(1, 30) :]


def _swap_marks(data: bytes, pick: random.Random) -> bytes:
    return data.replace(
        pick.choice((b";", b",", b"\t", b"\n", b".")), pick.choice((b"|", b"\r", b'"', b"\0", b",", b""))
    )


def _wide(data: bytes, pick: random.Random) -> bytes:
    return data + b"\n" + pick.choice((b",", b";", b"\t")) * pick.choice((10, 990, 1_200, 40_000))


def _long(data: bytes, pick: random.Random) -> bytes:
    return data + b"\n" + pick.choice((b"x", b"9", b'"', b" ")) * pick.choice((100, 40_000, 140_000))


def _start(data: bytes, pick: random.Random) -> bytes:
    starts = (
        b"\xef\xbb\xbf",
        b"\xff\xfe",
        b"\xfe\xff",
        b"PK\x03\x04",
        b"%PDF",
        b"\x1f\x8b",
        b"\0\0",
        b"\n\n\n",
        b"sep=;\n",
    )
    return pick.choice(starts) + data


_HARMS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _cut,
    _flip,
    _flip,
    _insert,
    _insert,
    _insert,
    _repeat,
    _drop,
    _swap_marks,
    _wide,
    _long,
    _start,
)


@cache
def _logs() -> tuple[bytes, ...]:
    stamps = [f"2026-03-14 10:{at:02d}:00;{20 + at * 3.5:.1f}" for at in range(30)]
    clocks = [f"{at},00:{at:02d}:00,{20 + at},{21 + at}" for at in range(30)]
    seconds = [f"{at * 10}\t{20 + at}" for at in range(30)]
    return (
        ("Time;T (°C)\n" + "\n".join(stamps)).encode(),
        ("logger 7\nno,time,T1,T2\n" + "\n".join(clocks)).encode(),
        ("t/s\tT/F\n" + "\n".join(seconds)).encode("utf-16"),
        "\n".join(f"14/03/2026 10:{at:02d} {20 + at},5 C" for at in range(30)).encode("cp1252"),
        "\n".join(f"{46_000 + at / 1440:.6f} {20 + at}" for at in range(30)).encode(),
    )


def malformed_log(seed: int) -> bytes:
    """Return the file of a temperature logger with one to five things wrong."""
    pick = random.Random(f"log {seed}")
    data = pick.choice(_logs())
    for _ in range(pick.randint(1, 5)):
        data = pick.choice(_HARMS)(data, pick)
    return data


# -- workbooks -----------------------------------------------------------------------------------------


@cache
def small_workbook() -> bytes:
    """Return a workbook with numbers, dates, a formula, merged cells, a hidden sheet."""
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Attempts"
    sheet.append(["Attempts of spring"])
    sheet.append(["no", "date", "lot", "T (°C)", "age (h)", "result", "note"])
    for row in range(5):
        moment = datetime.fromisoformat(f"2026-03-{14 + row}T10:20")
        sheet.append(
            [row + 1, moment, f"L{row % 2}", 150.5 + row, 24 * (row + 1), ("clean", "beads")[row % 2], "ok"]
        )
    sheet["D7"] = "=D6+1"
    sheet.merge_cells("A1:C1")
    hidden = book.create_sheet("hidden")
    hidden.append(["T (°C)", "result"])
    hidden.append([150, "clean"])
    hidden.sheet_state = "hidden"
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


@cache
def _parts() -> tuple[tuple[str, bytes], ...]:
    with zipfile.ZipFile(io.BytesIO(small_workbook())) as archive:
        return tuple((each.filename, archive.read(each)) for each in archive.infolist())


def malformed_workbook(seed: int) -> bytes:
    """Return a workbook with its packing damaged, or packed well with its content damaged."""
    pick = random.Random(f"workbook {seed}")
    if pick.random() < 0.3:
        data = small_workbook()
        for _ in range(pick.randint(1, 3)):
            data = pick.choice((_flip, _cut, _drop, _repeat))(data, pick)
        return data
    parts = list(_parts())
    for _ in range(pick.randint(1, 3)):
        parts = pick.choice((_harm_part, _harm_part, _harm_xml, _harm_xml, _lose_part, _add_part))(parts, pick)
    kept = io.BytesIO()
    method = pick.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED))
    with warnings.catch_warnings(), zipfile.ZipFile(kept, "w", method) as archive:
        warnings.simplefilter("ignore")  # of two parts with one name
        for name, content in parts:
            archive.writestr(zipfile.ZipInfo(name), content, method)
    return kept.getvalue()


_Parts = list[tuple[str, bytes]]


def _harm_part(parts: _Parts, pick: random.Random) -> _Parts:
    at = pick.randrange(len(parts))
    name, content = parts[at]
    content = pick.choice((_flip, _cut, _drop, _insert, _repeat))(content, pick)
    return [*parts[:at], (name, content), *parts[at + 1 :]]


_XML = (
    (b"<v>", b"<v>1e999"),
    (b'r="D3"', b'r="XFD3"'),
    (b'r="D3"', b'r="ZZZZZZ3"'),
    (b'<row r="4"', b'<row r="900000000"'),
    (b'<row r="4"', b'<row r="-1"'),
    (b't="s"', b't="n"'),
    (b't="n"', b't="d"'),
    (b't="s"', b't="q"'),
    (b's="1"', b's="99"'),
    (b"<sheetData>", b"<sheetData><row/>"),
    (b"<f>", b"<f t='shared' si='0'>"),
    (b"?>", b"?><!DOCTYPE a [<!ENTITY b 'c'>]>"),
    (b"worksheets/sheet1.xml", b"../../../etc/passwd"),
    (b'Target="', b'TargetMode="External" Target="http://localhost/'),
    (b'sheetId="1"', b'sheetId="x"'),
    (b'state="hidden"', b'state="veryHidden"'),
    (b'<dimension ref="A1:G7"', b'<dimension ref="A1:XFD1048576"'),
    (b"<v>2</v>", b"<v>99999</v>"),
    (b"<c ", b'<c t="inlineStr" '),
    (b"utf-8", b"utf-7"),
    (b"</row>", b""),
    (b"<v>", b"<v>4.6e9"),
)


def _harm_xml(parts: _Parts, pick: random.Random) -> _Parts:
    old, new = pick.choice(_XML)
    return [(name, content.replace(old, new, pick.choice((1, 1, 50)))) for name, content in parts]


def _lose_part(parts: _Parts, pick: random.Random) -> _Parts:
    at = pick.randrange(len(parts))
    return parts[:at] + parts[at + 1 :] if len(parts) > 1 else parts


def _add_part(parts: _Parts, pick: random.Random) -> _Parts:
    names = (
        "../../outside.txt",
        "/tmp/outside.txt",
        "xl/vbaProject.bin",
        "xl/externalLinks/externalLink1.xml",
        "C:\\outside",
    )
    content = pick.choice((b"", b"x" * 1000, b"\0" * 6_000_000))
    return [*parts, (pick.choice(names), content)]
