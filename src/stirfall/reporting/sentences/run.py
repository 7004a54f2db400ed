"""Sentences for the guided run: what is to be done, what is asked, what stands in the way."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # -- the steps ---------------------------------------------------------------------------------
    "run.title.checks": "Checks",
    "run.title.heat": "Heat",
    "run.title.hold": "Hold",
    "run.title.additive": "Additive",
    "run.title.stir": "Stir",
    "run.title.settle": "Settle",
    "run.title.cool": "Cool",
    "run.title.lift": "Lift",
    "run.title.grade": "Grade",
    "run.title.weigh": "Weigh",
    "run.title.close": "Close",
    "run.do.take_jar": "Take jar {jar} of lot {lot}. Look at its surface under the oil before you open it.",
    "run.do.take_charge": "Take the charge. Look at its surface first.",
    "run.do.no_waiting": "Do not wait: for this metal a longer age or exposure is never advised.",
    "run.do.plan": "Planned:{heat}{hold}{stir} If that is not what you want, give the run up.",
    "run.do.set_up": "Set up {name}: {value}.",
    "run.do.weigh_additive": "Weigh {grams} of {name}, dry and warm, and keep it ready.",
    "run.do.weigh_additive_open": (
        "Keep {name} ready, dry and warm. Its mass is not known here, because the dose or the charge is not."
    ),
    "run.do.tools": "Lay out dry, warm tools. Put the thermometer into the oil.",
    "run.do.heat": "Heat the metal under its oil to {target}. Stay with it and watch the thermometer.",
    "run.do.heat_open": "Heat the metal under its oil. No temperature is planned: note what you read.",
    "run.do.read": "Type what the thermometer shows, more often near the target. Go on when it is reached.",
    "run.do.hold": "Keep it at this temperature for {time} before stirring.",
    "run.do.hold_at_most": "Keep it at this temperature for {time} at most. Do not lengthen it for this metal.",
    "run.do.hold_open": "Keep it at this temperature. No time is planned: go on when you are ready to stir.",
    "run.do.additive": "Add {grams} of {name}.",
    "run.do.additive_open": "Add {name} as planned.",
    "run.do.additive_slowly": "Add it in small portions, dry and warm, with the vessel open. Go on when it is in.",
    "run.do.stir": "Stir{action}{speed}{time}.",
    "run.do.keep_covered": "Keep the metal covered with oil. Mark when powder first leaves, and when beads merge.",
    "run.do.settle": "Stop stirring. Let it settle{time}.",
    "run.do.settle_look": "See whether the powder floats or falls.",
    "run.do.cool": "Switch the heat off and pull its plug. Leave the metal under its oil.",
    "run.do.cool_until": "Wait until it is solid and no warmer than {target}. Then type the temperature.",
    "run.do.cool_until_open": "Wait until it is solid all through. Then type the temperature.",
    "run.do.lift": "Lift the metal out with dry tools.",
    "run.do.lift_drain": "Let the oil drain, and remember how it was removed.",
    "run.do.grade": "Grade it now: did the solids leave the metal, and did the metal become one pool?",
    "run.do.photo": "A photo can be added to the attempt afterwards.",
    "run.do.weigh": "Weigh product, beads and residue. Say how the oil was removed.",
    "run.do.confirm": "Look over the values that were reached. Next records the attempt with them.",
    "run.do.close": "Work through the closing list. The run ends when every line is done.",
    "run.part.heat": " Heat to {target}.",
    "run.part.hold": " Hold {time}.",
    "run.part.stir": " Stir{action}{speed}{time}.",
    "run.part.action": " ({action})",
    "run.part.speed": " at {turns} turns a minute",
    "run.part.time": " for {time}",
    # -- what was done last ------------------------------------------------------------------------
    "run.done.step": "step “{step}” begun",
    "run.done.back": "went back to step “{step}”",
    "run.done.mark": "marked: {word}",
    "run.done.reading": "read {value}",
    "run.done.grade": "graded: {word}",
    "run.done.answer": "answered: {text}",
    "run.done.tick": "ticked: {word}",
    "run.done.note": "note written",
    # -- questions after a break -------------------------------------------------------------------
    "run.ask.cover": "Is the metal still covered by oil?",
    "run.ask.heat": "Is the heat on?",
    "run.ask.additive": "Was the additive added already?",
    "run.ask.stirred": "Was it being stirred all the while? Yes, no, or for how long (such as 2 min).",
    "run.ask.cover_first": (
        "Take the heat away and keep people back. Do as your local rules say for bare hot metal. Nothing is "
        "stirred or lifted until the metal is covered again: then answer yes, or give the run up."
    ),
    "run.ask.heat_first": "Look at the heater first. This must be known before the run goes on.",
    "run.ask.heat_off_first": "It should be off in this step. Switch it off, pull its plug, then answer no.",
    # -- notes -------------------------------------------------------------------------------------
    "run.note.taken_up": "The run was taken up again after {away}. The timer ran on.",
    "run.note.heat_was_off": "The heat was off. Switch it on again, and read the temperature before you go on.",
    "run.note.additive_in": "The additive is in already. Do not add it again.",
    "run.note.additive_out": (
        "The additive is not in. Go one step back to add it, or go on without it: its dose is then noted as none."
    ),
    "run.note.additive_not_known": (
        "Do not add more: it might be twice the dose. Whether the additive is in is noted as not known."
    ),
    "run.note.clock_forward": "The clock of the computer was set forward by {by}. The timer is true all the same.",
    "run.note.clock_back": "The clock of the computer was set back by {by}. The timer is true all the same.",
    "run.note.not_read": "No temperature was noted in this run yet: the planned one stays, as not measured.",
    "run.note.read_again": "No temperature was noted for more than {most}. Read the thermometer.",
    "run.note.lift_without": (
        "No thermometer: heat off for at least {least}, and the vessel cold all through. Then say so here."
    ),
    # -- dangers: each names the act ---------------------------------------------------------------
    "run.danger.smoke": (
        "Smoke. Take the heat away now. Keep people back, and the right extinguishing means within reach."
    ),
    "run.danger.spill": "Spill. Take the heat away now. Keep people and water away from it.",
    # -- what stands in the way --------------------------------------------------------------------
    "run.flash_unknown": (
        "The flash point of this bottle of oil is not known, so no run is begun. Enter it in the campaign settings."
    ),
    "run.wait.questions": "Answer what is asked first: {question}",
    "run.wait.live": "{finding} Then read again.",
    "run.wait.reading": "Type what the thermometer shows first: whether the metal may be lifted depends on it.",
    "run.wait.lift": "Still too hot. {finding}",
    "run.wait.grade": "Grade the result first: 1 nothing parted, 2 partly parted, 3 parted but beads, 4 clean.",
    "run.wait.close": "Still open: {line}",
    "run.wait.jar": "Stop: jar {jar} was scanned, but this run is planned for jar {planned}. Scan the right jar.",
    "run.wait.first_step": "This is the first step.",
    "run.wait.recorded": (
        "Attempt {number} is recorded. Undo takes that back; on the page Attempts it can be corrected."
    ),
    "run.wait.given_up": "The run was given up. Undo takes that back.",
    # -- what is refused ---------------------------------------------------------------------------
    "run.no_question": "This is not asked now.",
    "run.no_line": "There is no such line in the closing list.",
    "run.answer_unknown": "“{answer}” is no answer here. Answer with one of: {known}.",
    "run.answer_too_long": "{answer} is longer than the break was. Check the time.",
    "run.no_reason": "Say why the run is given up. It is kept with the attempt.",
    "run.none_of_attempt": "Attempt {number} comes from no guided run. Leave --attempt out to list all runs.",
    "run.reading_impossible": "{value} is no possible reading here. Check the thermometer and the number.",
    # -- the closing list --------------------------------------------------------------------------
    "run.close.heat_off": "The heat is off and its plug is pulled.",
    "run.close.cold": "The metal is under oil and cold, or someone stays with it until it is.",
    "run.close.attempt": "The attempt is on record, also when it was broken off.",
    "run.close.masses": "The masses are entered, or it was not weighed.",
    "run.close.residue": "Residue is capped, labelled and in the register, or there is none.",
    "run.close.tools": "Tools and wipes are dealt with by your local rules.",
    "run.close.register_first": "Put the residue into the register first.",
    # -- how a value was measured ------------------------------------------------------------------
    "run.how.last_of_heating": "the last reading of the heating",
    "run.how.reading": "the one reading while it was hot",
    "run.how.readings": "mean of {n} readings while it was hot",
    "run.how.timer": "by the timer",
    "run.how.not_read": "not measured, the planned value stands",
    "run.how.not_reached": "not reached, left open",
    "run.how.break": "not known after the break, left open",
    "run.how.as_planned": "as planned",
    "run.how.additive_not_known": "not known whether it was added, left open",
    "run.how.additive_out": "not added",
    # -- said after an act -------------------------------------------------------------------------
    "run.said.begun": "The run has begun.",
    "run.said.over": "The run is over.",
    "run.said.marked": "Marked: {word}.",
    "run.said.read": "Noted: {value}.",
    "run.said.graded": "Graded: {word}.",
    "run.said.jar_right": "Jar {jar} is the jar of this run.",
    "run.said.jar_wrong": "Jar {jar} was scanned. This run is planned for {planned}.",
}
