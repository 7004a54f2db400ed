"""Named undo and redo of the open document, as deep as the document was open."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from stirfall.storage.edits import Edit


@dataclass(frozen=True)
class Entry:
    """One step that can be taken back: its name and what it did to the records."""

    name: str
    kind: str
    edits: tuple[Edit, ...]
    new_attempt_id: str | None = None


@dataclass
class History:
    """What can be undone and what can be done again; a new step forgets what was undone."""

    done: list[Entry] = field(default_factory=list)
    undone: list[Entry] = field(default_factory=list)

    @property
    def undo_name(self) -> str | None:
        """The name of the step that undo would take back."""
        return self.done[-1].name if self.done else None

    @property
    def redo_name(self) -> str | None:
        """The name of the step that redo would do again."""
        return self.undone[-1].name if self.undone else None

    def add(self, entry: Entry) -> None:
        """Remember a step that was just done."""
        self.done.append(entry)
        self.undone.clear()

    def join(self, edits: tuple[Edit, ...], record_id: str) -> None:
        """Let what the program noted by itself about a record go with the step that made the record.

        Taking back a later step must not take back that the computer slept or that its clock was set. What was
        undone can still be done again.
        """
        for place, entry in enumerate(self.done):
            if any(edit.record_id == record_id and edit.before is None for edit in entry.edits):
                self.done[place] = replace(entry, edits=(*entry.edits, *edits))

    def mark_undone(self) -> None:
        """Move the last step to the undone ones."""
        self.undone.append(self.done.pop())

    def mark_redone(self) -> None:
        """Move the last undone step back."""
        self.done.append(self.undone.pop())
