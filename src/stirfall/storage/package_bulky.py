"""Photos, examples and temperature logs in a package: a table for each kind, pictures as files beside it."""

from __future__ import annotations

import hashlib
from array import array
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import partial

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.outcomes import Outcome
from stirfall.bench.running import TemperatureLog
from stirfall.storage import package_limits as limits
from stirfall.storage.bulky import Item, Pair, of_kind
from stirfall.storage.edits import Bulky, StoredAnchor, StoredPhoto
from stirfall.storage.package_cells import ID, INTEGER, MAYBE_INTEGER, NUMBER, TEXT, TIME, one_of
from stirfall.storage.package_content import Photos
from stirfall.storage.package_names import shortened
from stirfall.storage.package_sources import Source
from stirfall.storage.package_tables import Row, Table, columns
from stirfall.storage.package_targets import Target

_ENDINGS: Mapping[str, str] = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/gif": "gif",
    "image/heic": "heic",
    "image/bmp": "bmp",
    "image/tiff": "tiff",
}
_CHUNK = 1 << 16
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_TICK = timedelta(microseconds=1)


@dataclass(frozen=True)
class PictureRow:
    """One row of the photos or of the examples: a record without its bytes, and the files that hold them."""

    id: str
    subject: str
    name: str
    media_type: str
    added_at: datetime
    path: str
    size: int
    sha256: str
    original_path: str = ""
    original_size: int | None = None
    original_sha256: str = ""


@dataclass(frozen=True)
class Reading:
    """One temperature of a log."""

    log_id: str
    at: datetime
    temperature_c: float


def _photo_row(row: PictureRow) -> Row:
    return vars(row) | {"attempt_id": row.subject}


def _example_row(row: PictureRow) -> Row:
    return vars(row) | {"outcome": Outcome(row.subject)}


def _photo(row: Row) -> PictureRow:
    values = {name: value for name, value in row.items() if name != "attempt_id"}
    return PictureRow(subject=str(row["attempt_id"]), **values)  # type: ignore[arg-type]


def _example(row: Row) -> PictureRow:
    values = {name: value for name, value in row.items() if name != "outcome"}
    return PictureRow(subject=str(row["outcome"]), **values)  # type: ignore[arg-type]


_FILE = (
    ("name", TEXT, "Name of the file that was attached."),
    ("media_type", TEXT, "What kind of picture it is."),
    ("added_at", TIME, "When it was attached, UTC."),
    ("path", TEXT, "The file of the package that holds it."),
    ("size", INTEGER, "Its size in bytes."),
    ("sha256", TEXT, "Its SHA-256 in hexadecimal; empty: not checked."),
)

PHOTOS = Table(
    "photos",
    columns(
        ("id", ID, "Identity of the photo."),
        ("attempt_id", ID, "The attempt that it shows."),
        *_FILE,
        ("original_path", TEXT, "The file that holds the original; empty: none was kept, or it was left out."),
        ("original_size", MAYBE_INTEGER, "Size of the original in bytes."),
        ("original_sha256", TEXT, "SHA-256 of the original."),
    ),
    _photo_row,
    _photo,
    key="id",
    links=(("attempt_id", "attempts"),),
)

EXAMPLES = Table(
    "examples",
    columns(
        ("id", ID, "Identity of the example."),
        ("outcome", one_of(Outcome), "The class of outcome that it shows."),
        *_FILE,
    ),
    _example_row,
    _example,
    key="id",
)

LOGS = Table(
    "temperature_logs",
    columns(
        ("id", ID, "Identity of the log; its readings name it."),
        ("attempt_id", ID, "The attempt during which it ran."),
        ("name", TEXT, "Name of the file that was read."),
        ("added_at", TIME, "When it was attached, UTC."),
    ),
    vars,
    lambda row: TemperatureLog(**row),  # type: ignore[arg-type]
    key="id",
    links=(("attempt_id", "attempts"),),
)

READINGS = Table(
    "temperatures",
    columns(
        ("log_id", ID, "The log."),
        ("at", TIME, "When it was read, UTC."),
        ("temperature_c", NUMBER, "The temperature in degrees Celsius."),
    ),
    vars,
    lambda row: Reading(**row),  # type: ignore[arg-type]
    links=(("log_id", "temperature_logs"),),
)


# ---------------------------------------------------------------------------------------------------------- writing


def put_photos(
    target: Target, bulky: Sequence[Pair], numbers: Mapping[str, int], photos: Photos, *, originals: bool
) -> list[PictureRow]:
    """Write the chosen photos as files and return their rows; raises InputError ``attempt.unknown``."""
    if photos == "none":
        return []
    rows, counts = [], dict.fromkeys(numbers, 0)
    for photo_id, photo in of_kind(bulky, StoredPhoto, None if photos == "all" else photos):
        if photo.attempt_id not in numbers:
            raise InputError("attempt.unknown", id=photo.attempt_id)
        counts[photo.attempt_id] += 1
        stem = f"photos/attempt-{numbers[photo.attempt_id]:03d}-{counts[photo.attempt_id]}"
        row = _put_picture(target, photo_id, photo.attempt_id, photo, stem)
        if originals and photo.original:
            path = f"{stem}-original.{_ending(photo.media_type)}"
            put = target.put(path, _chunks(photo.original))
            row = replace(row, original_path=path, original_size=put.size, original_sha256=put.sha256)
        rows.append(row)
    return rows


