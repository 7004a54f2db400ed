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
}
