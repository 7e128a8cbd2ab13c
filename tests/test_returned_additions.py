"""What people add to a workbook: notes in margins, comments, tabs, copies of tabs; and what they take away with a tab
or a sheet's protection. Nothing of it is lost in silence."""

import re
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree
from openpyxl import load_workbook
from openpyxl.comments import Comment
from returned_workbooks import (
    address_of,
    book_of,
    check,
    edited_in_engine,
    entries_of,
    parts_of_tabs,
    rules,
    small_record,
    with_cells,
    write,
)
from written_file import FORMULA, VALUE, changed, to_value

from estimator.appraise import appraise
from estimator.boxes.entries import Entries
from estimator.cli.app import main
from estimator.errors import EXIT_FAULT
from estimator.readback import write_verified
from estimator.readback.added_texts import added_texts, with_added_texts
from estimator.workbook.book import Book
from estimator.workbook.compose import compose
from estimator.workbook.write import workbook_bytes

SEED = 3
READ = entries_of(small_record, SEED)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("returned") / "sound.xlsx", seed=SEED)


def test_a_note_in_the_margin_is_kept_for_the_next_workbook(sound: Path, tmp_path: Path) -> None:
    places = {("Inspection", "AA7"): to_value("ask T. Quill about the hose"), ("Workings", "ZZ900"): to_value(12.5)}
    checked = check(with_cells(sound, tmp_path / "a.xlsx", places))
    assert checked.state == "sound" and rules(checked, "note") == {"text-added": 2}
    notes = " ".join(added_texts(checked))
    assert "AA7 ask T. Quill about the hose" in notes and "ZZ900 12.5" in notes
    assert checked.entries.values == READ


def test_a_number_among_the_cells_of_a_block_is_no_note(sound: Path, tmp_path: Path) -> None:
    def type_between(engine: object) -> None:
        row = int(address_of(next(key for key in book_of().by_key if key.startswith("part.")))[1].lstrip("ABCDEFGH"))
        engine.model.insert_rows(engine.tabs["Work"], row + 2, 1)
        column = address_of(
            next(key for key in book_of().by_key if key.startswith("part.") and key.endswith(".amount"))
        )
        engine.type("Work", re.sub(r"\d+", str(row + 2), column[1]), "1000")

    checked = check(edited_in_engine(sound, tmp_path / "a.xlsx", type_between))
    assert checked.state == "unsound"
    (finding,) = [item for item in checked.integrity if item.rule == "text-added"]
    assert finding.severity == "warn" and "sums" in finding.what and finding.found == "1000"


def test_comments_and_added_tabs_are_kept(sound: Path, tmp_path: Path) -> None:
    book = load_workbook(sound)
    book["Inspection"]["B9"].comment = Comment("sounds dry", "I. Fenwright")
    extra = book.create_sheet("phone calls")
    extra["A1"], extra["B2"] = "will call back", "=1+1"
    book.save(tmp_path / "a.xlsx")
    checked = check(tmp_path / "a.xlsx")
    notes = " ".join(added_texts(checked))
    assert "B9 sounds dry" in notes and "A1 will call back" in notes and "=1+1" in notes
    assert set(rules(checked)) == {"values-absent"}


def test_many_added_cells_are_said_together_and_all_kept(sound: Path, tmp_path: Path) -> None:
    places = {("Summary", f"AB{number}"): to_value(f"line {number}") for number in range(1, 301)}
    checked = check(with_cells(sound, tmp_path / "a.xlsx", places))
    assert rules(checked, "note") == {"text-added": 201} and checked.state == "sound"
    notes = " ".join(added_texts(checked))
    assert all(f"line {number}" in notes for number in (1, 200, 201, 300))


def test_a_copied_tab_is_not_read_and_says_what_was_typed_into_it(sound: Path, tmp_path: Path) -> None:
    box = next(cell.key for cell in book_of().boxes() if cell.key.startswith("change.") and cell.box.kind == "text")

    def copy(engine: object) -> None:
        engine.model.duplicate_sheet(engine.tabs["Work"])
        engine.refresh()
        (name,) = [name for name in engine.tabs if name.startswith("Work") and name not in ("Work", "Workings")]
        engine.type(name, address_of(box)[1], "typed into the copy")

    checked = check(edited_in_engine(sound, tmp_path / "a.xlsx", copy))
    assert checked.entries.values == READ
    (finding,) = [item for item in checked.integrity if item.rule == "text-added"]
    assert finding.severity == "warn" and "copy" in finding.what and finding.found.endswith("typed into the copy")
    assert "typed into the copy" in " ".join(added_texts(checked))


def without_tab(path: Path, out: Path, tab: str) -> Path:
    """A copy without a tab; formulas that named it show #REF!, as spreadsheet programs leave them."""

    def change(xml: bytes) -> bytes:
        root = etree.fromstring(xml)
        for formula in root.iter(FORMULA):
            if f"{tab}!" in (formula.text or ""):
                formula.text = formula.text.replace(f"{tab}!", "#REF!")
                cell = formula.getparent()
                cell.set("t", "e")
                stored = cell.find(VALUE)
                (etree.SubElement(cell, VALUE) if stored is None else stored).text = "#REF!"
        return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)

    parts = parts_of_tabs(path)
    changes = {part: change for name, part in parts.items() if name != tab}
    name = tab.encode()
    changes["xl/workbook.xml"] = lambda xml: re.sub(
        rb"<definedNames>.*</definedNames>", b"", re.sub(rb'<sheet name="' + name + rb'"[^>]*/>', b"", xml)
    )
    return changed(path, out, changes)