def put_examples(target: Target, bulky: Sequence[Pair]) -> list[PictureRow]:
    """Write the examples of the classes as files and return their rows."""
    rows: list[PictureRow] = []
    for anchor_id, anchor in of_kind(bulky, StoredAnchor):
        stem = f"examples/{anchor.outcome.replace(' ', '-').replace(',', '')}-{len(rows) + 1}"
        rows.append(_put_picture(target, anchor_id, anchor.outcome, anchor, stem))
    return rows


def _put_picture(
    target: Target, record_id: str, subject: str, record: StoredPhoto | StoredAnchor, stem: str
) -> PictureRow:
    path = f"{stem}.{_ending(record.media_type)}"
    put = target.put(path, _chunks(record.data))
    return PictureRow(
        record_id, subject, record.name, record.media_type, record.added_at, path, put.size, put.sha256
    )


def _ending(media_type: str) -> str:
    return _ENDINGS.get(media_type, "bin")


def _chunks(data: bytes) -> Iterator[bytes]:
    for start in range(0, len(data), _CHUNK):
        yield data[start : start + _CHUNK]


def readings(bulky: Sequence[Pair]) -> Iterator[Reading]:
    """Yield every temperature of every log, log by log."""
    for log_id, log in of_kind(bulky, TemperatureLog):
        for at, temperature_c in log.points:
            yield Reading(log_id, at, temperature_c)


# ---------------------------------------------------------------------------------------------------------- reading


def photo_items(source: Source, rows: Sequence[PictureRow]) -> list[Item]:
    """Return the photos of a package, checked file by file and loaded when asked for.

    Raises FileTroubleError ``package.missing_file``, ``package.too_large`` or ``package.other_file``, or
    InputError ``package.file_twice``.
    """
    _check_once([path for row in rows for path in (row.path, row.original_path) if path])
    items = []
    for row in rows:
        _check_file(source, row.path, row.sha256)
        if row.original_path:
            _check_file(source, row.original_path, row.original_sha256)
        items.append(Item(row.id, StoredPhoto, partial(_load_photo, row), row.subject))
    return items


def example_items(source: Source, rows: Sequence[PictureRow]) -> list[Item]:
    """Return the examples of a package, likewise."""
    _check_once([row.path for row in rows])
    items = []
    for row in rows:
        _check_file(source, row.path, row.sha256)
        items.append(Item(row.id, StoredAnchor, partial(_load_example, row), row.subject))
    return items


def _load_photo(row: PictureRow, source: Source) -> Bulky:
    original = _file(source, row.original_path) if row.original_path else b""
    return StoredPhoto(row.subject, row.name, row.media_type, row.added_at, _file(source, row.path), original)


def _load_example(row: PictureRow, source: Source) -> Bulky:
    return StoredAnchor(row.subject, row.name, row.media_type, row.added_at, _file(source, row.path))


def _file(source: Source, path: str) -> bytes:
    with closing(source.open(path, limits.MOST_PICTURE)) as file:
        return b"".join(iter(lambda: file.read(_CHUNK), b""))


def _check_once(paths: Sequence[str]) -> None:
    """Raise InputError ``package.file_twice``: a small file named a million times would be read a million times."""
    seen: set[str] = set()
    for path in paths:
        if path in seen:
            raise InputError("package.file_twice", name=shortened(path))
        seen.add(path)


def _check_file(source: Source, path: str, sha256: str) -> None:
    digest = hashlib.sha256()
    with closing(source.open(path, limits.MOST_PICTURE)) as file:
        while chunk := file.read(_CHUNK):
            digest.update(chunk)
    if sha256 and digest.hexdigest() != sha256.lower():
        raise FileTroubleError("package.other_file", path=f"{source.place}: {path}")


@dataclass
class PackedPoints:
    """The readings of one log in 16 bytes each: moments in microseconds, temperatures."""

    moments: array[int]
    temperatures: array[float]

    @classmethod
    def empty(cls) -> PackedPoints:
        """Return a place for readings."""
        return cls(array("q"), array("d"))

    def add(self, at: datetime, temperature_c: float) -> None:
        """Keep one reading."""
        self.moments.append((at - _EPOCH) // _TICK)
        self.temperatures.append(temperature_c)

    def points(self) -> tuple[tuple[datetime, float], ...]:
        """Return the readings."""
        pairs = zip(self.moments, self.temperatures, strict=True)
        return tuple((_EPOCH + timedelta(microseconds=moment), value) for moment, value in pairs)


def _load_log(log: TemperatureLog, packed: PackedPoints, _source: Source) -> Bulky:
    return replace(log, points=packed.points())


def log_items(logs: Sequence[TemperatureLog], read: Iterator[Reading]) -> list[Item]:
    """Return the logs with their readings, which are kept packed until they are asked for."""
    packed = {log.id: PackedPoints.empty() for log in logs}
    for count, reading in enumerate(read):
        if count >= limits.MOST_READINGS:
            raise InputError("package.too_many_rows", table=READINGS.file_name, most=limits.MOST_READINGS)
        if reading.log_id in packed:  # an unknown one is said by the reader
            packed[reading.log_id].add(reading.at, reading.temperature_c)
    return [Item(log.id, TemperatureLog, partial(_load_log, log, packed[log.id]), log.attempt_id) for log in logs]
