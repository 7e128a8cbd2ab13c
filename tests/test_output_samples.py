"""What is kept in output_samples/ is what the demo produces."""

import json

import openpyxl
import pytest
from cli_runs import shared_demo

from estimator.demo.samples import ACCEPT, SAMPLES, TEXTS, WORKBOOKS, accept, differences, same, workbook_differences


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    return shared_demo(tmp_path_factory) / "demo"


def test_the_samples_are_what_the_demo_produces(made):
    found = differences(SAMPLES, made)
    assert not found, "\n".join([*found, f"if this is as it should be: {ACCEPT}"])


def test_the_samples_are_few_and_small():
    files = {path.relative_to(SAMPLES).as_posix(): path for path in SAMPLES.rglob("*") if path.is_file()}
    assert {*WORKBOOKS, *TEXTS} <= files.keys()
    assert sum(path.stat().st_size for path in files.values()) < 3_000_000


def test_a_changed_cell_is_named_by_its_key(made, tmp_path):
    """Held against openpyxl, which finds the cell and changes it."""
    book = openpyxl.load_workbook(made / WORKBOOKS[1])
    cell = next(cell for row in book["Inspection"].iter_rows() for cell in row if cell.value == 739)
    cell.value = 796
    book["Summary"]["A1"] = "Another title"
    book.save(tmp_path / "changed.xlsx")
    found = "\n".join(workbook_differences(made / WORKBOOKS[1], tmp_path / "changed.xlsx"))
    assert "summary_top.shop.c1: " in found and "→ Another title" in found
    assert "more" in found  # openpyxl stores no results of formulas: nearly every cell differs


def test_the_first_five_differences_and_the_number_of_the_others(made):
    found = workbook_differences(made / WORKBOOKS[0], made / WORKBOOKS[1])
    assert len(found) == 6 and "more" in found[5]
    assert all(line.startswith(f"{WORKBOOKS[0]}: ") for line in found)


def test_a_changed_byte_of_the_books_is_found_and_accepted(made, tmp_path):
    accept(made, tmp_path)
    assert differences(tmp_path, made) == []
    journal = tmp_path / TEXTS[0]
    journal.write_bytes(journal.read_bytes().replace(b"2744.40,0.00", b"2744.41,0.00", 1))
    (found,) = differences(tmp_path, made)
    assert found.startswith(f"{TEXTS[0]}: line 2: ")
    journal.unlink()
    (found,) = differences(tmp_path, made)
    assert found == f"{TEXTS[0]}: it isn't in {tmp_path}"


def test_numbers_are_the_same_to_a_billionth_of_their_size_and_no_further():
    assert same(2200.0, 2200.0 * (1 + 9e-10)) and not same(2200.0, 2200.0 * (1 + 2e-9))
    assert same(0, 0.0) and not same(0.0, 1e-300)
    assert not same(None, 0) and not same("", None) and not same({"a": 1}, {"b": 1}) and not same([1], [1, 1])


def test_the_data_package_describes_the_files_beside_it():
    package = json.loads((SAMPLES / TEXTS[2]).read_bytes())
    for resource in package["resources"]:
        assert (SAMPLES / "books" / resource["path"]).stat().st_size == resource["bytes"]