@pytest.mark.parametrize("tab", ["Basis", "Work", "Journal"])
def test_a_deleted_tab_is_one_finding(tab: str, sound: Path, tmp_path: Path) -> None:
    checked = check(without_tab(sound, tmp_path / "a.xlsx", tab))
    (finding,) = [item for item in checked.integrity if item.severity == "stop"]
    assert (finding.rule, finding.tab) == ("tab-missing", tab)
    boxes = sum(1 for cell in book_of().boxes() if address_of(cell.key)[0] == tab)
    assert checked.entries.counts["not_found"] == boxes
    gone = {cell.key for cell in book_of().boxes() if address_of(cell.key)[0] == tab}
    assert checked.entries.values == {key: value for key, value in READ.items() if key not in gone}


def test_two_tabs_that_may_each_be_it(sound: Path, tmp_path: Path) -> None:
    def copy(engine: object) -> None:
        engine.model.duplicate_sheet(engine.tabs["Journal"])
        engine.model.rename_sheet(engine.tabs["Journal"], "first")

    checked = check(edited_in_engine(sound, tmp_path / "a.xlsx", copy))
    (finding,) = [item for item in checked.integrity if item.rule == "tab-missing"]
    assert "may each be" in finding.what and checked.state == "unsound"


def test_protection_taken_off_is_said_and_no_more(sound: Path, tmp_path: Path) -> None:
    def lift(xml: bytes) -> bytes:
        return re.sub(rb"<sheetProtection[^>]*/>", b"", xml)

    checked = check(changed(sound, tmp_path / "a.xlsx", dict.fromkeys(parts_of_tabs(sound).values(), lift)))
    (finding,) = [item for item in checked.findings if item.rule == "protection-off"]
    assert finding.severity == "note" and checked.state == "sound"


def test_hidden_tabs_and_links_change_nothing(sound: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(sound) as book:
        assert book.read("xl/workbook.xml").count(b' state="hidden"') == sum(tab.hidden for tab in book_of().tabs) > 1
    hide = {"xl/workbook.xml": lambda xml: xml.replace(b' state="hidden"', b' state="veryHidden"')}
    added = {"xl/externalLinks/externalLink1.xml": b"<externalLink/>", "xl/media/image1.png": b"picture"}
    checked = check(changed(sound, tmp_path / "a.xlsx", hide, added))
    assert checked.state == "sound", [item.line() for item in checked.integrity]
    assert any("not followed" in finding.what for finding in checked.findings if finding.rule == "text-added")


@pytest.mark.parametrize("shift", range(5))
def test_a_long_note_makes_a_workbook_that_reads_back_as_sound(shift: int, sound: Path, tmp_path: Path) -> None:
    """Cut into notes, one of these ends or begins with a blank, which the record that holds them would lose."""
    text = "x" * shift + "pump noisy when cold   " + "wait " * 900
    checked = check(with_cells(sound, tmp_path / "a.xlsx", {("Summary", "AB1"): to_value(text)}))
    record = with_added_texts(checked.carried.record, checked)
    assert sum(map(len, record.job.shop_notes)) > 4000
    again = tmp_path / "b.xlsx"
    again.write_bytes(workbook_bytes(compose(appraise(record, Entries.from_boxes(checked.entries.values)))))
    assert rules(check(again), "warn") == {}


def test_a_workbook_that_does_not_read_back_is_a_fault_and_keeps_the_old_file(
    sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out, entries = tmp_path / "out.xlsx", tmp_path / "entries.csv"
    out.write_bytes(b"the old file")
    entries.write_text("key,value,unit,note\n")
    monkeypatch.setattr(write_verified, "workbook_bytes", _with_a_wrong_total)
    assert main(["fill", str(sound), str(entries), "-o", str(out), "--force"]) == EXIT_FAULT
    assert "internal error (NotReadBack" in capsys.readouterr().err
    assert out.read_bytes() == b"the old file"
    assert sorted(item.name for item in tmp_path.iterdir()) == ["entries.csv", "out.xlsx"]


def _with_a_wrong_total(book: Book) -> bytes:
    tab = next(tab for tab in book.tabs if tab.name == "Estimate")
    part = next(part for part in tab.blocks for row in part.rows for cell in row.cells if cell.formula)
    rows = tuple(
        replace(row, cells=tuple(cell._replace(value=1.23) if cell.formula else cell for cell in row.cells))
        for row in part.rows
    )
    blocks = tuple(replace(part, rows=rows) if other is part else other for other in tab.blocks)
    tabs = tuple(replace(tab, blocks=blocks) if other is tab else other for other in book.tabs)
    return workbook_bytes(replace(book, tabs=tabs))
