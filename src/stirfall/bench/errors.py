"""Errors that a person can act on: a code and its parameters, never a sentence.

Floors above turn codes into sentences (``stirfall.reporting.sentences``), so that the window and the
command line say the same thing.
"""

from __future__ import annotations

from collections.abc import Mapping


class StirfallError(Exception):
    """Root of all errors that are not bugs; ``code`` names the sentence, ``params`` fill it."""

    def __init__(self, code: str, **params: object) -> None:
        super().__init__(code)
        self.code = code
        self.params: Mapping[str, object] = params

    def __str__(self) -> str:
        details = ", ".join(f"{key}={value!r}" for key, value in self.params.items())
        return f"{self.code} ({details})" if details else self.code


class InputError(StirfallError):
    """A value, table or request that the person can correct."""


class FileTroubleError(StirfallError):
    """A file or folder that cannot be used as asked; the file is untouched."""
