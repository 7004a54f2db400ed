"""Photos that wait for the attempt to be recorded, by the key that the form has for each."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from stirfall.desktop.photos.scaling import MEDIA_TYPE, Photo, read_photo

Reader = Callable[[], Photo]


class PhotoTray:
    """Holds photos that are ready, and how to read those that are not yet.

    A key is the path of a file, or the name of a pasted picture.
    """

    def __init__(self) -> None:
        self._ready: dict[str, Photo] = {}
        self._texts: dict[str, str] = {}
        self._readers: dict[str, Reader] = {}

    def expect(self, key: str, reader: Reader) -> None:
        """Keep how a photo is read, until it was."""
        self._readers[key] = reader

    def hold(self, photo: Photo, key: str = "") -> None:
        """Keep a photo that was read."""
        key = key or photo.name
        self._ready[key] = photo
        self._readers.pop(key, None)
        self._texts.pop(key, None)

    def drop(self, key: str) -> None:
        """Forget a photo."""
        for kept in (self._ready, self._readers, self._texts):
            kept.pop(key, None)

    def clear(self) -> None:
        """Forget all photos."""
        for kept in (self._ready, self._readers, self._texts):
            kept.clear()

    def ready(self, key: str) -> Photo | None:
        """Return a photo that was read, or None."""
        return self._ready.get(key)

    def take(self, key: str) -> Photo:
        """Return a photo, read now where it was not yet; raises as ``read_photo`` does."""
        if key in self._ready:
            return self._ready[key]
        return self._readers[key]() if key in self._readers else read_photo(Path(key))

    def to_draft(self, keys: Iterable[str]) -> dict[str, object]:
        """Return the copies of the photos with these keys as text, for the draft in the session file."""
        return {key: {"name": self._ready[key].name, "data": self._text(key)} for key in keys if key in self._ready}

    def _text(self, key: str) -> str:
        # Worked out once: a draft is kept after each pause of the hand.
        if key not in self._texts:
            self._texts[key] = base64.b64encode(self._ready[key].data).decode("ascii")
        return self._texts[key]

    def restore(self, pictures: object) -> None:
        """Take back what a draft holds; what cannot be read is left out."""
        for key, kept in pictures.items() if isinstance(pictures, Mapping) else ():
            try:
                data = base64.b64decode(str(kept["data"]), validate=True)
                self.hold(Photo(str(kept["name"]), MEDIA_TYPE, data), str(key))
            except (binascii.Error, KeyError, TypeError):
                continue


def free_name(taken: Iterable[str]) -> str:
    """Return a name for a pasted picture that none of the others has."""
    others, number = frozenset(taken), 1
    while f"pasted {number}.jpg" in others:
        number += 1
    return f"pasted {number}.jpg"
