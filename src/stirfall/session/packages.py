"""A session as a Data Package and back: everything that it keeps, but for what was undone and half-filled forms."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from os import PathLike
from pathlib import Path

from stirfall import __version__
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.running import TemperatureLog
from stirfall.session.clock import Clock
from stirfall.session.document import Document
from stirfall.session.planned_evidence import CLASSES, check_log, check_picture
from stirfall.session.validation import kept_moment
from stirfall.storage.bulky import Pair
from stirfall.storage.edits import StoredAnchor, StoredPhoto
from stirfall.storage.package import PackageContent, PackageFacts, Written, write_package_folder
from stirfall.storage.package_content import LeftOut, Photos
from stirfall.storage.package_zip import SUFFIX, read_any_package, write_package_zip

_MOST_CHOSEN = 1_000_000


def content_of(document: Document, *, description: str = "", licenses: tuple[str, ...] = ()) -> PackageContent:
    """Return everything of an open session as a package holds it; photos are loaded when they are asked for."""
    left_out = LeftOut(undone=document.undone_count(), drafts=int(document.draft is not None))
    state = document.state
    names = (state.settings.bench_name, state.settings.title, document.path.name)
    facts = PackageFacts(
        created_at=kept_moment(document.now()),
        source=", ".join(name for name in names if name),
        program=f"Stirfall {__version__}",
        licenses=licenses,
        left_out=left_out,
    )
    return PackageContent(state, document.corrections(), description, document.bulky(), facts)


def chosen_photos(document: Document, which: str) -> Photos:
    """Return the photos that words choose: all, none, or those of attempts by their numbers, such as ``3,7,10-14``.

    Raises InputError ``package.photos_unreadable`` or ``package.photos_unknown``.
    """
    word = which.strip().casefold()
    if word == "all":
        return "all"
    if word == "none":
        return "none"
    numbers = _numbers(which)
    by_number = {attempt.number: attempt.id for attempt in document.state.attempts}
    for number in numbers:
        if number not in by_number:
            raise InputError("package.photos_unknown", number=number)
    wanted = {by_number[number] for number in numbers}
    return tuple(item.id for item in document.bulky().items if item.kind is StoredPhoto and item.subject in wanted)


def _numbers(text: str) -> list[int]:
    found: list[int] = []
    for part in text.split(","):
        first, dash, last = (each.strip() for each in part.partition("-"))
        try:
            low, high = int(first), int(last if dash else first)
        except ValueError as error:
            raise InputError("package.photos_unreadable", text=text) from error
        if not 1 <= low <= high < low + _MOST_CHOSEN:
            raise InputError("package.photos_unreadable", text=text)
        found += range(low, high + 1)
    return found


def export_package(
    document: Document,
    out: str | PathLike[str],
    *,
    photos: Photos = "all",
    originals: bool = False,
    extra: Mapping[str, bytes] | None = None,
    description: str = "",
    token: CancelToken | None = None,
) -> Written:
    """Write everything of a session as a Data Package: a zip file where the name ends in .zip, else a folder.

    Raises FileTroubleError and InputError ``package.*``.
    """
    place = Path(out)
    write = write_package_zip if place.suffix.lower() == SUFFIX else write_package_folder
    return write(
        content_of(document, description=description),
        place,
        photos=photos,
        originals=originals,
        extra=extra,
        token=token,
    )


def import_package(
    source: str | PathLike[str],
    target: str | PathLike[str],
    *,
    clock: Clock | None = None,
    token: CancelToken | None = None,
) -> Document:
    """Make a session file of a Data Package, a folder or a zip file, and open it.

    Raises FileTroubleError and InputError: those of reading, and those of ``Document.create``; then no file is
    left behind.
    """
    return session_of(read_any_package(Path(source)), target, clock=clock, token=token)


def session_of(
    content: PackageContent,
    path: str | PathLike[str],
    *,
    clock: Clock | None = None,
    token: CancelToken | None = None,
) -> Document:
    """Make a session file of what a package holds and open it; raises what ``Document.create`` raises."""
    bulky = checked_bulky(content, token)
    return Document.create_from(path, content.state, corrections=content.corrections, bulky=bulky, clock=clock)


def checked_bulky(content: PackageContent, token: CancelToken | None = None) -> Iterator[Pair]:
    """Yield photos, examples and logs as a file keeps them; raises InputError ``photo.*``, ``log.*`` and others."""
    known = {attempt.id for attempt in content.state.attempts}
    for record_id, record in content.bulky:
        if token is not None:
            token.raise_if_cancelled()
        if not isinstance(record, StoredAnchor) and record.attempt_id not in known:
            raise InputError("attempt.unknown", id=record.attempt_id)
        added_at = kept_moment(record.added_at)
        if isinstance(record, TemperatureLog):
            points = tuple((kept_moment(at), value) for at, value in record.points)
            check_log(record.name, points)
            yield record_id, replace(record, added_at=added_at, points=points)
            continue
        check_picture(record.name, record.media_type, record.data)
        if isinstance(record, StoredPhoto):
            if record.original:
                check_picture(record.name, record.media_type, record.original)
        elif record.outcome not in [each.value for each in CLASSES]:
            known_words = ", ".join(each.value for each in CLASSES)
            raise InputError("regrade.not_a_class", value=record.outcome, known=known_words)
        yield record_id, replace(record, added_at=added_at)
