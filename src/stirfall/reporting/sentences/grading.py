"""Sentences for photos, second grades and temperature logs."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "agreement.class": "“{value}” is no class to grade into. Use one of: {known}.",
    "agreement.none": "Nothing was graded twice yet, so nothing is known about the agreement.",
    "agreement.one_class": (
        "Both gradings put everything into one class. Chance would agree as well there, so kappa is unknown."
    ),
    "regrade.none_due": (
        "No attempt waits for a second grade. A random fifth of the graded attempts is asked for, two days "
        "after they were recorded, where they have photos."
    ),
    "regrade.waiting": "{count} attempts wait for a blind second grade; the window has it in the menu Attempt.",
    "regrade.agreement": "{same} of {n} second grades are as the first: {share}, {level} interval {interval}.",
    "regrade.agreement_one": "{same} of {n} second grade is as the first: {share}, {level} interval {interval}.",
    "regrade.kappa": (
        "Kappa is {kappa}, {lower} to {upper}. It is 1 where all agree and 0 where only as many agree as by chance."
    ),
    "regrade.low": (
        "That is below 85 %: the class itself is what scatters, so the odds cannot be better than that. Sharpen "
        "the examples of the classes, and grade by them from now on."
    ),
    "regrade.low_perhaps": (
        "That is below 85 %, but with so few pairs it may be chance. Grade more a second time, and look at the "
        "attempts that differ."
    ),
    "regrade.differs": "Attempt {number}: first {first}, then {second}.",
    "photo.newer_format": (
        "“{name}” is in a newer format (HEIC or AVIF) that cannot be read here. Use {formats}; most "
        "cameras and phones can save as JPEG."
    ),
    "photo.recovered": (
        "Stirfall ended before the photos of attempt {number} were attached. They are with it now ({count})."
    ),
    "photo.damaged": "“{name}” is damaged and cannot be shown. Copy it from the camera again.",
    "logger.unreadable": "{name} cannot be read ({detail}). Check that the file is there and may be opened.",
    "logger.too_large": "{name} is larger than {limit_mb} MB. Export a shorter part of the log.",
    "logger.empty": "{name} holds no lines. Export the log again.",
    "logger.not_text": "{name} is no text. Save the log as CSV from the logger’s own program, then add that file.",
    "logger.no_columns": (
        "No columns of a time and a temperature were found in {name}. Save the log as CSV with one reading a line."
    ),
    "logger.no_times": (
        "No column of times was found in {name}. Each line needs a date and time, or a time from the start."
    ),
    "logger.no_temperatures": (
        "No temperatures were found in {name}. Choose another channel, or export the log again."
    ),
    "logger.no_start": (
        "The times in {name} count from a start, and when the attempt started is unknown. "
        "Correct the attempt’s start first."
    ),
    "logger.dates_mixed": (
        "The dates in {name} fit no order of day and month. Export the log with dates like 2026-11-24."
    ),
    "logger.answer": "“{answer}” is no answer here. Use one of: {known}.",
    "logger.open_question": "{why} Options: {options}.",
    "logger.summary": "{n} readings from {first} to {last}, between {low} and {high}.",
    "logger.summary_one": "{n} reading at {first}: {high}.",
    "logger.attached": "{name} is kept with attempt {number}: {summary}",
    "logger.no_attempt": "There is no attempt {number} in this session.",
    "logger.zone": "“{name}” is no zone. Use utc, an offset like +01:00, or a name like Europe/Berlin.",
    "course.empty": (
        "Nothing is known of the course yet. Add the file of a temperature logger, or record an attempt with the "
        "guided run, which notes each step and mark."
    ),
    "course.no_log": "No temperature log is kept with this attempt; what is drawn comes from the guided run.",
    "course.log": "{name}: {n} readings between {low} and {high}.",
    "course.peak": "The highest while the attempt ran is {peak} at {at}.",
    "course.steps": "Steps from the start: {steps}.",
    "course.marks": "Marked: {marks}.",
    "course.no_start": "When the attempt started is unknown; minutes count from the first reading.",
    "course.peak_reason": "the highest temperature of the log {name}",
    "course.peak_taken": "The highest temperature of attempt {number} is now {peak}, from the log {name}.",
    "course.saved": "The picture is saved as {name}.",
    "course.copied": "The picture is on the clipboard.",
    "course.not_saved": "{name} could not be written ({reason}).",
    "logger.ask_time": "The file does not say what its times are.",
    "logger.ask_dates": "The file does not say which number of a date is the day.",
    "logger.ask_channel": "The file holds several temperatures. Choose the one of the melt or the bath.",
    "logger.ask_unit": "The file does not name the unit of its temperatures.",
    "logger.option_s": "seconds from the start of the attempt",
    "logger.option_min": "minutes from the start of the attempt",
    "logger.option_h": "hours from the start of the attempt",
    "logger.option_day_numbers": "day numbers as spreadsheets write dates",
    "logger.option_clock": "times of day",
    "logger.option_elapsed": "hours and minutes from the start of the attempt",
    "logger.option_elapsed_min_s": "minutes and seconds from the start of the attempt",
    "logger.option_day_first": "day first: {written} is {day}",
    "logger.option_month_first": "month first: {written} is {day}",
    "logger.option_year_first": "year first: {written} is {day}",
    "logger.option_channel": "{name}, from {low} to {high}",
    "logger.option_c": "°C",
    "logger.option_f": "°F",
    "logger.option_k": "K",
    "logger.note_left_out": "{count} lines without a time were left out.",
    "logger.note_gaps": "{count} readings hold no number and are gaps.",
    "logger.note_impossible": "{count} readings are no possible temperatures and are gaps.",
    "logger.note_unsorted": "The times run backwards {count} times; the readings were put in order.",
    "logger.note_repeated": "{count} readings have the time of another one; their mean is used.",
    "logger.note_away": (
        "The log begins on {first} (UTC), more than a day from the attempt’s start on {start} (UTC). Check the "
        "dates and the logger’s clock."
    ),
}
