"""Sentences for the forecasts of jars and for alarms."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "forecast.superoxide": (
        "Only the chance now is shown: for this metal a longer time under oil is a danger and never an improvement."
    ),
    "forecast.no_lot_date": "No forecast: enter when lot {lot} was made, so that its age is known.",
    "forecast.nothing_runs": "No forecast: the model has no age that runs on, so its answer never changes.",
    "forecast.use_by_past": "No forecast: the use-by of jar {jar} is past.",
    "forecast.beyond_range": "No forecast: “{factor}” is {value}, at or beyond {most}, the end of its range.",
    "forecast.no_time_inside": "No forecast: jar {jar} is never inside the ranges of all its ages at once.",
    "forecast.flat": "No time stands out: as far as the attempts tell, the chance is much the same at all times.",
    "forecast.low": "No time stands out: the chance stays below 1 in 4 at all times.",
    # -- alarms ------------------------------------------------------------------------------------
    "alarm.window_open": "Jar {jar} is ready: its chance is near its best since {opens}.",
    "alarm.window_open_until": "Jar {jar} is ready: its chance is near its best, from {opens} to {closes}.",
    "alarm.window_closing": "Jar {jar}: its readiness window closes at {closes}.",
    "alarm.window_closed": "Jar {jar}: its readiness window closed at {closes}. Nobody had marked it as seen.",
    "alarm.changed": "{said} The forecast has changed since.",
    "alarm.start_jar": "Start jar {jar} of lot {lot}: it was planned for {at}.",
    "alarm.use_by_near": "Use jar {jar} by {at}: then it reaches the age limit of its class.",
    "alarm.inspect": (
        "Jar {jar} reached the age limit of its class at {at}. Look at the surface first, without opening: where "
        "it is hidden, furry, white or yellow, do not open and get help."
    ),
    "alarm.limit_near": (
        "Jar {jar} reaches the longest time for a metal that forms superoxide at {at}. Do not open it after that."
    ),
    "alarm.do_not_open": (
        "Do not open jar {jar}: at {at} it passed the longest time for a metal that forms superoxide. Leave it and "
        "get help from trained people."
    ),
    "alarm.step_over": "The time for this step is over: {step}.",
    "alarm.slept": "The computer slept, or the program stood still, from {began} to {ended}.",
    "alarm.clock_forward": (
        "The clock went ahead by {by}, from {began} to {ended}: the computer slept, or the clock was set."
    ),
    "alarm.clock_back": "The clock of the computer was set back by {by}, to {ended}.",
    "alarm.fell_due": "{said} Due meanwhile: {count}.",
    # -- what the strip says beside -------------------------------------------------------------------
    "alarm.rank_info": "Note",
    "alarm.rank_due": "Due",
    "alarm.rank_danger": "Danger",
    "alarm.due_ago": "due {ago} ago",
    "alarm.due_now": "due now",
    "alarm.ago": "{ago} ago",
    "alarm.now": "just now",
    "alarm.today": "today",
    "alarm.time_left": "{left} left",
}
