"""Photos that wait for the attempt to be recorded, by the key that the form has for each."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from stirfall.desktop.photos.scaling import Photo, read_photo

Reader = Callable[[], Photo]


class PhotoTray:
    """Holds photos that are ready, and how to read those that are not yet.

    A key is the path of a file, or the name of a pasted picture.
    """

    def __init__(self) -> None:
        self._ready: dict[str, Photo] = {}
        self._readers: dict[str, Reader] = {}

    def expect(self, key: str, reader: Reader) -> None:
        """Keep how a photo is read, until it was."""
        self._readers[key] = reader

    def hold(self, photo: Photo, key: str = "") -> None:
        """Keep a photo that was read."""
        key = key or photo.name
        self._ready[key] = photo
        self._readers.pop(key, None)

    def drop(self, key: str) -> None:
        """Forget a photo."""
        for kept in (self._ready, self._readers):
            kept.pop(key, None)

    def clear(self) -> None:
        """Forget all photos."""
        for kept in (self._ready, self._readers):
            kept.clear()

    def ready(self, key: str) -> Photo | None:
        """Return a photo that was read, or None."""
        return self._ready.get(key)

    def take(self, key: str) -> Photo:
        """Return a photo, read now where it was not yet; raises as ``read_photo`` does."""
        if key in self._ready:
            return self._ready[key]
        return self._readers[key]() if key in self._readers else read_photo(Path(key))


def free_name(taken: Iterable[str]) -> str:
    """Return a name for a pasted picture that none of the others has."""
    others, number = frozenset(taken), 1
    while f"pasted {number}.jpg" in others:
        number += 1
    return f"pasted {number}.jpg"
