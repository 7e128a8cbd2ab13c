"""The month as a workbook: its sums are the books', and another library reads them."""

import io
import posixpath
import zipfile
from dataclasses import replace
from decimal import Decimal

import openpyxl
import pytest
from book_samples import DAY, posting, revised
from test_core_deposits import settle
from test_post import bytes_of, do_post

from estimator.books.listing import list_books


def report_name(month):
    return f"month-{month}.xlsx"


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("books")
    do_post([posting(), posting("LY-2042", taxed={"parts"}), posting("LY-C", kind="credit-note")], folder, reports=True)
    do_post([revised(posting())], folder, reports=True)
    settle(folder, "returned", date=DAY, reports=True)
    settle(folder, "expired", document="LY-2042", date=DAY.replace(month=12, day=30), reports=True)
    return folder


def sheets(path):
    return openpyxl.load_workbook(io.BytesIO(path.read_bytes()), data_only=True)


def rows(sheet):
    found = list(sheet.iter_rows(min_row=4, values_only=True))
    return [row for row in found if row[0] not in (None, "All")]


def test_one_report_a_month(books):
    assert sorted(path.name for path in books.glob("month-*.xlsx")) == ["month-2026-11.xlsx", "month-2026-12.xlsx"]


def test_accounts_agree_with_the_books(books):
    for month in ("2026-11", "2026-12"):
        listing = list_books(books, month)
        expected = [
            (x.code, x.name, x.currency, float(x.debit), float(x.credit), float(x.balance)) for x in listing.accounts
        ]
        assert rows(sheets(books / report_name(month))["By account"]) == expected


def test_jobs_classes_cores_and_documents(books):
    book = sheets(books / report_name("2026-11"))
    jobs = {row[0]: row for row in rows(book["By job"])}
    assert jobs["Accumulator exchange"][5:] == (2.2, 1.7, 0.5)  # two invoices less one credit note
    classes = {row[:2]: row[3] for row in rows(book["By tax class"])}
    assert classes["core", "taxed"] == pytest.approx(45.00 - 45.00 - 45.00) and classes["core", "untaxed"] == 45.00
    cores = {row[0]: row[2] for row in rows(book["Core deposits"])}
    assert cores == {"taken": 90.00, "returned": -45.00}
    december = {row[0]: row[2] for row in rows(sheets(books / report_name("2026-12"))["Core deposits"])}
    assert december == {"owed before": 45.00, "expired": -45.00}
    total = sum(Decimal(str(row[5])) for row in rows(book["Documents"]))
    assert total == list_books(books, "2026-11").months[0].total
    tax = sum(Decimal(str(row[2])) for row in rows(book["Tax"]))
    assert tax == list_books(books, "2026-11").months[0].tax


def test_totals_are_formulas_with_their_values_beside_them(books):
    content = (books / report_name("2026-11")).read_bytes()
    formulas, values = (openpyxl.load_workbook(io.BytesIO(content), data_only=only) for only in (False, True))
    seen = 0
    for sheet in formulas:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    first, last = cell.value.removeprefix("=SUM(").removesuffix(")").split(":")
                    parts = [item.value for (item,) in sheet[f"{first}:{last}"]]
                    assert values[sheet.title][cell.coordinate].value == pytest.approx(sum(parts), abs=1e-9)
                    seen += 1
    assert seen >= 10


def test_a_long_name_of_a_job_is_shown_whole(tmp_path):
    long = "Isolation test, one system: pump, charging valve, distribution valve, other circuits on the supply"
    sold = posting()
    do_post([replace(sold, lines=tuple(replace(item, job_title=long) for item in sold.lines))], tmp_path, reports=True)
    sheet = openpyxl.load_workbook(tmp_path / report_name("2026-11"))["By job"]
    name = next(cell for cell in sheet["A"] if cell.value == long)
    room = sheet.column_dimensions["A"].width * (sheet.row_dimensions[name.row].height or 15) / 15
    assert name.alignment.wrap_text and room > 1.2 * len(long)


def test_a_native_chart_with_words_for_those_who_cannot_see_it(books):
    with zipfile.ZipFile(books / report_name("2026-11")) as archive:
        names = archive.namelist()
        drawing = archive.read(next(name for name in names if posixpath.basename(name) == "drawing1.xml"))
    assert "xl/charts/chart1.xml" in names and b'descr="Bars for each kind of job' in drawing
    bare = [sheet.title for sheet in sheets(books / report_name("2026-11")) if sheet.max_row == 1]
    assert bare == ["Hours by job"], "no tab but that of the chart is without a table"


def test_renewed_when_a_later_batch_touches_the_month_and_not_otherwise(books):
    before = bytes_of(books)
    assert not any(
        name.startswith("month") for name in do_post([posting("LY-2042", taxed={"parts"})], books, reports=True).files
    )
    result = do_post([posting("LY-2050", date=DAY.replace(month=12, day=1))], books, reports=True)
    assert [name for name in result.files if name.startswith("month")] == [
        "month-2026-12.xlsx",
        "month-2026-12-USD.csv",
    ]
    assert bytes_of(books)["month-2026-11.xlsx"] == before["month-2026-11.xlsx"]
    (books / "month-2026-11.xlsx").write_bytes(b"torn")
    assert "month-2026-11.xlsx" in do_post([posting("LY-2042", taxed={"parts"})], books, reports=True).messages[0]
    assert bytes_of(books)["month-2026-11.xlsx"] == before["month-2026-11.xlsx"]
