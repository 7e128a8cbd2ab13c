"""Workbooks that another version of the program drafted: compared with what they say was drafted, values only where
both versions mean the same; nothing is judged by a rule that it wasn't drafted under.

The other version is played by the present one, with a Book that was changed before it was written.
"""

import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from boxes_by_key import appraise_boxes
from old_words import BETTER_THEN, OVER, in_the_next_round, in_words_of_now
from returned_workbooks import (
    ROOT,
    address_of,
    book_of,
    check,
    entries_of,
    rules,
    small_record,
    with_cells,
)
from written_file import to_formula, to_stored, to_value

from estimator.boxes.keys import CheckRef, apart
from estimator.cli.app import main
from estimator.errors import Refused
from estimator.limits.judging.verdict_words import NO_LIMIT
from estimator.pricing.plan import plan
from estimator.readback.check import check_workbook
from estimator.readback.earlier_readings import is_over, next_round
from estimator.readback.rebuild import redrafted
from estimator.records import JobRecord
from estimator.workbook.book import Block, Book, Cell
from estimator.workbook.compose import with_record, working_tabs
from estimator.workbook.tabs.record import packed_record
from estimator.workbook.write import workbook_bytes

SEED = 3
READ = entries_of(small_record, SEED)


def drafted_by(path: Path, change: Callable[[Cell], Cell | None], program: str = "0.0.9") -> Path:
    """A workbook of another version: each cell as `change` makes it; rows whose first cell becomes None are left out."""
    record = small_record()
    appraisal = appraise_boxes(record, READ)
    book = working_tabs(appraisal)

    def changed(part: Block) -> Block:
        rows = [replace(row, cells=tuple(map(change, row.cells))) for row in part.rows]
        return replace(part, rows=tuple(row for row in rows if row.cells[0] is not None))

    tabs = tuple(replace(tab, head=changed(tab.head), blocks=tuple(map(changed, tab.blocks))) for tab in book.tabs)
    other = Book(book.document, book.revision, tabs)
    packed = replace(packed_record(record, other), program=program)
    path.write_bytes(workbook_bytes(with_record(other, record, appraisal.driving.state, packed)))
    return path


def test_a_version_that_drafts_the_same_is_checked_in_full(tmp_path: Path) -> None:
    checked = check(drafted_by(tmp_path / "a.xlsx", lambda cell: cell))
    assert rules(checked, "note") == {"other-version": 1} and checked.state == "sound"
    assert "0.0.9" in checked.integrity[-1].what and "in full" in checked.integrity[-1].fix
    assert checked.entries.values == READ


KEY = "total.net.agreed"


def other_net(cell: Cell) -> Cell:
    """The net of the agreed work plus one."""
    return cell._replace(formula=f"{cell.formula}+1", value=cell.value + 1) if cell.key == KEY else cell


def test_values_are_compared_where_both_versions_agree(tmp_path: Path) -> None:
    path = drafted_by(tmp_path / "a.xlsx", other_net)
    checked = check(path)
    (finding,) = [item for item in checked.integrity if item.severity != "note"]
    assert (finding.rule, finding.severity) == ("other-version", "warn") and "redraft" in finding.fix
    assert "values not recomputed" in finding.what and "drafted by version 0.0.9" in finding.what
    count = int(finding.what.split()[0])
    assert 5 < count < 500, "what follows from the changed formula isn't judged, the rest is"
    assert checked.entries.values == READ


@pytest.mark.parametrize(
    ("key", "edit", "rule"),
    [
        (KEY, to_formula("1+1"), "formula-changed"),
        ("total.supplies.agreed", to_formula("1+1"), "formula-changed"),
        ("total.supplies.agreed", to_stored(77.0), "value-stale"),
        ("rate.standard.per_hour", to_value(1.0), "input-changed"),
    ],
)
def test_planted_edits_are_found_all_the_same(key: str, edit: object, rule: str, tmp_path: Path) -> None:
    key = (
        key
        if key in book_of().by_key
        else next(name for name in book_of().by_key if name.startswith("rate.") and "per_hour" in name)
    )
    path = drafted_by(tmp_path / "a.xlsx", other_net)
    checked = check(with_cells(path, tmp_path / "b.xlsx", {address_of(key): edit}))
    assert [(item.rule, item.key) for item in checked.integrity if item.severity == "stop"] == [(rule, key)]


