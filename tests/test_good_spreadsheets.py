"""Each rule of good spreadsheets catches what is planted against it; each row of the workbook's own check block trips."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import good_spreadsheets as rules
import pytest
from agreement import Drafted, drafted
from engines import Ironcalc
from lxml import etree
from returned_workbooks import small_record
from side_by_side import long_way
from strategies import WholeJob, entries_of
from written_file import MAIN, changed, edited, of_formula, read_file, to_formula, to_stored, to_value, with_markup

from estimator.workbook.book import Block, Book, Cell, Row
from estimator.workbook.layout import Layout
from estimator.workbook.placed_cells import column_letter

Plant = Callable[[Drafted, Path], Drafted]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Drafted:
    record = small_record()
    job = WholeJob(record, entries_of(record, "good twice", Random("sound")), "good twice")
    return drafted(job, tmp_path_factory.mktemp("rules") / "sound.xlsx")


def address(draft: Drafted, key: str) -> tuple[str, str]:
    tab, row, column = Layout(draft.book).address(key)
    return tab, f"{column_letter(column)}{row}"


# --- ways to plant: one cell, the markup of a part, the Book --------------------------------------------------------


def at(key: str, edit: Callable[[etree._Element], None]) -> Plant:
    def plant(draft: Drafted, out: Path) -> Drafted:
        return replace(draft, path=edited(draft.path, out, *address(draft, key), edit))

    return plant


def in_part(find: str, change: Callable[[etree._Element], None]) -> Plant:
    """The markup of a part, or of the sheet of that name, changed."""

    def plant(draft: Drafted, out: Path) -> Drafted:
        return replace(draft, path=with_markup(draft.path, out, {find: change}))

    return plant


def in_book(change: Callable[[Cell], Cell]) -> Plant:
    """Another Book beside the same file: the rules that ask the Book."""

    def plant(draft: Drafted, out: Path) -> Drafted:
        def rows(part: Block) -> tuple[Row, ...]:
            return tuple(replace(row, cells=tuple(map(change, row.cells))) for row in part.rows)

        def block(part: Block) -> Block:
            return replace(part, rows=rows(part))

        tabs = tuple(replace(tab, blocks=tuple(map(block, tab.blocks))) for tab in draft.book.tabs)
        return replace(draft, book=Book(draft.book.document, draft.book.revision, tabs))

    return plant


def with_part(name: str) -> Plant:
    def plant(draft: Drafted, out: Path) -> Drafted:
        return replace(draft, path=changed(draft.path, out, {}, {name: b"x"}))

    return plant


def append(tag: str, child: str, **attributes: str) -> Callable[[etree._Element], None]:
    def change(root: etree._Element) -> None:
        etree.SubElement(etree.SubElement(root, MAIN + tag), MAIN + child, attributes)

    return change


def without_one(tag: str) -> Callable[[etree._Element], None]:
    def change(root: etree._Element) -> None:
        item = next(root.iter(MAIN + tag))
        item.getparent().remove(item)

    return change


def every(tag: str, **attributes: str) -> Callable[[etree._Element], None]:
    def change(root: etree._Element) -> None:
        for item in root.iter(MAIN + tag):
            item.attrib.update(attributes)

    return change


def first(tag: str, **attributes: str) -> Callable[[etree._Element], None]:
    def change(root: etree._Element) -> None:
        next(root.iter(MAIN + tag)).attrib.update(attributes)

    return change


def formulas_below(root: etree._Element) -> None:
    """Columns of which the last rests on its neighbor by all others, below all that was drafted."""
    data = next(root.iter(MAIN + "sheetData"))
    rows: dict[str, etree._Element] = {}
    for address, formula in long_way(top=9001):
        number = address.lstrip("ABCDEFGHIJKL")
        if number not in rows:
            rows[number] = etree.SubElement(data, MAIN + "row", r=number)
        cell = etree.SubElement(rows[number], MAIN + "c", r=address)
        etree.SubElement(cell, MAIN + "f").text = formula


def as_error(cell: etree._Element) -> None:
    to_stored("#REF!")(cell)
    cell.set("t", "e")


def gone(words: str) -> Callable[[etree._Element], None]:
    def change(root: etree._Element) -> None:
        for text in root.iter(MAIN + "t"):
            text.text = (text.text or "").replace(words, "people")

    return change


def unit_of_limits(cell: Cell) -> Cell:
    return cell._replace(unit="", look="number-0") if cell.key.startswith("total.") else cell


def same_reference(cell: Cell) -> Cell:
    return cell._replace(value="the same") if cell.key.endswith(".label") and cell.key.startswith("state.") else cell


TOTAL = "total.total.agreed"
PLANTED: dict[str, list[Plant]] = {
    "only_plain_literals": [at(TOTAL, of_formula(lambda text: f"({text})*1.0775"))],
    "only_allowed_functions": [at(TOTAL, to_formula("NOW()")), at(TOTAL, to_formula('INDIRECT("A1")'))],
    "short_formulas": [
        at(TOTAL, to_formula("+".join(["$A$1"] * 30))),
        at(TOTAL, to_formula("IF(A1>0,IF(A2>0,IF(A3>0,MAX(A4,0),0),0),0)")),
    ],
    "one_pattern": [at("line.road-test.car.amount_agreed", of_formula(lambda text: f"{text}+0"))],
    "no_far_neighbors": [in_part("Workings", formulas_below)],
    "a_unit_for_each_number": [in_book(unit_of_limits)],
    "no_error_value": [at(TOTAL, as_error)],
    "text_is_text": [at("state.entered.label", to_formula("1+1")), at("state.entered.label", to_value("figures"))],
    "boxes_say_what_they_take": [
        in_part("Inspection", without_one("dataValidation")),
        in_part("Work", every("dataValidation", prompt="")),
    ],
    "only_boxes_are_open": [
        in_part("Work", without_one("sheetProtection")),
        in_part("xl/styles.xml", every("protection", locked="1")),
    ],
    "cautions_stand": [in_part("xl/sharedStrings.xml", gone("qualified people"))],
    "nothing_foreign": [with_part("xl/vbaProject.bin"), with_part("xl/externalLinks/externalLink1.xml")],
    "references_are_unique": [in_book(same_reference)],
    "inputs_stand_apart": [at("line.road-test.car.amount_agreed", to_value(100.0))],
    "nothing_merged": [in_part("Estimate", append("mergeCells", "mergeCell", ref="A1:B2"))],
    "names_fit_sheets": [
        in_part("xl/workbook.xml", first("sheet", name="A tab whose name is longer than 31 characters")),
        in_part("xl/workbook.xml", first("sheet", name="inspection")),
    ],
    "text_stands_out": [in_part("xl/styles.xml", every("color", rgb="FFBBBBBB"))],
    "two_fills": [
        in_part("xl/styles.xml", every("fgColor", rgb="FFCCFFCC")),
        in_part("xl/styles.xml", every("bgColor", rgb="FFFFCCCC")),
    ],
}


def broken(name: str, draft: Drafted) -> list[str]:
    rule = next(rule for rule in rules.RULES if rule.__name__ == name)
    return list(rule(rules.Read(draft, read_file(draft.path), Layout(draft.book), draft.cells)))


def test_the_sound_workbook_breaks_none(sound: Drafted) -> None:
    assert rules.broken_rules(sound) == []


@pytest.mark.parametrize("rule", rules.RULES, ids=lambda rule: rule.__name__)
def test_each_rule_catches_what_is_planted(rule: Callable, sound: Drafted, tmp_path: Path) -> None:
    for number, plant in enumerate(PLANTED[rule.__name__]):
        planted = plant(sound, tmp_path / f"{number}.xlsx")
        assert broken(rule.__name__, planted), f"{rule.__name__}: plant {number} isn't seen"


# --- the workbook's own check block -----------------------------------------------------------------------------------

TRIPS = {
    "shares": ("hour.quoted.proposed", 1.0),
    "balance": ("balance.all.debit", 123.45),
    "tax": ("tax_split.t1.share_agreed", 123.45),
    "parts": ("extra.extra_part.1.mixed", 1.0),
}


def test_each_row_of_the_check_block_trips_when_what_it_watches_is_wrong(sound: Drafted) -> None:
    """A number typed over one formula, as a person might; the block shows 1 for that row and for all."""
    own = {
        key.split(".")[1]: address(sound, key)
        for key in sound.book.by_key
        if key.startswith("self.") and key.endswith(".value")
    }
    assert set(own) == {*TRIPS, "all"}
    sound_values = Ironcalc(sound.path).values()
    assert [sound_values[place] for place in own.values()] == [0] * len(own)
    for name, (key, value) in TRIPS.items():
        book = Ironcalc(sound.path)
        watched = next(filter(re.compile(key.replace("*", ".+")).fullmatch, sound.book.by_key))
        book.type(address(sound, watched), value)
        values = book.values()
        assert values[own[name]] == 1 and values[own["all"]] >= 1, name
