"""Record attempts until killed, saying each number on standard output only after ``execute`` has returned.

Run by test_kill_in_the_middle_of_recording.py as a process of its own: ``record_in_a_loop.py FILE``.
"""

from __future__ import annotations

import itertools
import sys

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.session.commands import CorrectAttempt, RecordAttempt
from stirfall.session.document import Document


def main() -> None:
    for heavy in ("PySide6", "scipy", "pandas"):
        assert heavy not in sys.modules
    document = Document.open(sys.argv[1])
    assert not document.read_only, document.read_only_reason
    for turn in itertools.count():
        values = Conditions({"temperature": 120.0 + turn % 40, "stirring action": "fold"})
        attempt = Attempt("", 0, values, parted=Parted.YES, pooled=Pooled.BEADS, note="x" * (turn % 7 * 900))
        changes = document.execute(RecordAttempt(attempt))
        number = document.attempt(str(changes.new_attempt_id)).number
        print(f"recorded {number}", flush=True)
        if turn % 3 == 0:
            document.execute(
                CorrectAttempt(str(changes.new_attempt_id), {"pooled": Pooled.ONE_POOL}, "second look")
            )
            print(f"corrected {number}", flush=True)
        if turn % 5 == 0:
            document.save_draft({"note": f"after {number}"})


if __name__ == "__main__":
    main()
