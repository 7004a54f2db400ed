"""Evidence verbs of a session as scripts see it: what is compared, what drifts, what leaves the program."""

from __future__ import annotations


class EvidenceVerbs:
    """What a campaign answers about chance and change, and how its records leave the program."""
