"""Sentences for the melt panel, the film page and the assay dialog of the window."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "melt_panel.closed": "No session is open. Open one: then metal and oil over temperature appear here.",
    "melt_panel.waiting": "Working out metal and oil …",
    "melt_panel.failed": "Metal and oil could not be worked out. What was recorded is not touched.",
    "melt_panel.metal": "Metal",
    "melt_panel.oil": "oil",
    "melt_panel.title": "{metal} under {oil} at {at}",
    "melt_panel.title_cold": "{metal} under {oil}",
    "melt_panel.melts": "melts at {at}",
    "melt_panel.window": "operating window {low} to {high}",
    "melt_panel.no_curve": (
        "A curve of {quantity} appears here when the campaign names a metal of the table, or its own values, or "
        "what the oil's sheet says."
    ),
    "melt_panel.settings": "Enter metal, solids and oil…",
    "melt_panel.footnote": (
        "From tables and formulas, for clean substances: what is on your bench may differ. Seen beats computed."
    ),
    "film_page.closed": "No session is open. Open one: then two jars can be compared here.",
    "film_page.title": "What sets the film",
    "film_page.few_jars": (
        "Start two jars on the shelf: here they stand side by side, with what makes their films differ."
    ),
    "film_page.failed": "The two jars could not be compared. What was recorded is not touched.",
    "film_page.emptied": "{jar}, lot {lot}, emptied after {age}",
    "film_page.ageing": "{jar}, lot {lot}, {age} so far",
    "film_page.index": "Film index, mmol/m²",
    "film_page.effect": "effect alone",
    "film_page.little": "hardly any",
    "film_page.not_counted": "not counted",
    "film_page.shared": "The same for both: {parts}.",
    "film_page.unknown": "not known",
    "film_page.usual": "{value} (usual)",
    "film_page.taken": "Not known and taken as usual: {inputs}.",
    "film_page.usual_for": "{value} (usual for {jar})",
    "film_page.no_curve": "No curve over time is drawn: a metal of this class must never age on purpose.",
    "film_page.described": "{jar} after {age}: {index} {unit}.",
    "assay_dialog.concentration": "Concentration",
    "assay_dialog.amount": "Base found",
    "assay_dialog.as_metal": "If all of it is metal",
    "assay_dialog.hydrogen": "Hydrogen",
    "assay_dialog.oxidised": "Oxidised share",
    "assay_dialog.metal": "Metal",
    "assay_dialog.density": "Density",
    "assay_dialog.solids": "Solids, if there are no voids",
    "assay_dialog.valence_one": "The oxidised share is told for a metal of valence 1 only.",
    "assay_dialog.only_a_bound": "A density gives a bound, no content: it is not kept as a result.",
    "assay_dialog.waiting": "Enter: {missing}.",
    "assay_dialog.not_whole": "“{label}” is a whole number from 1 to {most}.",
    "assay_dialog.unreadable": "“{label}”: {why}",
    "assay_dialog.negative_u": "“{label}”: an uncertainty cannot be below zero.",
    "assay_dialog.mean_one": "1 result: {mean}. {note}",
    "assay_dialog.mean_of": "Mean of {n} results: {mean}.{interval}",
    "assay_dialog.interval": " t interval ({level} %): {low} to {high} %.",
    "assay_dialog.counts_base": "Titration counts oxide and hydroxide as metal too; say so in the reason.",
    "assay_dialog.no_lot": "Open a campaign with a lot first: then a result can be stored there.",
    "assay_dialog.read_only": "This session is open for reading only, so nothing can be stored.",
    "assay_dialog.reason_missing": "Say why the lot changes, such as “three assays”.",
    "assay_dialog.stored": "Lot {lot}: metal {mean}.",
}