def test_a_value_that_nothing_is_known_of_is_not_judged(tmp_path: Path) -> None:
    path = drafted_by(tmp_path / "a.xlsx", other_net)
    checked = check(with_cells(path, tmp_path / "b.xlsx", {address_of("total.total.agreed"): to_stored(77.0)}))
    assert rules(checked) == {"other-version": 1}


@pytest.mark.parametrize(("unit", "appraised"), [("bar", 2204.57), ("mm", None)])
def test_a_box_in_another_unit_is_not_taken_for_a_reading(unit: str, appraised: float | None, tmp_path: Path) -> None:
    """152 bar must never be judged as 152 psi: it is 2204.57 psi (1 psi is 6894.757 Pa, NIST SP 811, table B.8)."""
    box = next(cell for cell in book_of().boxes() if cell.unit == "psi" and cell.box.kind == "number")

    def other(cell: Cell) -> Cell:
        return cell._replace(unit=unit, value=152.0) if cell.key == box.key else cell

    checked = check(drafted_by(tmp_path / "a.xlsx", other))
    assert checked.entries.values[box.key] == 152.0, "it is read"
    found = checked.appraisal.entries.as_boxes().get(box.key)
    assert found == (appraised and pytest.approx(appraised, abs=0.005))
    (finding,) = [item for item in checked.integrity if item.rule == "other-version"]
    assert ("1 entries have no place" in finding.what) == (appraised is None)
    if appraised is None:
        with pytest.raises(Refused) as refusal:
            redrafted(checked, small_record())
        assert [item.key for item in refusal.value.findings] == [box.key]


def test_rows_that_one_version_alone_has(tmp_path: Path) -> None:
    templates = "".join(cell.formula or "" for cell in book_of().cells())
    boxed = {cell.key for cell in book_of().boxes()}
    rows = (key.rsplit(".", 1)[0] for key in book_of().by_key if key.startswith("standing.") and key not in boxed)
    gone = next(row for row in rows if f"{{{row}." not in templates)

    def without(cell: Cell) -> Cell | None:
        return None if cell.key.startswith(f"{gone}.") else cell

    checked = check(drafted_by(tmp_path / "a.xlsx", without))
    assert rules(checked) == {"other-version": 1}
    assert checked.entries.values == READ


def test_redrafting_brings_it_up_to_date(tmp_path: Path) -> None:
    checked = check(drafted_by(tmp_path / "a.xlsx", other_net))
    made = redrafted(checked, small_record())
    # Some of its jobs are done: a new round of readings begins.
    expected = next_round(checked.appraisal)[0].as_boxes()
    assert {key: value for key, value in made.appraisal.entries.as_boxes().items() if value != ""} == expected


def test_the_same_version_with_another_draft_is_an_altered_record(tmp_path: Path) -> None:
    from estimator import __version__

    checked = check(drafted_by(tmp_path / "a.xlsx", other_net, __version__))
    assert rules(checked) == {"record-altered": 1}
    assert checked.entries.values == READ


OLD = sorted((ROOT / "tests" / "old_workbooks").glob("*.xlsx"))


def test_an_old_workbook_of_each_kind_is_kept() -> None:
    assert {path.stem for path in OLD} >= {"0.1.0-before", "0.1.0-road", "0.2.0-glycol-road", "0.2.0-mineral-road"}


@pytest.mark.parametrize("path", OLD, ids=lambda path: path.stem)
def test_a_workbook_of_each_version_still_reads_back(path: Path) -> None:
    """Every entry is read as the version that kept it had read it, and goes into the next revision."""
    kept = in_words_of_now(json.loads(path.with_suffix(".json").read_text(encoding="utf-8")))
    checked = check_workbook(path)
    better = {"state-changed": 1} if path.stem in BETTER_THEN else {}
    assert rules(checked) == {"other-version": 1} | better
    assert better == {} or checked.appraisal.standing_of[CheckRef("pedal-movement.car")].latest == NO_LIMIT
    version = path.stem.split("-", 1)[0]
    assert f"by version {version}" in checked.integrity[0].what
    assert_kept(checked.entries.values, kept, checked.carried.record)
    assert len(kept) > 250
    assert checked.entries.counts["not_understood"] == checked.entries.counts["not_found"] == 0
    again = redrafted(checked, checked.carried.record)
    assert is_over(checked.appraisal) == (path.stem in OVER)
    expected = in_the_next_round(kept, OVER[path.stem]) if path.stem in OVER else kept
    assert_kept(again.appraisal.entries.as_boxes(), expected, checked.carried.record, more=True)


