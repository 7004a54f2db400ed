"""Sentences about tables that are brought in: what was found, what is asked, why a cell is refused."""

from __future__ import annotations

SENTENCES = {
    # -- the file
    "import.unreadable": "{name} cannot be read: {why}. Check that the file is there and may be opened.",
    "import.is_folder": "{name} is a folder. Choose the table in it.",
    "import.file_too_large": (
        "{name} is larger than {most} MB. Save the part with the attempts as a table of its own."
    ),
    "import.other_kind": "{name} is {kind}, not a table. Save the table as CSV or XLSX, then choose that file.",
    "import.not_text": (
        "{name} is not text in UTF-8, UTF-16 or Windows-1252. Save the table as CSV in UTF-8, or as XLSX, "
        "then choose "
        "that file."
    ),
    "import.encoding_unknown": "“{encoding}” is no encoding that can be read here. Use one of: {known}.",
    "import.empty": "{name} holds no cell at all. Save the table again and check the file.",
    "import.quotes": (
        "The quotation marks in {name} do not match, from row {row} on. Save the table again as CSV or XLSX, "
        "or mend "
        "that row."
    ),
    "import.line_too_long": (
        "{name} has a line that no table has. Check that the file is a table with one row per line."
    ),
    "import.no_rows": (
        "{name} has no rows under its headings in row {heading}. Choose another row of headings or another sheet."
    ),
    "import.heading_unknown": (
        "Row {row} cannot hold the headings: it is blank or not there. Name a row with headings."
    ),
    "import.too_many_rows": (
        "{name} has more than {most} rows. Save it in parts, and bring them in one after the other."
    ),
    "import.too_many_columns": (
        "{name} has more than {most} columns. Save the columns that matter as a table of their own."
    ),
    "import.too_many_cells": (
        "{name} has more than {most} cells. Save the columns that matter, or fewer rows, as a table of their own."
    ),
    "import.too_many_blank_rows": (
        "{name} has too many blank rows. Delete what stands below the table, and save again."
    ),
    "import.cell_too_long": (
        "A cell near row {row} of {name} is longer than {most} characters. Shorten it; a quotation mark that "
        "is never "
        "closed looks the same."
    ),
    # -- workbooks
    "import.zip_broken": "{name} is damaged and was not opened. Save the workbook again.",
    "import.zip_bomb": (
        "{name} unpacks to far more than a workbook of attempts holds and was not opened. Save the one sheet "
        "as CSV."
    ),
    "import.not_a_workbook": "{name} is a packed file, but no workbook. Unpack it, and choose the table in it.",
    "import.xml_declares": (
        "{name} holds declarations that no workbook needs and was not opened. Save the sheet as CSV."
    ),
    "import.workbook_locked": "{name} is locked with a password. Save a copy without one.",
    "import.workbook_broken": (
        "{name} is no sound workbook. Open it in the program that made it and save it as CSV."
    ),
    "import.workbook_unsafe": (
        "Workbooks cannot be read safely here: a library is missing. Save the sheet of {name} as CSV."
    ),
    "import.no_sheets": "{name} holds no sheet with cells.",
    "import.too_many_sheets": (
        "{name} has more than {most} sheets. Save the one with the attempts as a file of its own."
    ),
    "import.sheet_unknown": "There is no sheet “{sheet}”. The sheets are: {known}.",
    "import.sheet_empty": "The sheet “{sheet}” of {name} is blank. Choose another sheet.",
    # -- temperature logs
    "logger.too_many_lines": "{name} has more than {most} lines. Export a shorter part of the log.",
    "logger.too_many_columns": "{name} has more than {most} columns. Export the channel of the melt alone.",
    "logger.line_too_long": "{name} has a line that no log has. Export the log again, one reading per line.",
    "logger.quotes": "The quotation marks in {name} do not match. Export the log again.",
    # -- how it was read
    "import.sheets_hidden": "Hidden sheets: {sheets}.",
    "import.sheet_hidden": "The sheet “{sheet}” is hidden in the workbook.",
    "import.links_not_followed": "Links to other files were not followed.",
    "import.macros_not_looked_at": "The macros in the workbook were not looked at.",
    "import.merged_cells": (
        "Merged cells: {count}. Only the first cell of each holds its content; the others are read as blank."
    ),
    "import.formulas_refused": "Formulas: {count}. They are refused unless you take their stored values.",
    "import.formulas_stored": "Formulas: {count}. The values that were stored with them are used.",
    "import.read_as_windows": (
        "{name} is not UTF-8 and was read as Windows-1252. Check letters with accents and signs."
    ),
    "import.titles_above": "Lines above the headings: {count}, not read as attempts. The first: “{first}”.",
    "import.units_row": "Row {row} holds units.",
    "import.blank_columns": "Blank columns, left out: {count}.",
    "import.headings_repeat": "Headings that repeat got a number: {names}.",
    "import.no_headings": "No row of headings was found; row {row} was read as the first attempt.",
    # -- columns
    "import.column_blank": "The column is blank.",
    "import.new_factor": "Not a factor of this campaign so far; it becomes a new one.",
    "import.kept_in_note": "Goes into the note of the attempt.",
    "import.another_column": "“{column}” was taken for this instead.",
    "import.decimal_of_table": "The decimal sign “{sign}” was taken from the other columns.",
    "import.unit_taken": "No unit is told; taken to be {unit}.",
    "import.unit_read_as_rate": "Read as turns, in {unit}.",
    "import.unit_does_not_fit": "{unit} cannot be told as {wanted}, the unit of “{factor}”.",
    "import.unit_unsure": "The numbers do not fit the campaign’s range in {unit}; they would in: {others}.",
    # -- what is asked
    "import.ask_decimal": "“{column}”: say whether a comma is the decimal sign or stands between thousands.",
    "import.ask_dates": "“{column}”: say whether the day or the month comes first in its dates.",
    "import.ask_unit": "“{column}”: say the unit of its numbers.",
    "import.ask_words": "Words whose meaning is not known: {count} ({words}). Say what each means.",
    "import.no_factor": "No column is a condition. Say which column is a factor.",
    "import.no_result": "No column tells how the attempts went. Choose it, or say that the table has no results.",
    "import.meaning_twice": "Only one column can be the {meaning}; here are: {columns}.",
    "import.factor_twice": "Several columns are “{factor}”. Leave all but one out.",
    "import.factor_unnamed": "A column is a factor without a name. Name it.",
    "import.result_twice": (
        "The result is told twice: as an outcome, and by gates or counts. Leave one of them out."
    ),
    "import.pool_without_parting": "A column grades gate 2, but none grades gate 1. Choose that column too.",
    "import.trials_without_clean": "A number of trials says something only beside the column of the clean ones.",
    "import.moment_twice": "The time is told twice. Leave the date and time, or the other two columns, out.",
    "import.too_many_levels": "“{factor}” would have more than {most} levels. Take the column as a note instead.",
    "import.too_many_factors": (
        "The campaign would have {count} factors; {most} is the most. Leave some columns out."
    ),
    "import.too_many_lots": (
        "The table would make {count} new lots; {most} is the most. Check that the column really names lots."
    ),
    "import.factor_blank": "“{column}” holds no value that can be used. Leave it out.",
    "import.range_impossible": "The numbers of “{factor}” make no range. Check them, or leave the column out.",
    # -- refused cells
    "import.formula": "A formula, not a value. Store the value in its place, or take the stored values.",
    "import.formula_with_value": (
        "A formula, not a value. Its stored value is {stored}: take the stored values, or write it in its place."
    ),
    "import.error_cell": "An error of the workbook, not a value. Mend it there.",
    "import.two_signs": "The decimal sign differs from that of the column. Write the number as the others are.",
    "import.beyond_headings": "The row has more cells than there are headings. Mend the row.",
    "import.no_date": "Not a date as the others are. Write it like 2026-03-14 or like the rest of the column.",
    "import.no_clock": "Not a time of day. Write it like 14:30.",
    "import.word_unknown": "It is not known what “{word}” says of the outcome.",
    "import.count_without_trials": (
        "It counts {count} clean ones, but no column says out of how many. Choose the column of the trials."
    ),
    "import.no_attempt_number": "Not a number that an attempt can have: a whole number from 1 on.",
    "import.name_too_long": "Longer than {most} characters. Shorten the name.",
    # -- what the person says of columns and words
    "import.map_unreadable": "“{text}” is not of the form NAME=MEANING. Write it like T=temperature.",
    "import.column_unknown": "The table has no column “{column}”. Its columns are: {known}.",
    "import.role_unknown": (
        "“{role}” is not something a column can be. Use one of: {known}; or “factor NAME” for a new factor."
    ),
    "import.result_unknown": "“{result}” is no result. Use one of: {known}.",
    "import.word_not_there": "No outcome says “{word}”. The words are: {known}.",
    # -- what comes in
    "import.nothing": "There is no attempt to bring in. Look at the refused cells.",
    "import.not_settled": "Nothing is written before all is settled. {why}",
    "import.cells_refused": "Cells refused: {count}. Nothing was written. The first: {first}",
    "import.refused_copied": "Refused cells copied: {count}.",
    "import.refused_saved": "The refused cells are in {name}.",
    "import.would_come": "{attempts} can come in.",
    "import.twins_left_out": (
        "Rows that the session has already, left out: {count} (as attempts {numbers}). They say the same as those."
    ),
    "import.twins_taken": (
        "Rows that say the same as attempts of the session, taken in all the same: {count} ({numbers})."
    ),
    "import.refused_count": "Cells refused: {cells}; rows left out because of them: {rows}.",
    "import.beyond_limits": (
        "Attempts beyond the limits of the campaign: {count} (rows {rows}). They are history and come in; "
        "nothing like "
        "them is suggested."
    ),
    "import.written": "{count} attempts came into {name}.",
    "import.cli_unclear": "Nothing was written. Settle the points above with --map, --word, --decimal or --dates.",
    "import.cli_refused": "Nothing was written. Mend the cells, or leave their rows out with --leave-out-refused.",
    "import.cli_dry": "Nothing was written.",
    "import.new_lots": "New lots: {count} ({names}).",
    "import.new_levels": "“{factor}” gets new levels: {levels}.",
    "import.made_choice": "New factor “{factor}”, a choice: {levels}.",
    "import.made_factor": "New factor “{factor}”, from {low} to {high}.",
    "import.outside_range": (
        "Attempts outside the range of “{factor}”, {low} to {high}: {count}. They are kept as they are; the "
        "range stays."
    ),
    "import.outside_range_kept": (
        "Attempts outside the range of “{factor}”, {low} to {high}: {count}. They are kept as they are. The "
        "range of an "
        "exposure is not widened for this class of metal."
    ),
    "import.range_widened": "The range of “{factor}” becomes {low} to {high}.",
    "import.time_without_date": "Times of day without a date cannot be placed and are not kept.",
    "import.zone": "Dates and times without a zone are read in {zone}.",
    "import.zone_here": "the zone of this computer",
    "import.noon": "The dates have no time of day; noon of the day is kept.",
    "import.numbers_go_on": (
        "The attempts are numbered on from the session; the table’s own number stays in their note."
    ),
    "import.recovery_in_note": "“{column}” goes into the note: the program computes recoveries from weighings.",
    "import.jars_in_note": (
        "Jars that the session does not know: {count} ({names}). Their names go into the note, for their "
        "start is not told."
    ),
}
