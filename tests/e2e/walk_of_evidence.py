"""Evidence, recipes, papers, tables, packages, pooling, guide and tour on a screen; walk_on_a_screen.py runs it.

All data are invented; the second bench is the first one with its numbers and grades moved.
"""

from __future__ import annotations

import shutil
import subprocess
import time
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from zipfile import ZipFile

from on_a_screen import Person
from openpyxl import Workbook
from walk_of_an_evening import photo

from stirfall.bench.campaign import CampaignState
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.session.commands import AttachPhoto, SetAnchor
from stirfall.session.document import Document
from stirfall.session.samples import open_sample

SAMPLE = "tin-bismuth-dross"
FORMS = {"PDF": ".pdf", "Web page": ".html", "Markdown": ".md", "Bundle": ".zip"}
OPERATORS = ("first of two", "second of two")


def walk_of_evidence(person: Person, folder: Path) -> None:
    """Ask the evidence, issue a recipe, and take everything out and in again, with a picture after each step."""
    session, other = folder / "north.stirfall", folder / "south.stirfall"
    make_benches(session, other)
    person.start(session)
    person.settle()
    compare(person, session)
    drift(person, session)
    why(person)
    rivals(person)
    recipe(person, session)
    report(person, folder)
    package(person, folder)
    tables(person, folder)
    pooling(person, folder, (session, other))
    guide(person)
    person.leave()
    tour(person)


# ------------------------------------------------------------------------------------------------ invented data


def make_benches(session: Path, other: Path) -> None:
    """Make the session of one bench with photos, and that of another bench."""
    with open_sample(SAMPLE, session.with_name("as-shipped.stirfall")) as sample:
        state = sample.state
    north = replace(state, settings=replace(state.settings, bench_name="North bench"))
    with Document.create_from(session, with_operators(north)) as document:
        for turn, attempt in enumerate(document.state.attempts[-6:]):
            data = photo(turn)
            document.execute(AttachPhoto(attempt.id, f"top {attempt.number}.png", "image/png", data, data))
        document.execute(SetAnchor(Outcome.CLEAN, "clean.png", "image/png", photo(0)))
    Document.create_from(other, elsewhere(state)).close()


def with_operators(state: CampaignState) -> CampaignState:
    """Return the campaign with two people at its bench."""
    attempts = tuple(
        replace(each, facts=replace(each.facts, operator=OPERATORS[each.number % 2])) for each in state.attempts
    )
    return replace(state, attempts=attempts)


def elsewhere(state: CampaignState) -> CampaignState:
    """Return the campaign as another bench might have had it: an hour later, and every fourth grade another one."""
    hour = timedelta(hours=1)
    attempts = tuple(
        replace(
            each,
            started_at=each.started_at and each.started_at + hour,
            recorded_at=each.recorded_at and each.recorded_at + hour,
            **({"parted": Parted.YES, "pooled": Pooled.BEADS} if each.number % 4 == 0 and not each.aborted else {}),
        )
        for each in state.attempts
    )
    return replace(state, attempts=attempts, settings=replace(state.settings, bench_name="South bench"))


def messy_csv(path: Path) -> Path:
    """Write a table as a person keeps one: title lines, a row of units, decimal commas, words of their own."""
    lines = [
        "Invented bench book;;;;;",
        "copied by hand;;;;;",
        "Day;Temp;Stirring speed;Sample age;Result;Remark",
        ";C;1/min;h;;",
        "01.03.2026;152,5;90;12,5;ok;one pool at once",
        "02.03.2026;148,0;85;6;nothing;",
        "03.03.2026;155,5;;30;balls;speed not read",
        "04.03.2026;150,0;95;48;ok;",
        "05.03.2026;hot;100;2;so-so;thermometer fell in",
        "31.02.2026;151,0;90;20;ok;",
    ]
    path.write_text("\n".join(lines), encoding="cp1252")
    return path


def messy_xlsx(path: Path) -> Path:
    """Write a workbook with two sheets, of which the second holds the attempts, one of them a formula."""
    book = Workbook()
    first = book.active
    assert first is not None
    first.title = "Read me"
    first.append(["Invented numbers"])
    sheet = book.create_sheet("Attempts")
    sheet.append(["Invented bench book"])
    sheet.append([])
    sheet.append(["When", "Temperature (F)", "Stirring speed, rpm", "Sample age, d", "Parted", "Pool"])
    began = datetime(2026, 3, 1, 18, 0)  # noqa: DTZ001 (a workbook has no zones)
    rows = (
        (306, 90, 0.5, "yes", "one"),
        (298, 85, 0.25, "no", None),
        (312, 70, 1.2, "y", "beads"),
        (310, "=80+5", 2, "yes", "one"),
    )
    for day, row in enumerate(rows):
        sheet.append([began + timedelta(days=day), *row])
    book.save(path)
    return path


