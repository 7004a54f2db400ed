"""Planning verbs of a session as scripts see it: next attempts, tonight, proofs, rehearsals."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document


class PlanVerbs:
    """What ``Campaign`` offers for planning; it brings the open document and what its attempts say."""

    @property
    def document(self) -> Document:
        """The open document below."""
        raise NotImplementedError

    @property
    def analysis(self) -> Analysis:
        """What the attempts say now."""
        raise NotImplementedError
