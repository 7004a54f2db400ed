"""Sentences of the ledger: filters in words, and what is wrong with one."""

from __future__ import annotations

from collections.abc import Mapping

SENTENCES: Mapping[str, str] = {
    "ledger_filter.is": "{what} is {value}",
    "ledger_filter.is_not": "{what} is not {value}",
    "ledger_filter.over": "{what} is over {value}",
    "ledger_filter.under": "{what} is under {value}",
    "ledger_filter.contains": "{what} contains “{value}”",
    "ledger_filter.lacks": "{what} does not contain “{value}”",
    "ledger_filter.known": "{what} is known",
    "ledger_filter.unknown": "{what} is unknown",
    "ledger_filter.made_within": "made {value}",
    "ledger_filter.made_since": "made on {value} or later",
    "ledger_filter.made_before": "made before {value}",
    "ledger_filter.or": "or {filter}",
    "ledger_filter.struck_yes": "only struck out",
    "ledger_filter.struck_no": "struck out are hidden",
    "ledger_filter.aborted_yes": "only aborted",
    "ledger_filter.aborted_no": "aborted are hidden",
    "ledger_filter.photos_yes": "with photos",
    "ledger_filter.photos_no": "without photos",
    "ledger_filter.run_yes": "made as a guided run",
    "ledger_filter.run_no": "made without a guided run",
    "ledger_filter.proof_yes": "marked for a proof",
    "ledger_filter.proof_no": "not marked for a proof",
    "ledger_filter.regraded_yes": "graded a second time",
    "ledger_filter.regraded_no": "not graded a second time",
    "ledger_filter.warned_yes": "a warning was accepted",
    "ledger_filter.warned_no": "no warning was accepted",
    "ledger_filter.corrected_age_yes": "age typed by hand",
    "ledger_filter.corrected_age_no": "age by the clock",
    "ledger_filter.wrong_test": "“{what}” cannot be compared like this. Choose another comparison.",
    "ledger_filter.no_value": "Say what “{what}” is compared with.",
    "ledger_filter.unknown_span": "“{value}” is no span of time known here. Known are {known}.",
    "ledger_filter.no_day": "“{text}” is no day. Write it as year, month, day: 2026-11-30.",
    "ledger_filter.unknown_subject": "“{what}” is nothing that attempts keep. Take this filter away.",
}
