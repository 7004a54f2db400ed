"""Sentences for limits, looks and weighings on the bench form, and for the jars of the shelf."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "bench.jar_residue": (
        "Jar {jar} holds residue that waits for disposal, not crude for an attempt. Choose another jar."
    ),
    "bench.tare_above": "The tare of “{name}”, {tare} g, is more than the balance showed, {read} g. Check both.",
    "bench.missing.look": "Still to answer first: how does the surface look under its oil?",
    "bench.missing.reason": "Say in the line below why it is right all the same; it is kept with the attempt.",
    "look.alarm": "Do not open. Get help.",
    "look.alarm_seen": (
        "A surface that is {look} can explode when it is touched, cut or opened. Leave it under its oil, keep "
        "others away, and ask someone trained and licensed for it. No attempt is made with this metal."
    ),
    "look.alarm_noted": (
        "Jar {jar} was noted as {look}. Such a surface can explode when it is touched, cut or opened. Leave it "
        "closed, and ask someone trained and licensed for it. No attempt is made with this metal."
    ),
}
