"""The one door for everything that the program says to the person."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from collections.abc import Callable

_log = logging.getLogger(__name__)

NoticeKind = Literal["info", "warn", "error"]


@dataclass(frozen=True)
class Notice:
    """One message: what happened and what to do, with at most one act to offer (a verb and what it does)."""

    kind: NoticeKind
    text: str
    act: str = ""
    on_act: Callable[[], object] | None = None


class Notifier(QObject):
    """Turns errors into sentences and passes notices on.

    Signals:
        posted(Notice): something to show in the window's message strip.
    """

    posted = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.decimal = "."

    def post(self, notice: Notice) -> None:
        """Show a notice."""
        self.posted.emit(notice)

    def info(self, text: str, act: str = "", on_act: Callable[[], object] | None = None) -> None:
        """Say what was done, with the way back when there is one."""
        self.post(Notice("info", text, act, on_act))

    def warn(self, text: str) -> None:
        """Say what needs attention."""
        self.post(Notice("warn", text))

    def fail(self, error: BaseException) -> None:
        """Say what went wrong: the sentence of a known error; a bug is logged with its traceback as well."""
        if isinstance(error, StirfallError):
            self.post(Notice("error", error_sentence(error, decimal=self.decimal)))
            return
        _log.error("unexpected error", exc_info=(type(error), error, error.__traceback__))
        self.post(Notice("error", sentence("desktop.bug", {"kind": type(error).__name__, "detail": str(error)})))

    def warn_of(self, error: BaseException, code: str) -> None:
        """Say in the sentence ``code`` (with ``reason``) what did not come about; a bug is logged as well."""
        reason = ""
        if isinstance(error, StirfallError):
            reason = error_sentence(error, decimal=self.decimal)
        else:
            _log.error("unexpected error", exc_info=(type(error), error, error.__traceback__))
        self.warn(sentence(code, {"reason": reason}).strip())