# ------------------------------------------------------------------------------------------------- small ways


def read(session: Path) -> Document:
    return Document.open(session, read_only=True)


def choose(person: Person, combo: str, words: str, area: str | None = None) -> None:
    """Choose in a list by the first letters of what is wanted."""
    if area is not None:
        person.scroll_to(combo, area)
    person.click(combo)
    person.type(words)
    person.key("Return")
    person.settle()


def down(person: Person, area: str, turns: int = 30) -> None:
    """Turn the wheel towards the end of a scroll area."""
    x, y, _, height = person.find(area)["place"]
    for _ in range(turns):
        person.screen.xdotool("mousemove", x + 4, y + height // 2, "click", 5)
    person.pause()


def up(person: Person, area: str, turns: int = 60) -> None:
    """Turn the wheel back to the top of a scroll area."""
    x, y, _, height = person.find(area)["place"]
    for _ in range(turns):
        person.screen.xdotool("mousemove", x + 4, y + height // 2, "click", 4)
    person.pause()


def press(person: Person, name: str, area: str) -> None:
    """Click on what may have to be scrolled to."""
    person.scroll_to(name, area)
    person.click(name)


def section(person: Person, name: str) -> None:
    """Bring a section of the evidence to the front."""
    person.key("ctrl+5")
    person.click(f"evidence_section_{name}")
    person.settle()


def through(person: Person, area: str, name: str, turns: int = 6, most: int = 6) -> None:
    """Take pictures of a long section from its top to its end."""
    before = ""
    for page in range(1, most + 1):
        person.shoot(f"{name}-{page}")
        down(person, area, turns)
        places = str(sorted(w["place"] for w in person.look()["widgets"] if w["place"][2] > 0))
        if places == before:
            break
        before = places


def to_the_dialog(person: Person, path: Path) -> None:
    """Answer the dialog of files in front."""
    time.sleep(0.6)
    person.save_as(path)


# --------------------------------------------------------------------------------------------------- evidence


def compare(person: Person, session: Path) -> None:
    """Compare two lots, then two ages, and look at what the session keeps of it."""
    area = "evidence_compare_area"
    section(person, "compare")
    person.shoot("compare-at-first")
    choose(person, "compare_subject", "lot", area)
    person.shoot("compare-lots-chosen")
    person.click("compare_start")
    person.settle()
    through(person, area, "compare-lots")
    up(person, area)
    choose(person, "compare_subject", "sample age", area)
    person.shoot("compare-ages-chosen")
    person.click("compare_start")
    person.settle()
    through(person, area, "compare-ages")
    up(person, area)
    choose(person, "compare_measure", "recov", area)
    press(person, "compare_start", area)
    person.settle()
    through(person, area, "compare-numbers")
    with read(session) as document:
        assert len(document.state.comparisons) == 3


def drift(person: Person, session: Path) -> None:
    """Look at the attempts in time, mark a change by hand, and look at the charts."""
    area = "evidence_drift_area"
    section(person, "drift")
    through(person, area, "drift")
    up(person, area)
    press(person, "drift_mark", area)
    person.wait(lambda _seen: person.is_seen("drift_mark_words"))
    person.shoot("drift-mark-dialog")
    person.click("drift_mark_words")
    person.type("a new bottle of oil")
    person.shoot("drift-mark-typed")
    person.click("dialog_verb")
    person.settle()
    person.shoot("drift-marked")
    with read(session) as document:
        assert [mark.text for mark in document.state.marks] == ["a new bottle of oil"]
    charts = [w["name"] for w in person.look()["widgets"] if w["name"].startswith("drift_chart_")]
    for chart in charts[1:]:
        press(person, chart, area)
        person.shoot(chart.replace("_", "-"))
    press(person, "drift_picture", area) if person.is_seen("drift_picture") else None
    person.key("Escape")


def why(person: Person) -> None:
    """Ask from the ledger why an attempt came out as it did."""
    person.key("ctrl+4")
    person.settle()
    person.click("ledger_table", 0.3, 0.35)
    person.click("ledger_why")
    person.wait(lambda _seen: person.is_seen("evidence_why_area"))
    through(person, "evidence_why_area", "why")


def rivals(person: Person) -> None:
    """Read the rival explanations, open one that has a pair, and put the first of the pair into the form."""
    area = "evidence_rivals_area"
    section(person, "rivals")
    through(person, area, "rivals")
    up(person, area)
    cards = [w["name"] for w in person.look()["widgets"] if w["kind"] == "RivalCard"]
    for card in cards:
        up(person, area)
        press(person, card, area)
        person.settle()
        if person.is_seen("rivals_first") or "rivals_first" in {w["name"] for w in person.look()["widgets"]}:
            break
    person.shoot("rival-opened")
    down(person, area)
    person.shoot("rival-pair")
    press(person, "rivals_first", area)
    person.wait(lambda _seen: person.is_seen("bench_page"))
    person.shoot("rival-in-the-form")


# ---------------------------------------------------------------------------------------------------- recipes


def recipe(person: Person, session: Path) -> None:
    """Change the batch, look at both sheets, issue two recipes and compare them."""
    person.key("ctrl+6")
    person.settle()
    person.shoot("recipe")
    person.click("recipe_more")
    person.shoot("recipe-more")
    person.click("recipe_more")
    batch = next(w["name"] for w in person.look()["widgets"] if w["kind"] == "SizeField")
    person.click(batch)
    person.key("ctrl+a")
    person.type("400")
    person.key("Return")
    person.settle()
    person.shoot("recipe-large-batch")
    person.click("Sheet: for the bench") if person.is_seen("Sheet: for the bench") else None
    person.settle()
    person.shoot("recipe-bench-sheet")
    for note in ("the first that is kept", "kept later, for a larger batch"):
        person.click("recipe_section_make")
        person.click("recipe_issue")
        person.wait(lambda _seen: person.is_seen("issue_note"))
        person.click("issue_note")
        person.type(note)
        person.shoot("recipe-issue-dialog")
        person.click("dialog_verb")
        person.settle()
        person.shoot("recipe-issued")
        person.click("recipe_section_make")
        person.click(batch)
        person.key("ctrl+a", "BackSpace", "Return")
        person.settle()
    person.click("recipe_section_issued")
    person.settle()
    choose(person, "issued_other", "recipe no")
    person.shoot("recipe-compared")
    with read(session) as document:
        assert len(document.state.recipes) == 2


# ------------------------------------------------------------------------------------------- out of the program


def report(person: Person, folder: Path) -> None:
    """Look at the dialog of the report, write each of its forms, and turn the paper into pictures."""
    person.key("ctrl+shift+e")
    person.wait(lambda _seen: person.is_seen("report_photo_title"))
    person.settle()
    person.shoot("report-dialog")
    if person.is_seen("report_all_photos"):
        person.click("report_all_photos")
        person.shoot("report-photos-chosen")
    for form, suffix in FORMS.items():
        person.click(f"What to write: {form}")
        person.settle()
        person.shoot(f"report-{suffix[1:]}")
        person.click("dialog_verb")
        time.sleep(0.6)
        place = folder / f"report{suffix}"
        person.save_as(place)
        wait_for(person, place)
        person.shoot(f"report-{suffix[1:]}-written")
    person.key("Escape")
    as_pictures(person, folder / "report.pdf")
    for each in folder.glob("report.*"):
        shutil.copy(each, person.out / each.name)


def wait_for(person: Person, place: Path) -> None:
    """Wait until a file is there and nobody works on it any more."""
    deadline = time.monotonic() + 240.0
    while not place.exists() or person.is_seen("report_stop"):
        assert time.monotonic() < deadline, f"{place.name} is not written"
        time.sleep(0.5)
    person.settle()


def as_pictures(person: Person, paper: Path) -> None:
    """Keep the pages of a paper as pictures."""
    if shutil.which("pdftoppm"):
        subprocess.run(["pdftoppm", "-r", "60", "-png", str(paper), str(person.out / paper.stem)], check=True)


def package(person: Person, folder: Path) -> None:
    """Write everything as a Data Package, and open the zip again."""
    place, back = folder / "everything.zip", folder / "back.stirfall"
    person.key("alt+f", "d")
    person.shoot("package-menu")
    person.key("p")
    to_the_dialog(person, place)
    wait_for(person, place)
    person.shoot("package-written")
    assert "datapackage.json" in ZipFile(place).namelist()
    person.key("ctrl+o")
    to_the_dialog(person, place)
    time.sleep(1.0)
    person.shoot("package-place")
    person.save_as(back)
    wait_for(person, back)
    person.shoot("package-opened")
    with read(back) as again, read(folder / "north.stirfall") as first:
        assert again.state.attempts == first.state.attempts


# --------------------------------------------------------------------------------------------- into the program


def tables(person: Person, folder: Path) -> None:
    """Bring in a messy table, then a messy workbook."""
    for place in (messy_csv(folder / "book.csv"), messy_xlsx(folder / "book.xlsx")):
        kind = place.suffix[1:]
        person.key("ctrl+i")
        person.settle()
        if kind == "csv":
            person.shoot("import-place")
        to_the_dialog(person, place)
        person.wait(lambda _seen: person.is_seen("import_columns"))
        person.shoot(f"import-{kind}-columns")
        person.click("import_columns", 0.3, 0.6)
        person.shoot(f"import-{kind}-column-chosen")
        for part in ("words", "preview"):
            person.click(f"import_part_{part}")
            person.settle()
            person.shoot(f"import-{kind}-{part}")
        settle_what_is_open(person, kind)
        person.click("dialog_verb")
        person.settle()
        person.shoot(f"import-{kind}-taken")


def settle_what_is_open(person: Person, kind: str) -> None:
    """Say which way round the dates are, what the strange word means, and that refused rows stay out."""
    person.click("import_part_words")
    choose(person, "import_word_3", "partly" if kind == "csv" else "one pool")
    if kind == "csv":
        person.click("import_part_columns")
        person.settle()
        person.click("import_columns", 0.1, 0.5)
        person.key("ctrl+Home")
        person.settle()
        person.click("import_dates_day-first")
        person.settle()
        person.click("import_part_preview")
        person.settle()
        person.shoot("import-csv-settled")
    person.click("import_part_preview")
    person.settle()
    if not person.find("dialog_verb")["is_enabled"]:
        person.click("import_leaves_out", 0.03)
        person.settle()


def pooling(person: Person, folder: Path, sessions: tuple[Path, Path]) -> None:
    """Pool two sessions, and look at the section of the benches."""
    person.key("ctrl+o")  # the session that is open is one of the benches
    to_the_dialog(person, sessions[0])
    person.settle()
    person.key("alt+f", "i")
    person.wait(lambda _seen: person.is_seen("pooling_add_files"))
    person.shoot("pooling-empty")
    person.click("pooling_add_files")
    to_the_dialog(person, sessions[1])
    person.settle()
    person.shoot("pooling-found")
    person.click("pooling_out")
    person.key("ctrl+a")
    person.type(str(folder / "pooled.stirfall"))
    person.settle()
    person.shoot("pooling-ready")
    person.click("dialog_verb")
    wait_for(person, folder / "pooled.stirfall")
    person.settle()
    person.shoot("pooled")
    section(person, "benches")
    through(person, "evidence_benches_area", "benches")
    press(person, "benches_table", "evidence_benches_area")
    person.shoot("benches-as-a-table")
    person.key("Escape")
    with read(folder / "pooled.stirfall") as document:
        assert {each.origin.bench for each in document.state.attempts if each.origin} == {
            "North bench",
            "South bench",
        }


# ------------------------------------------------------------------------------------------------------- help


def guide(person: Person) -> None:
    """Open the guide at the page in front, and look for a word."""
    person.key("F1")
    person.wait(lambda _seen: person.is_seen("guide_window"))
    person.shoot("guide-at-the-page")
    person.click("guide_find")
    person.type("wilson")
    person.shoot("guide-found")
    person.key("ctrl+a")
    person.type("bench sheet")
    person.shoot("guide-found-two-words")
    person.key("Escape")


def tour(person: Person) -> None:
    """Be shown round from the first page, in a sample that is gone afterwards."""
    person.start()
    person.shoot("before-the-tour")
    person.click("first_run_tour")
    person.wait(lambda _seen: person.is_seen("tour_card"))
    turn = 0
    while person.is_seen("tour_card"):
        turn += 1
        assert turn < 20, "the tour does not end"
        person.shoot(f"tour-{turn}")
        person.key("Right")
        person.settle()
    person.shoot("after-the-tour")
    person.leave()
