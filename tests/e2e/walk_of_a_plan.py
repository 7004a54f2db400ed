"""Planning on a screen, a picture after each step: tonight, a proof, a rehearsal; walk_on_a_screen.py runs it."""

from __future__ import annotations

import time
from pathlib import Path

from on_a_screen import Person

from stirfall.session.document import Document

FEWEST_CAMPAIGNS = 25
LONGEST_S = 900.0


def walk_of_a_plan(person: Person, session: Path) -> None:
    """Plan an evening, begin a proof and rehearse, with a picture after each step."""
    person.start(session)
    person.settle()
    tonight(person, session)
    why(person)
    proof(person, session)
    rehearsal(person)
    person.leave()


def read(session: Path) -> Document:
    return Document.open(session, read_only=True)


def down(person: Person, area: str, turns: int = 14) -> None:
    """Turn the wheel towards the end of a scroll area."""
    x, y, _, height = person.find(area)["place"]
    for _ in range(turns):
        person.screen.xdotool("mousemove", x + 4, y + height // 2, "click", 5)
    person.pause()


def press(person: Person, name: str, area: str) -> None:
    """Click on what may have to be scrolled to."""
    person.scroll_to(name, area)
    person.click(name)


def tonight(person: Person, session: Path) -> None:
    """Look at the plan, how one works, keep the plan, and take its next attempt into the form."""
    person.key("ctrl+2")
    person.settle()
    person.shoot("tonight")
    down(person, "plan_tonight_area", 5)
    person.shoot("tonight-below")
    down(person, "plan_tonight_area", 30)
    person.shoot("tonight-at-the-end")
    person.click("plan_working")
    person.wait(lambda _seen: person.is_seen("dialog_cancel"))
    person.shoot("how-you-work")
    person.click("dialog_cancel")
    press(person, "plan_keep", "plan_tonight_area")
    person.wait(lambda _seen: person.is_seen("plan_drop") or person.is_seen("plan_fill_in"))
    person.scroll_to("plan_fill_in", "plan_tonight_area")
    person.shoot("tonight-kept")
    with read(session) as document:
        assert document.state.evening is not None
        first = document.state.evening.attempts[0]
    person.click("plan_fill_in")
    person.wait(lambda _seen: person.is_seen("bench_page"))
    person.shoot("tonight-in-the-form")
    assert first.jar_id is None or any(
        first.jar_id in str(widget["text"]) for widget in person.look()["widgets"] if widget["place"][2] > 0
    )
    person.key("ctrl+1")
    person.shoot("shelf-of-tonight")


def why(person: Person) -> None:
    """Ask a suggestion why, and look at the time to a clean batch."""
    person.key("ctrl+3")
    person.settle()
    person.click("odds_next_1_why")
    person.shoot("suggestion-why")
    person.click("odds_next_1_why")
    person.click("odds_view_time")
    person.settle()
    person.shoot("time")
    person.click("odds_view_curve")


def proof(person: Person, session: Path) -> None:
    """Begin a proof in sequence, record one marked attempt, and look at the plot."""
    person.key("ctrl+2")
    person.click("plan_section_proof")
    person.settle()
    person.shoot("proof")
    press(person, "proof_plan_4", "plan_proof_area")
    person.shoot("proof-in-sequence")
    down(person, "plan_proof_area", 30)
    person.shoot("proof-at-the-end")
    press(person, "proof_start", "plan_proof_area")
    person.scroll_to("proof_asks_act", "plan_proof_area")
    person.shoot("proof-asks")
    person.click("proof_asks_act")
    person.settle()
    person.shoot("proof-begun")
    with read(session) as document:
        running = document.state.open_proof
    assert running is not None
    press(person, "proof_fill_in", "plan_proof_area")
    person.wait(lambda _seen: person.is_seen("bench_page"))
    person.scroll_to("counts_for_proof", "bench_scroll")
    person.shoot("proof-counts-in-the-form")
    person.click("Did the solids leave the metal?: yes")
    person.click("Did the metal become one pool?: one pool")
    person.shoot("proof-graded")
    person.click("record")
    person.settle()
    person.shoot("proof-recorded")
    with read(session) as document:
        assert document.state.attempts[-1].proof_id == running.id
    person.key("ctrl+2")
    person.settle()
    person.shoot("proof-after-one-attempt")
    down(person, "plan_proof_area", 5)
    person.shoot("proof-plot")
    down(person, "plan_proof_area", 30)
    person.shoot("proof-attempts")


def rehearsal(person: Person) -> None:
    """Rehearse with the fewest campaigns, and look at what comes of it."""
    area = "plan_rehearsal_area"
    person.click("plan_section_rehearsal")
    person.settle()
    person.shoot("rehearsal")
    down(person, area, 30)
    person.shoot("rehearsal-choices")
    while int(person.text("rehearsal_campaigns").split()[0]) > FEWEST_CAMPAIGNS:
        press(person, "rehearsal_campaigns_less", area)
    press(person, "rehearsal_start", area)
    person.wait(lambda _seen: person.is_seen("rehearsal_stop"))
    person.look(person.out / "rehearsal-running.png")
    deadline = time.monotonic() + LONGEST_S
    while person.is_seen("rehearsal_stop"):
        assert time.monotonic() < deadline, "the rehearsal does not end"
        time.sleep(1.0)
    person.shoot("rehearsal-over")
    down(person, area, 6)
    person.shoot("rehearsal-orders")
    down(person, area, 30)
    person.shoot("rehearsal-assumed")
