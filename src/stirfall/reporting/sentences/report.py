"""Sentences of the lab report and of the publication bundle."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "report.heading_short": "In short",
    "report.heading_methods": "Methods",
    "report.heading_grading": "How attempts were made and graded",
    "report.heading_held": "How conditions were held and measured",
    "report.heading_ageing": "How the crude aged",
    "report.heading_weighing": "How it was weighed",
    "report.heading_regrades": "Second grades",
    "report.heading_materials": "Materials, lots and jars",
    "report.heading_attempts": "All attempts",
    "report.heading_corrections": "Corrections",
    "report.heading_model": "The model",
    "report.heading_trust": "How far to trust it",
    "report.heading_meaning": "What the numbers mean",
    "report.heading_results": "Results",
    "report.heading_recipe": "Recommended conditions",
    "report.heading_effects": "Effects of the conditions",
    "report.heading_recovery": "Recovery",
    "report.heading_proofs": "Proofs",
    "report.heading_comparisons": "Is it chance?",
    "report.heading_drift": "Change in time",
    "report.heading_rivals": "Rival explanations",
    "report.no_comparisons": "No comparison of two groups of attempts was asked for.",
    "report.comparisons": (
        "Comparisons of groups of attempts that were asked for in this session: {count}. All are here, also those "
        "that found nothing: the more are made, the sooner one of them differs by chance alone."
    ),
    "report.comparison": "{number}. Asked on {made} UTC.",
    "report.comparison_lost": "It can no longer be made as it was asked.",
    "report.caption_marks": "Changes at the bench that were marked, or that the records show.",
    "report.heading_benches": "Does it hold for others?",
    "report.heading_issued": "Recipes that were issued",
    "report.heading_figures": "Figures",
    "report.heading_photos": "Photos",
    "report.heading_limits": "Operating limits",
    "report.heading_cautions": "Cautions",
    "report.heading_missing": "What was not measured",
    "report.heading_provenance": "Where this comes from",
    "report.heading_cite": "How to cite these data",
    "report.invented": "Nothing in this report was measured; no metal was parted. Draw no conclusion from it.",
    "report.short_attempts": "{attempts} with {lots} of crude; none has a time of its start.",
    "report.short_day": "{attempts} on {first}, with {lots} of crude.",
    "report.short_period": "{attempts} from {first} to {last}, with {lots} of crude.",
    "report.short_chance": (
        "At the conditions that the attempts recommend, the chance of a clean separation is {chance} ({level} "
        "interval)."
    ),
    "report.short_what": (
        "All attempts are in this report: clean, failed, aborted and struck out. A chance is an estimate from "
        "these attempts at this bench, and no promise for another."
    ),
    "report.an_attempt": (
        "One attempt is one charge of crude that is melted under oil and stirred, then left to settle and to "
        "cool. It was graded at once by the person at the bench."
    ),
    "report.graded_by_gates": (
        "Two questions were asked after each attempt ({attempts}): did the solids leave the metal (no, partly, "
        "yes), and did the metal become one pool (beads, few pieces, one pool)? After a no to the first, the "
        "second is not observed, which is not the same as a no."
    ),
    "report.clean_by_gates": "“Clean” means both: the solids left the metal, and the metal became one pool.",
    "report.pieces_are_beads": "A few pieces are not one pool: they count as beads.",
    "report.graded_by_count": "{attempts} say how many of their trials were clean, without the two questions.",
    "report.clean_by_count": "“Clean” is as the person counted it; what it had to fulfil was not noted.",
    "report.partly_failed": "Partly parted counts as not parted in this campaign ({attempts}).",
    "report.partly_success": (
        "Partly parted counts as parted in this campaign ({attempts}): with one pool after it, it counts as clean."
    ),
    "report.partly_ordinal": (
        "Partly parted counts as between no and yes in this campaign ({attempts}); clean is a yes only."
    ),
    "report.gates_two": (
        "The two questions are two gates in series: the chance of a clean separation is that of parting times "
        "that of pooling after parting."
    ),
    "report.gates_one": "The model has one gate: clean or not clean.",
    "report.aborted_rule": (
        "An aborted attempt says nothing about the conditions: it is listed, and left out of the model. In a "
        "proof it counts as a failure. A struck-out attempt keeps its record and its reason, and counts nowhere."
    ),
    "report.examples": "Example photos were kept to grade by, for: {classes}.",
    "report.no_examples": "No example photos were kept to grade by.",
    "report.conditions_reached": (
        "Conditions are those that were really reached, as noted, not those that were planned."
    ),
    "report.guided_runs": (
        "Of {attempts}, {some} were timed step by step by the program; the other times are as the person noted "
        "them."
    ),
    "report.logged": "Of {attempts}, {some} have the log of a temperature logger.",
    "report.held_usual": (
        "“{factor}” is taken to be held within {width} about 19 times of 20: a usual value, which was not checked "
        "here."
    ),
    "report.held_told": "“{factor}” is held within {width} about 19 times of 20, as the person says.",
    "report.held_exactly": "All other numbers are taken as held exactly; nothing is known of how well they were.",
    "report.caption_factors": "Conditions of the campaign.",
    "report.factors_note": "“Known in”: of {attempts}. Levels of a choice with how often each was tried.",
    "report.aged_in_jars": "The crude came in {lots} and aged under oil in {jars}.",
    "report.no_ages": "No age is among the conditions of this campaign.",
    "report.ages_computed": (
        "These are worked out from time stamps, of the lot or of the jar and of the start of the attempt: "
        "{factors}."
    ),
    "report.ages_all_computed": "None was typed in place of a computed one.",
    "report.ages_typed": (
        "In {attempts} an age was typed in place of the computed one, with the reason (see the remarks)."
    ),
    "report.no_longer": (
        "This metal may form a superoxide that can explode. Its age is a danger, not a means: nothing in this "
        "report advises a longer exposure, whatever the numbers say."
    ),
    "report.not_weighed": "Nothing was weighed.",
    "report.weighed": "Of {attempts}, {some} were weighed. All masses are net.",
    "report.balance_steps": "Smallest step of the balance: {steps}.",
    "report.no_balance_step": "The smallest step of the balance was not noted, so no uncertainty is known.",
    "report.by_difference": "{attempts} were weighed in a vessel whose weight was taken off.",
    "report.oil_removed": "How oil was removed before weighing: {ways}.",
    "report.yield_formulas": (
        "Gross yield is product / charge; recovery is product × purity / (charge × metal in the lot); closure is "
        "(product + beads + residue − additive) / charge. Uncertainties {coverage} follow the law of propagation "
        "(GUM, JCGM 100:2008)."
    ),
    "report.regrades_how": (
        "A random fifth of the attempts with photos is graded again from the photo alone, at least two days "
        "later, without sight of conditions or first grade."
    ),
    "report.no_lots": "No lot was registered.",
    "report.no_jars": "No jar was registered.",
    "report.caption_lots": "Lots of crude.",
    "report.lots_note": "Metal by assay with its standard uncertainty (k = 1) and the number of assays.",
    "report.caption_jars": "Jars.",
    "report.caption_jar_details": "What decides how much air and water reach the metal, where it is known.",
    "report.no_attempts": "No attempt was recorded yet.",
    "report.attempts_summary": (
        "{attempts} in all: {used} used by the model, {aborted} aborted, {struck} struck out, {others} left out "
        "for other reasons."
    ),
    "report.caption_attempts": "All attempts and how they came out.",
    "report.outcomes_note": "Times are UTC. An empty cell means that it was not noted.",
    "report.caption_conditions": "Conditions that were reached.",
    "report.caption_conditions_part": "Conditions that were reached, part {part} of {parts}.",
    "report.caption_seen": "What was seen at the bench.",
    "report.caption_weighings": "Weighings.",
    "report.weighings_note": (
        "± is one standard uncertainty; without it the uncertainty is unknown. A closure above 102 % means oil on "
        "the beads, below 95 % a loss. Recovery needs the purity of the product and an assay of the lot."
    ),
    "report.caption_remarks": "Strike-outs, aborted attempts, ages typed by hand, limits gone past, and notes.",
    "report.no_corrections": "Nothing was corrected.",
    "report.caption_corrections": "Every correction, oldest first.",
    "report.corrections_note": "A correction never erases: the old value stays in the session.",
    "report.model_first": (
        "The chance is found from the attempts alone, by a model whose parts stand here in full, so that somebody "
        "else can find the same answer."
    ),
    "report.caption_forms": "Forms of the model, best first.",
    "report.forms_note": (
        "Log score: sum over the attempts of the log probability that the other attempts gave to what was seen, "
        "with its standard error. The weights are those of stacking (Yao and others 2018, Bayesian Analysis "
        "13:917), with half an imagined attempt for each form."
    ),
    "report.lot_spread": (
        "How much they differ from {what} to {what}, as standard deviation of the log odds of {gate}: {mean}, "
        "{lower} to {upper} ({level} interval)."
    ),
    "report.caption_lot_effects": "What each {what} does to the odds, beyond its conditions.",
    "report.caption_loads": "How much is asked of the attempts.",
    "report.means_chance": (
        "A chance of a clean separation is the share of attempts, made the same way at this bench, that should "
        "come out clean."
    ),
    "report.means_interval": (
        "Its interval holds the chance with a probability of {level}, if the model is right. It knows only what "
        "was varied here."
    ),
    "report.means_n": "n is the number of attempts behind it, here {attempts}; few attempts make a wide interval.",
    "report.means_ends": (
        "Chances are told in whole per cent, never below {below} nor above {above}: no count proves more."
    ),
    "report.means_gates": "The chance of pooling rests only on attempts that parted, so its n is smaller.",
    "report.means_odds": (
        "Odds are chance / (1 − chance). “Multiplies the odds by 2” turns a chance of 50 % into 67 %, and one of "
        "90 % into 95 %."
    ),
    "report.means_score": (
        "Forms are judged by attempts that they had not seen (leave-one-out). A difference within its noise "
        "decides nothing."
    ),
    "report.means_pareto": "A Pareto k above 0.7 says that leave-one-out is rough for some attempt.",
    "report.means_cause": (
        "Conditions that were not chosen by chance may stand for something else: an effect here is an "
        "association, until an attempt that changes one thing alone has shown it."
    ),
    "report.no_recipe_yet": "No attempt is graded yet, so nothing is recommended.",
    "report.chance": "Chance of a clean separation at these conditions: {chance} ({level} interval).",
    "report.gate_chance": "Of {gate}: {chance}.",
    "report.caption_recipe": "Recommended conditions.",
    "report.recipe_note": (
        "“Holds within”: all else as here, the lower bound of the interval stays within {points} points."
    ),
    "report.effects_of": "{heading} {level} intervals, {n} results.",
    "report.no_proofs": "No proof was made.",
    "report.proof_started": "Proof {title}started {started} UTC",
    "report.proof_recipe": "Recipe: {conditions}, each in the unit of the campaign.",
    "report.proof_attempts": "Attempts that count, by number: {numbers}.",
    "report.caption_issued": "{recipes} issued before, as kept in the session.",
    "report.no_photos": "No photos were chosen for this report. Photos are kept of {attempts}.",
    "report.photos_chosen": (
        "These photos were chosen by the person who made the report; they are no random sample of the attempts."
    ),
    "report.limits_hold": "These limits held for every suggestion of the program:",
    "report.local_rules_first": "Local rules, the safety data sheet and licensed practice come before this report.",
    "report.measured_never": "Noted in no attempt: {names}.",
    "report.measured_sometimes": "Noted in some of {attempts} only: {names}.",
    "report.measured_always": "Everything that can be noted was noted in all of {attempts}.",
    "report.lots_without_assay": "Lots without an assay of metal or solids: {lots}.",
    "report.lots_undated": "Lots whose making has no date: {lots}.",
    "report.never_varied": "Never varied, so nothing is known of their effect: {names}.",
    "report.not_blind": "The first grade was given by someone who knew the conditions.",
    "report.film_not_measured": (
        "The film on the metal was not measured. Ages and the film index stand for it, and are no thickness."
    ),
    "report.no_mechanism": "Why the solids leave or stay was not observed; the model says what went with what.",
    "report.from_session": "Session: {name}.",
    "report.from_fingerprint": "Fingerprint of its content (SHA-256): {fingerprint}.",
    "report.from_program": (
        "Made by Stirfall {version}; session file of schema {schema}, open form {package}. The same session and "
        "version give the same numbers."
    ),
    "report.from_time": "Made at {made} UTC.",
    "report.no_operators": "No operator was noted.",
    "report.with_names": "Operators are named, as was asked for.",
    "report.without_names": (
        "Operators stand as letters. Their names were also taken out of notes and reasons where they stand there "
        "as written; other names in notes are as typed."
    ),
    "report.caption_origins": "Sessions that were pooled.",
    "report.cite_how": "Name the fingerprint: it tells these data from every other version of them. For example:",
    "report.cite": "{title}. Records of {attempts}, session {fingerprint}. Made with Stirfall {version} on {made}.",
    "report.cite_invented": (
        "{title}. {notice}: {attempts}, session {fingerprint}. Made with Stirfall {version} on {made}."
    ),
    "report.bundle_title": "Publication bundle: {title}",
    "report.bundle_made": (
        "Made by Stirfall {version} at {made} UTC from the session with the fingerprint {fingerprint}."
    ),
    "report.bundle_html": "the lab report as one page for a browser; it fetches nothing.",
    "report.bundle_pdf": "the same report for paper.",
    "report.bundle_md": "the same report as Markdown, with its pictures in the folders beside it.",
    "report.bundle_figures": "each figure as SVG, and as PNG at 300 dots per inch.",
    "report.bundle_photos": "the photos that stand in the report, chosen by the person who made it.",
    "report.bundle_recipe_md": "the recommended recipe with its limits and cautions, to read and pass on.",
    "report.bundle_recipe_json": "the same recipe for programs.",
    "report.bundle_recipe_pdf": "the same recipe for paper.",
    "report.bundle_recipe_bench": "its sheet for the bench, with boxes to tick.",
    "report.bundle_no_recipe": "There is no recipe: the report says why.",
    "report.bundle_data": (
        "the data themselves as a Data Package (datapackage.org): CSV tables with a schema for each. Of the "
        "photos it holds those in the report."
    ),
    "report.bundle_sums": "the SHA-256 of each file; `sha256sum -c {name}` checks them.",
    "report.bundle_back": (
        "To work with the data, open this zip file in Stirfall (File, Open), or from a terminal with `stirfall "
        "new copy.stirfall --package FILE`. Any other program can read the CSV files."
    ),
    "report.bundle_licence": "No licence is stated here. Ask those who made the data before you use them.",
    "report.not_made": "The report could not be made. The session is as it was.",
    "report.written": "Written to {path}.",
    "report.stopped": "Stopped. Nothing was written.",
    "report.step_reading": "Reading the session…",
    "report.step_counting": "Working out the report…",
    "report.step_writing": "Drawing and writing…",
    "report.about_pdf": "The lab report for paper, with page numbers.",
    "report.about_html": "The lab report as one page for a browser, with everything in it.",
    "report.about_md": "The lab report as Markdown; its pictures stand in a folder beside it.",
    "report.about_zip": (
        "To publish or hand on: the report in all forms, figures, recipe, and the data, which import again."
    ),
    "report.names_none": "No operator is noted in this session.",
    "report.names_off": "Operators stand as A, B and so on. Other names that stand in notes stay as typed.",
    "report.names_on": "Operators are named. Ask them first.",
    "report.photos_reading": "Photos: being read…",
    "report.photos_none": "Photos: none is kept in this session",
    "report.photos_count": "Photos: {some} of {photos} chosen",
    "report.photos_hint": "None is in the report unless it is chosen here.",
    "report.preview_reading": "Looking ahead…",
    "report.preview_failed": (
        "What will be in it could not be worked out. The report may fail as well; the window says why."
    ),
    "report.suffix": "“{suffix}” is no form of a report. Name a file that ends in .pdf, .html, .md or .zip.",
    "report.paper": "“{text}” is no paper that a report is set on. Use one of: {known}.",
    "report.not_written": "The report could not be written to {path}: {why}. Choose another place.",
    "report.photo_unknown": "Attempt {number} has no photo in this session, so none can be put into the report.",
    "report.photos_unreadable": "“{text}” names no photos. Say all, none, or numbers of attempts such as 3,7,12.",
    "report.parts": "Its parts:",
}
