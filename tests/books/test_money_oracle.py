"""Python, sheet, journal and UBL against integers and fractions: no cent of difference.

A fixed sample here; 100,000 documents, and 300 through LibreOffice, under tests/long/.
"""

import random
import sys
from pathlib import Path

import pytest
from book_samples import random_posting
from money_oracle import disagreements, documents_sheet

from estimator.books.csv_files import csv_bytes
from estimator.books.journal import COLUMNS
from estimator.books.ledger_entries import entry_of
from estimator.books.posting import canonical, digest
from estimator.books.ubl import Identity, ubl_document
from estimator.books.ubl_check import ubl_findings

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
engines = pytest.importorskip("engines")

SAMPLE = 600


def judge_documents(seeds):
    """What the oracle holds against the documents of these seeds."""
    faults = []
    for seed in seeds:
        document = random_posting(random.Random(seed), f"LY-{seed}")
        entry = entry_of(document, digest(canonical(document)), 1, 1)
        xml = ubl_document(document, Identity(entry.short_id, entry.date))
        faults += disagreements(document, csv_bytes(COLUMNS, entry.rows()), xml)
        faults += [finding.what for finding in ubl_findings(xml or b"")] if xml else []
    return faults


def sample(count, first=0):
    return [random_posting(random.Random(seed), f"LY-{seed}") for seed in range(first, first + count)]


def wrong_cells(expected, values):
    """Cells that differ by more than a hundred-millionth: money to far less than a cent."""
    return {cell: (want, values[cell]) for cell, want in expected.items() if abs(values[cell] - want) > 1e-9}


def test_python_journal_and_ubl_agree_with_the_oracle():
    assert judge_documents(range(SAMPLE)) == []


def test_the_sample_is_rich_in_exact_half_cents():
    from decimal import Decimal

    products = [line.quantity * line.unit_price for document in sample(SAMPLE) for line in document.lines]
    ties = [x for x in products if (x * 1000) % 10 == 5 and x * 1000 == int(x * 1000)]
    assert len(ties) > 400 and all((x * 200) % 1 == Decimal(0) for x in ties)


def test_the_oracle_finds_a_cent():
    document = random_posting(random.Random(3), "LY-3")
    entry = entry_of(document, "0" * 64, 1, 1)
    journal, xml = csv_bytes(COLUMNS, entry.rows()), ubl_document(document, Identity("LY-3", entry.date))
    assert disagreements(document, journal, xml) == []
    document.totals["total"] += document.lines[0].net / document.lines[0].net / 100
    assert disagreements(document, journal, xml)


def test_the_sheet_agrees_in_ironcalc(tmp_path):
    expected = documents_sheet(tmp_path / "money.xlsx", sample(120))
    assert wrong_cells(expected, engines.recalculate_with_ironcalc(tmp_path / "money.xlsx")) == {}


@engines.needs_libreoffice
def test_the_sheet_agrees_in_libreoffice(tmp_path):
    expected = documents_sheet(tmp_path / "money.xlsx", sample(320))
    (values,) = engines.recalculate_with_libreoffice([tmp_path / "money.xlsx"])
    assert wrong_cells(expected, values) == {}
