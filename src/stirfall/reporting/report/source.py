"""What a lab report is made from: one frozen picture of a session, taken at once and then read by a worker."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import InputError
from stirfall.bench.records import Attempt
from stirfall.reporting.report.names import Nameless
from stirfall.session.validation import kept_moment

if TYPE_CHECKING:
    from stirfall.session.document import Document
    from stirfall.storage.package_content import PackageContent

ALL, NONE = "all", "none"


@dataclass(frozen=True)
class ChosenPhoto:
    """One photo with the attempt that it belongs to."""

    attempt_id: str
    number: int
    grade: str
    name: str
    media_type: str
    data: bytes = field(repr=False)
    id: str = ""


@dataclass(frozen=True)
class ReportSource:
    """A session as a report tells it: people's names are letters already unless ``with_names``.

    ``fingerprint`` is that of the session itself; ``photographed`` are the ids of all attempts that have photos,
    ``examples`` the classes that have an example photo. ``photos`` are those chosen for the report.
    """

    state: CampaignState
    corrections: tuple[Correction, ...]
    session_name: str
    fingerprint: str
    created_at: datetime
    with_names: bool = False
    operators: int = 0
    photos: tuple[ChosenPhoto, ...] = field(default=(), repr=False)
    photographed: frozenset[str] = frozenset()
    examples: tuple[str, ...] = ()
    logged: frozenset[str] = frozenset()
    nameless: Nameless | None = field(default=None, repr=False, compare=False)

    def told(self, state: CampaignState) -> CampaignState:
        """Return another state of the same session, such as that of its analysis, with or without names as this."""
        return state if self.nameless is None else self.nameless.state(state)


def source_of(
    document: Document,
    *,
    photos: str | Iterable[int] = NONE,
    photo_ids: Iterable[str] | None = None,
    with_names: bool = False,
    created_at: datetime | None = None,
) -> ReportSource:
    """Return the picture of an open session; read it on the thread that the document belongs to.

    ``photos`` is "all", "none" or the numbers of attempts whose photos shall be in the report; ``photo_ids`` names
    single photos instead. Raises InputError ``report.photo_unknown`` for an attempt that is not there or has none.
    """
    state = document.state
    chosen = _chosen(document, photos, photo_ids)
    nameless = Nameless(state.attempts)
    corrections = document.corrections()
    photographed = document.photographed()
    return ReportSource(
        state=state if with_names else nameless.state(state),
        corrections=corrections if with_names else nameless.corrections(corrections),
        session_name=document.path.name,
        fingerprint=document.fingerprint,
        created_at=created_at or document.now(),
        with_names=with_names,
        operators=len(nameless.known),
        photos=chosen,
        photographed=photographed,
        examples=tuple(outcome.value for outcome in document.anchors()),
        logged=document.logged(),
        nameless=None if with_names else nameless,
    )


def photo_numbers(text: str) -> str | tuple[int, ...]:
    """Read "all", "none" or numbers such as "3, 7, 12"; raises InputError ``report.photos_unreadable``."""
    word = text.strip().casefold()
    if word in (ALL, NONE):
        return word
    parts = [part for part in word.replace(";", ",").replace(" ", ",").split(",") if part]
    if not parts or not all(part.isdecimal() for part in parts):
        raise InputError("report.photos_unreadable", text=text)
    return tuple(dict.fromkeys(int(part) for part in parts))


def _chosen(
    document: Document, photos: str | Iterable[int], photo_ids: Iterable[str] | None
) -> tuple[ChosenPhoto, ...]:
    with_photos = document.photographed()
    attempts = [each for each in document.state.attempts if each.id in with_photos]
    if photo_ids is not None:
        wanted = set(photo_ids)
        return tuple(each for attempt in attempts for each in _of(document, attempt) if each.id in wanted)
    if photos == ALL:
        return tuple(each for attempt in attempts for each in _of(document, attempt))
    numbers = () if photos == NONE or isinstance(photos, str) else tuple(photos)
    by_number = {attempt.number: attempt for attempt in attempts}
    for number in numbers:
        if number not in by_number:
            raise InputError("report.photo_unknown", number=number)
    return tuple(each for number in sorted(set(numbers)) for each in _of(document, by_number[number]))


def _of(document: Document, attempt: Attempt) -> Iterable[ChosenPhoto]:
    for photo in document.photos(attempt.id):
        grade = attempt.outcome.value
        yield ChosenPhoto(attempt.id, attempt.number, grade, photo.name, photo.media_type, photo.data, photo.id)


def data_of(document: Document, source: ReportSource) -> PackageContent:
    """Return the data of a bundle: all that the session keeps, with or without names as the report has them."""
    from stirfall.session.packages import content_of

    content = content_of(document)
    facts = replace(content.facts, created_at=kept_moment(source.created_at))
    return replace(content, state=source.state, corrections=source.corrections, facts=facts)


__all__ = ["ALL", "NONE", "ChosenPhoto", "ReportSource", "data_of", "photo_numbers", "source_of"]
