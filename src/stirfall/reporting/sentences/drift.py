"""Sentences for drift: the attempts in time, what has changed and when, signals, controls, and marks of changes."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    # The verdict.
    "drift.rarer": (
        "Since attempt {number} ({when}) {what} are rarer: {after} against {before} before. The probability that "
        "something has changed is {chance} %."
    ),
    "drift.more_often": (
        "Since attempt {number} ({when}) {what} are more frequent: {after} against {before} before. The "
        "probability that something has changed is {chance} %."
    ),
    "drift.lower": (
        "Since attempt {number} ({when}) {what} is lower: {after} against {before} before. The probability that "
        "something has changed is {chance} %."
    ),
    "drift.higher": (
        "Since attempt {number} ({when}) {what} is higher: {after} against {before} before. The probability that "
        "something has changed is {chance} %."
    ),
    "drift.beyond_down": (
        "Since attempt {number} ({when}) clean separations are rarer than their conditions foretell: {after}; "
        "before, {before}. The probability that something has changed is {chance} %."
    ),
    "drift.beyond_up": (
        "Since attempt {number} ({when}) clean separations are more frequent than their conditions foretell: "
        "{after}; before, {before}. The probability that something has changed is {chance} %."
    ),
    "drift.perhaps": "Something may have changed, but it is not shown. {change}",
    "drift.unchanged": (
        "Nothing says that anything has changed in these {n} attempts. The probability of a change is {chance} %; "
        "it was 50 % before anything was seen."
    ),
    "drift.too_few": "{n} attempts are too few to say; it takes {fewest}.",
    "drift.when_day": "{day}",
    "drift.when_unknown": "its time is not known",
    "drift.when_day_mark": "{day}, near this change: {mark}",
    "drift.when_mark": "near this change: {mark}",
    "drift.share": "{k} of {n} ({lower} to {upper} %)",
    "drift.mean": "mean {mean} ({lower} to {upper}, n = {n})",
    "drift.one_value": "{mean} (n = {n})",
    "drift.against_foretold": "{k} of {n} where {told} were foretold",
    "drift.what_clean": "clean separations",
    "drift.what_parted": "attempts in which the solids left",
    "drift.what_pooled": "single pools of what parted",
    "drift.what_recovery": "the recovery of a clean attempt",
    "drift.what_parting_time": "the time until powder was seen",
    "drift.what_run_time": "the time of a guided run",
    "drift.what_residual": "clean separations beyond what was foretold",
    # What cannot be done.
    "drift.mark_needs_words": "A kind or a time belongs to a mark. Say in words what was changed, with --mark.",
    "drift.one_act": "Mark a change or take one away, not both at once.",
    "drift.mark_unknown": "No mark has the words “{words}”. Known: {known}.",
    "drift.measure_unknown": "“{measure}” is nothing that is followed over time. Use one of: {known}.",
    "drift.kind_unknown": "“{kind}” is no kind of a change. Use one of: {known}.",
    # The section of the window.
    "drift.failed": "This could not be worked out. It is tried again after the next change.",
    "drift.working": "The attempts are put in the order of time.",
    "drift.no_session": (
        "Here stand the attempts in the order of time, and whether something has changed at the bench. Make or "
        "open a session first."
    ),
    "drift.no_signal_rows": "No signal in this measure.",
    "drift.no_mark_rows": (
        "No change at the bench is known. Mark one when you open a new bottle or take another tool."
    ),
    "drift.key_control": "◇ control",
    "drift.key_signal": "▲▼ signal",
    "drift.key_own": "▼ change you marked",
    "drift.key_records": "▽ change in the records",
    "drift.key_newest": "only the newest {count} attempts are drawn",
    "drift.key_change": "shaded: when it changed (80 %)",
    "drift.point_hint": "Point at an attempt, or go to it with the arrow keys; a click or Enter shows it.",
    "drift.mark_about": (
        "A mark says that something at the bench is different from a moment on. It stands in the picture; the "
        "program says by itself whether the outcomes changed there."
    ),
    # Nothing to show.
    "drift.none_clean": "No attempt is graded yet. Record attempts, and they stand here in the order of time.",
    "drift.none_parted": "No attempt says whether the solids left. Grade gate 1 in the bench form.",
    "drift.none_pooled": "No attempt says whether the metal became one pool. Grade gate 2 in the bench form.",
    "drift.none_recovery": "No clean attempt has both charge and product weighed. Enter both masses.",
    "drift.none_parting_time": (
        "No guided run has a mark for the first powder. Press its key during a run when powder is seen."
    ),
    "drift.none_run_time": "No guided run has come to its end. Guided runs keep their times by themselves.",
    "drift.none_residual": "No attempt can be held against what the others foretell. It takes graded attempts.",
    "drift.not_refined": "What was foretold is still being worked out.",
    # What it rests on.
    "drift.moment": "The moment of the change lies between attempts {first} and {last} ({level} % interval).",
    "drift.several_marks": (
        "These changes at the bench lie within it: {marks}. The attempts alone cannot tell which of them it was."
    ),
    "drift.many_marks": (
        "Many changes at the bench lie within it, the first ones: {marks}. The attempts alone cannot tell which of "
        "them it was."
    ),
    "drift.mark_and": "{first}; {rest}",
    "drift.conditions_explain": (
        "The conditions can explain it: beyond what they foretell nothing says that anything has changed "
        "(probability {chance} %, 50 % before anything was seen). It is then a change of what was tried, not drift."
    ),
    "drift.conditions_unclear": (
        "The conditions explain a part of it at most: beyond what they foretell the probability of a change is "
        "{chance} %."
    ),
    "drift.conditions_do_not_explain": "The conditions do not explain it. {change}",
    "drift.conditions_hide": "Other conditions hide a change. {change}",
    "drift.nothing_beyond": "Beyond what the conditions foretell the probability of a change is {chance} %.",
    "drift.conditions_not_known": "Whether other conditions explain it is still being worked out.",
    "drift.conditions_partly_known": (
        "Whether other conditions explain it cannot be said: some of these attempts lack a value that the model "
        "needs."
    ),
    "drift.no_signals": (
        "No rule of the chart is met at any of its {points} points. Of such charts {false} % show a signal by "
        "chance alone."
    ),
    "drift.no_signals_long": "No rule of the chart is met at any of its {points} points.",
    "drift.one_signal": (
        "One rule of the chart is met, at attempt {number}. Of such charts {false} % show a signal by chance alone."
    ),
    "drift.one_signal_long": (
        "One rule of the chart is met, at attempt {number}. A chart of {points} points shows some by chance alone."
    ),
    "drift.signals": (
        "Rules of the chart are met {count} times, first at attempt {number}. Of such charts {false} % show a "
        "signal by chance alone."
    ),
    "drift.signals_long": (
        "Rules of the chart are met {count} times, first at attempt {number}. A chart of {points} points shows "
        "some by chance alone."
    ),
    "drift.the_sum": "The cumulative sum",
    "drift.the_average": "The moving average",
    "drift.sums_quiet": "Sum and moving average stay within their limits around the first {base} attempts.",
    "drift.sums_quiet_foretold": "Sum and moving average stay within their limits around what was foretold.",
    "drift.sums_up": (
        "{which} passes its limit upwards at attempt {number}, held against the first {base} attempts."
    ),
    "drift.sums_down": (
        "{which} passes its limit downwards at attempt {number}, held against the first {base} attempts."
    ),
    "drift.sums_up_foretold": (
        "{which} passes its limit upwards at attempt {number}, held against what was foretold."
    ),
    "drift.sums_down_foretold": (
        "{which} passes its limit downwards at attempt {number}, held against what was foretold."
    ),
    "drift.sums_false": "{told} Of such series {false} % do so somewhere by chance alone.",
    "drift.sums_long": "{told} In so long a series one of the two does so somewhere by chance alone.",
    "drift.controls_planned": (
        "The control condition was made {count} times: {summary}. Among these alone the probability of a change is "
        "{chance} %."
    ),
    "drift.controls_planned_few": "The control condition was made {count} times: {summary}. Too few to say more.",
    "drift.controls_repeated": (
        "One condition was repeated {count} times and serves as control: {summary}. Among these alone the "
        "probability of a change is {chance} %."
    ),
    "drift.controls_repeated_few": (
        "One condition was repeated {count} times and serves as control: {summary}. Too few to say more."
    ),
    "drift.by_attempt": "Each attempt of several trials is one point of the chart.",
    "drift.by_day": "Each of the {days} days at the bench is one point of the chart.",
    "drift.in_a_row": "Each point of the chart is {size} attempts in a row; the last one may hold a few more.",
    "drift.left_struck": "Struck out and not shown: {count}.",
    "drift.left_aborted": "Aborted and not shown: {count}.",
    "drift.left_no_value": "Without this value and not shown: {count}.",
    "drift.left_untimed": "Without a time, shown in the order of their numbers: {count}.",
    "drift.looks": (
        "The probability of a change pays for all moments that were looked at. It does not pay for looking again "
        "after each attempt, or at one measure after the other: the more looks, the more often chance looks like "
        "drift."
    ),
    # Rules, as the table of signals names them.
    "drift.rule_beyond_3_above": "One point above the upper limit",
    "drift.rule_beyond_3_below": "One point below the lower limit",
    "drift.rule_two_of_three_above": "Two of three points far above the centre (2 sd)",
    "drift.rule_two_of_three_below": "Two of three points far below the centre (2 sd)",
    "drift.rule_four_of_five_above": "Four of five points above the centre by 1 sd",
    "drift.rule_four_of_five_below": "Four of five points below the centre by 1 sd",
    "drift.rule_eight_in_row_above": "Eight points in a row above the centre",
    "drift.rule_eight_in_row_below": "Eight points in a row below the centre",
    "drift.rule_range": "A step from attempt {first} to {number} longer than its limit",
    "drift.rule_sum_above": "The cumulative sum passes its limit, upwards since attempt {first}",
    "drift.rule_sum_below": "The cumulative sum passes its limit, downwards since attempt {first}",
    "drift.rule_average_above": "The moving average passes its upper limit",
    "drift.rule_average_below": "The moving average passes its lower limit",
    # Marks.
    "drift.mark_own": "{words}",
    "drift.mark_oil": "oil: {level}",
    "drift.mark_history": "oil is now {level}",
    "drift.mark_lot": "lot {level}",
    "drift.mark_tool": "tool: {level}",
    "drift.mark_operator": "operator: {level}",
}
