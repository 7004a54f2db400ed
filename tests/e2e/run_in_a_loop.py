"""Go on with the open run of a session until killed, saying each event only after ``execute`` has returned.

Run by test_kill_in_the_middle_of_a_run.py as a process of its own: ``run_in_a_loop.py FILE``.
"""

from __future__ import annotations

import itertools
import sys

from stirfall.bench.running import EventKind, RunEvent
from stirfall.session.commands import AddRunEvent
from stirfall.session.document import Document


def main() -> None:
    document = Document.open(sys.argv[1])
    run = document.state.open_run
    assert run is not None
    print(f"open {document.moment().ticks_s}", flush=True)
    for turn in itertools.count():
        kind = EventKind.READING if turn % 3 else EventKind.MARK
        event = RunEvent("", run.id, kind, document.now(), word="moment" if turn % 3 == 0 else "", value=150.0)
        document.execute(AddRunEvent(event))
        written = document.state.open_run
        assert written is not None
        print(f"wrote {written.events[-1].id}", flush=True)


if __name__ == "__main__":
    main()
