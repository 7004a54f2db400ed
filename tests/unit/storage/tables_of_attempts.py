"""What tests of imports share: small invented tables and a campaign to bring them into."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import UTC

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import standard_factors
from stirfall.bench.records import CampaignSettings
from stirfall.storage.import_guess import guess
from stirfall.storage.import_plan import ColumnPlan, ImportPlan
from stirfall.storage.import_read import read_with
from stirfall.storage.import_source import ReadingChoices, SourceTable, source_of
from stirfall.storage.imported import Imported

CAMPAIGN = CampaignState(CampaignSettings(), standard_factors())
LAB = """Separations of spring
Notebook 7
run;date;lot;who;T (°C);age [h];stir/min;stir time;additive;dose mg/g;result;note
1;14.03.2026 10:20;L1;A;150;24;90;120 s;none;0;clean;first
2;14.03.2026 14:20;L1;A;151,5;48;90;2 min;none;0;beads;
3;15.03.2026 09:00;L2;B;149;72;60;1 min 30 s;additive A;5,5;partial;looked dull
4;15.03.2026 11:00;L2;B;n/a;72;60;90 s;additive A;5,5;none;
"""


def table_of(text: str | bytes, name: str = "spring.csv", choices: ReadingChoices | None = None) -> SourceTable:
    data = text.encode() if isinstance(text, str) else text
    return source_of(data, name).table("", choices or ReadingChoices())


def plan_of(text: str | bytes, state: CampaignState | None = CAMPAIGN) -> ImportPlan:
    return guess(table_of(text), state)


def column_of(text: str | bytes, heading: str, state: CampaignState | None = CAMPAIGN) -> ColumnPlan:
    return next(each for each in plan_of(text, state).columns if each.heading == heading)


def imported(text: str | bytes, state: CampaignState | None = CAMPAIGN, plan: ImportPlan | None = None) -> Imported:
    table = table_of(text)
    return read_with(plan or guess(table, state), table, state, zone=UTC)


def workbook(*sheets: tuple[str, Sequence[Sequence[object]]]) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()
