"""Temperature logs and the course of an attempt in sentences."""

from __future__ import annotations

from datetime import datetime, tzinfo

from stirfall.bench.units import MINUS, format_number, format_quantity
from stirfall.reporting.sentences import sentence
from stirfall.session.course import Course
from stirfall.storage.temperature_log import LogReading, Question


def reading_lines(reading: LogReading, zone: tzinfo, *, decimal: str = ".") -> tuple[str, ...]:
    """Return what a log holds, and what was left out or put in order; the main sentence first."""
    if not reading.points:
        return ()
    values = [value for _, value in reading.points]
    first, last = reading.points[0][0], reading.points[-1][0]
    params = {
        "n": len(values),
        "first": _local(first, zone),
        "last": _local(last, zone),
        "low": format_quantity(min(values), "C", decimal=decimal),
        "high": format_quantity(max(values), "C", decimal=decimal),
    }
    notes = (sentence(note.code, note.params, decimal=decimal) for note in reading.notes)
    return (sentence("logger.summary_one" if len(values) == 1 else "logger.summary", params), *notes)


def _local(moment: datetime, zone: tzinfo) -> str:
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M:%S}"


def question_line(question: Question, *, decimal: str = ".") -> str:
    """Return an open question with its answers, each with the key that a command line takes."""
    options = "; ".join(
        f"{option.key} ({sentence(option.words.code, option.words.params, decimal=decimal)})"
        for option in question.options
    )
    return sentence("logger.open_question", {"why": sentence(question.why.code), "options": options})


def minutes_text(minutes: float, *, decimal: str = ".") -> str:
    """Write a moment of the course: "12.5 min"."""
    text = format_number(round(minutes, 1), digits=4, decimal=decimal)
    return f"{text.replace('-', MINUS)} min"


def course_sentences(course: Course, *, decimal: str = ".") -> tuple[str, ...]:
    """Return the numbers of a course as sentences: the log, its peak, the steps and the marks."""
    if course.is_empty:
        return (sentence("course.empty"),)
    lines = []
    if len(course.minutes):
        low, high = float(course.celsius.min()), float(course.celsius.max())
        params = {
            "name": course.name,
            "n": len(course.minutes),
            "low": format_quantity(low, "C", decimal=decimal),
            "high": format_quantity(high, "C", decimal=decimal),
        }
        lines.append(sentence("course.log", params))
    else:
        lines.append(sentence("course.no_log"))
    if course.peak is not None:
        at, value = course.peak
        peak = format_quantity(value, "C", digits=4, decimal=decimal)
        lines.append(sentence("course.peak", {"peak": peak, "at": minutes_text(at, decimal=decimal)}))
    if course.bands:
        steps = ", ".join(f"{band.word} {minutes_text(band.start_min, decimal=decimal)}" for band in course.bands)
        lines.append(sentence("course.steps", {"steps": steps}))
    if course.marks:
        marks = ", ".join(f"{mark.word} {minutes_text(mark.at_min, decimal=decimal)}" for mark in course.marks)
        lines.append(sentence("course.marks", {"marks": marks}))
    if not course.is_dated:
        lines.append(sentence("course.no_start"))
    return tuple(lines)
