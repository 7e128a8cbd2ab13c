"""What stands in boxes, parsed once: every box has its place, nothing is lost, and keys are made in one module."""

from __future__ import annotations

import ast
import datetime as dt
import doctest
import importlib
from dataclasses import fields
from pathlib import Path

import pytest
from boxes_by_key import appraise_boxes, first_boxes
from strategies import demo_record, generated

import estimator
from estimator.boxes import keys
from estimator.boxes.entries import Entries
from estimator.workbook.compose import compose

PACKAGE = Path(estimator.__file__).parent
BLOCKS = {item.metadata["block"]: item.metadata["kind"] for item in fields(Entries)}
DEMOS = ("job.toml", "job_mineral.toml")


def boxes_of(name):
    record = demo_record(name)
    return {cell.key: cell.box for cell in compose(appraise_boxes(record, {})).boxes()}


@pytest.mark.parametrize("name", DEMOS)
def test_every_box_of_the_book_has_its_typed_place_and_every_place_its_box(name):
    in_book = {}
    for key in boxes_of(name):
        block, _, column = keys.apart(key)
        in_book.setdefault(block, set()).add(column)
    assert in_book == {block: {item.name for item in fields(kind)} for block, kind in BLOCKS.items()}


def test_a_number_box_is_a_number_in_its_type_and_a_list_is_words():
    takes = {"number": {"Number"}, "date": {"Day"}, "list": {"str", "Number"}, "text": {"str", "Number"}}
    for key, box in boxes_of(DEMOS[0]).items():
        block, _, column = keys.apart(key)
        declared = next(item.type for item in fields(BLOCKS[block]) if item.name == column)
        assert declared in takes[box.kind], key
        if declared == "Number" and box.kind in ("list", "text"):
            assert block == "reading" and column in ("before", "after"), key


@pytest.mark.parametrize("job", [*generated(3, 8)], ids=lambda job: job.temper)
def test_what_stands_in_the_boxes_comes_back_as_it_was(job):
    boxes = {key: value for key, value in job.entries.items() if value != ""}
    assert Entries.from_boxes(boxes).as_boxes() == boxes


@pytest.mark.parametrize("job", [*generated(3, 8)], ids=lambda job: job.temper)
def test_the_book_shows_what_stands_in_its_boxes(job):
    """Numbers, dates and words alike, words in a number box too."""
    cells = {cell.key: cell for cell in compose(appraise_boxes(job.record, job.entries)).boxes()}
    for key, value in job.entries.items():
        if key in cells:
            assert cells[key].value == value, key
    typed = {key for key, cell in cells.items() if cell.value not in (None, "")}
    assert typed <= set(job.entries)


def test_what_a_box_does_not_take_is_kept_as_words():
    typed = Entries.from_boxes(
        {
            "reading.precharge.accumulator-1.before": "1,050 psi",
            "extra_part.1.cost": "ten",
            "extra_part.1.description": 4711.0,
            "visit.before.date": dt.date(2026, 11, 25),
            "visit.after.date": "tomorrow",
            "reading.precharge.accumulator-1.of-another-version": "kept out",
            "another.block.column": 1.0,
        }
    )
    assert typed.readings[keys.check_ref("precharge", "accumulator-1")].before == "1,050 psi"
    assert typed.extra_parts["1"].cost == "ten" and typed.extra_parts["1"].description == "4711"
    assert typed.visits["before"].date == dt.date(2026, 11, 25) and typed.visits["after"].date == "tomorrow"
    assert typed.extra_parts["2"].cost == "" and len(typed.as_boxes()) == 5


def test_a_fresh_workbook_is_typed_as_its_boxes_take_it():
    for name in DEMOS:
        record = demo_record(name)
        first = first_boxes(record)
        assert set(first) <= set(boxes_of(name)) and Entries.from_boxes(first).as_boxes() == first


def made_of_pieces(path):
    """The f-strings of a file that begin like the key of a box."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
            block, dot, _ = str(node.values[0].value).partition(".")
            if dot and block in BLOCKS:
                yield f"{path.name}:{node.lineno}"


def test_keys_are_made_and_taken_apart_in_one_module():
    found = [place for path in PACKAGE.rglob("*.py") if path.name != "keys.py" for place in made_of_pieces(path)]
    assert found == []
    taken = [
        f"{path.name}:{number}"
        for path in PACKAGE.rglob("*.py")
        if path.name != "keys.py"
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        for block in BLOCKS
        if f'"{block}."' in line or f"'{block}." in line or f'get("{block}.' in line
    ]
    assert taken == []


def test_a_key_made_of_pieces_is_seen(tmp_path):
    (tmp_path / "bad.py").write_text('ref = "a.b"\nkey = f"reading.{ref}.before"\n', encoding="utf-8")
    assert list(made_of_pieces(tmp_path / "bad.py")) == ["bad.py:2"]


@pytest.mark.parametrize("name", ["boxes.keys", "boxes.entries"])
def test_examples_in_the_text_hold(name):
    found = doctest.testmod(importlib.import_module(f"estimator.{name}"))
    assert found.failed == 0 and found.attempted > 0