def assert_kept(
    values: Mapping[str, object], kept: Mapping[str, object], record: JobRecord, more: bool = False
) -> None:
    """Whether entries are those that an earlier version had read: each under its key; those of parts in lines that name
    them, unless they are the listed quantity; initials once on a page; the number of a photo in the check's note."""
    now = as_kept(values)
    moved = {key for key in kept if key.startswith("part.") or key.endswith((".initials", ".photo"))}
    noted = {key.replace(".photo", ".note") for key in moved if key.endswith(".photo")}
    assert all(str(kept[key]) in str(now[key.replace(".photo", ".note")]) for key in moved if key.endswith(".photo"))
    assert all(str(kept.get(key, "")) in str(now[key]) for key in noted)
    same = {key: value for key, value in kept.items() if key not in moved | noted}
    assert now.items() >= same.items()
    others = {key for key in now.keys() - same.keys() if not key.endswith(".why_after")}
    assert more or not {key for key in others if not key.startswith(("change.", "page.")) and key not in noted}
    lines = {name: key.removesuffix(".part") for key, name in now.items() if key.endswith(".part")}
    listed = {f"part.{part.ref}.quantity": float(part.quantity) for part in plan(record).parts}
    for key in moved:
        block, ref, column = apart(key)
        if block == "part" and kept[key] != listed.get(key):
            assert now[f"{lines[ref]}.{column}"] == kept[key]
    initials = " ".join(str(value) for key, value in now.items() if ".initials_" in key)
    assert all(str(kept[key]) in initials for key in moved if key.endswith(".initials"))


def as_kept(values: Mapping[str, object]) -> dict[str, object]:
    return {key: str(value) if isinstance(value, date) else value for key, value in values.items() if value != ""}


# --- a state that would be worse today --------------------------------------------------------------------------------

BEST = "no do-not-drive finding in the checks made"
ROAD = ROOT / "tests/old_workbooks/0.1.0-road.xlsx"


def test_a_state_that_is_worse_by_present_rules_stops_letter_and_post(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The rule of today: a reading that needs a limit and has none on file grounds the car."""
    path = shutil.copy(ROAD, tmp_path / "old.xlsx")
    checked = check_workbook(path)
    assert checked.state == "unsound" and rules(checked)["state-changed"] == 1
    (finding,) = [item for item in checked.integrity if item.rule == "state-changed"]
    assert (finding.severity, finding.expected, finding.found) == ("stop", "DO NOT DRIVE", BEST)
    assert (
        (finding.tab, finding.key) == ("Summary", "state.driving.value") and finding.cell and "redraft" in finding.fix
    )
    assert main(["letter", str(path), "-o", str(tmp_path / "a.html")]) == 1
    assert main(["post", str(path), "--books", str(tmp_path / "books")]) == 1
    assert capsys.readouterr().err.count("by the rules of version") == 2 and not (tmp_path / "a.html").exists()
    assert main(["redraft", str(path), "-o", str(tmp_path / "next.xlsx")]) == 0, capsys.readouterr().err
    assert main(["letter", str(tmp_path / "next.xlsx"), "-o", str(tmp_path / "a.html")]) == 0
    assert "DO NOT DRIVE" in (tmp_path / "a.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("stage", "shown", "changed"),
    [
        ("before", BEST, True),
        ("before", "shop road test only", True),
        ("before", "ready to go", True),
        ("before", "DO NOT DRIVE", False),
        ("road", "DO NOT DRIVE", False),
    ],
)
def test_the_state_that_an_old_workbook_shows_is_held_to_present_rules(
    stage: str, shown: str, changed: bool, tmp_path: Path
) -> None:
    kept = ROOT / f"tests/old_workbooks/0.1.0-{stage}.xlsx"
    (cell,) = [f"{column}{row}" for row, column in state_cell(kept)]
    checked = check_workbook(with_cells(kept, tmp_path / "a.xlsx", {("Summary", cell): to_stored(shown)}))
    assert rules(checked) == {"other-version": 1} | ({"state-changed": 1} if changed else {})


def state_cell(path: Path) -> list[tuple[int, str]]:
    """Where the Summary of a workbook shows the state, read by another library."""
    sheet = openpyxl.load_workbook(path)["Summary"]
    return [
        (cell.row, cell.column_letter) for row in sheet.iter_rows() for cell in row if "shop road" in str(cell.value)
    ]
