"""Books that were damaged or lost are named in words, and never a fault of the program.

A sample of flipped bits here; 1,500 under tests/long/.
"""

import random
import shutil
import sqlite3
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest
from book_samples import DAY, line, posting, revised
from test_payments import paid, shop  # noqa: F401
from test_post import TODAY, bytes_of, do_post

from estimator.books.month_files import month_files
from estimator.books.register import FILE_NAME, opened
from estimator.books.verify import verify
from estimator.books.voids import close_month, void
from estimator.cli.app import main
from estimator.errors import UnreadableFile

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]
import engines  # noqa: E402


@pytest.fixture(scope="module")
def kept(tmp_path_factory, shop):  # noqa: F811
    """Books with two months, two currencies, a payment, a void, and a month that is closed."""
    folder = tmp_path_factory.mktemp("kept")
    pounds = replace(posting("LY-2043", tax_kind="vat", parts=(("VAT", posting().tax_rate),)), currency="GBP")
    do_post([posting(), posting("LY-2042", level="line")], folder)
    do_post([revised(posting(), date=DAY.replace(month=12, day=3)), pounds], folder)
    paid(folder, shop, "200.00")
    void(folder, "LY-2042", "billed twice", "T. Quill", DAY, today=TODAY, reports=False)
    close_month(folder, "2026-11", "T. Quill", today=TODAY)
    do_post([posting()], folder, reports=True)
    assert verify(folder) == ()
    return folder


def whole(register: Path) -> list[str] | None:
    """All that a register says, or nothing where it can't be read."""
    try:
        with closing(sqlite3.connect(f"file:{register}?mode=ro", uri=True)) as connection:
            if connection.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
                return None
            return list(connection.iterdump())
    except (sqlite3.Error, UnicodeError):
        return None


def flip(kept: Path, folder: Path, times: int, seed: int) -> dict[str, int]:
    """Flip one bit at a time in a random file of the books; `books --verify` must end in findings, or nothing was lost."""
    rng, counts = random.Random(seed), {"register": 0, "files": 0, "slack": 0}
    books = Path(shutil.copytree(kept, folder / "books"))
    said = whole(books / FILE_NAME)
    files = sorted(path for path in books.rglob("*") if path.is_file())
    for _ in range(times):
        path = books / FILE_NAME if rng.random() < 0.7 else rng.choice(files)
        content = path.read_bytes()
        at = rng.randrange(len(content))
        path.write_bytes(content[:at] + bytes([content[at] ^ 1 << rng.randrange(8)]) + content[at + 1 :])
        status = main(["books", str(books), "--verify"])
        is_register = path.name == FILE_NAME
        if status == 0:
            assert is_register and whole(path) == said, (path.name, at)
            counts["slack"] += 1
        else:
            assert status == 1, (path.name, at, status)
            counts["register" if is_register else "files"] += 1
        path.write_bytes(content)
    return counts


def test_a_flipped_bit_ends_in_findings_and_never_in_a_fault(kept, tmp_path, capsys):
    found = flip(kept, tmp_path, 60, 1)
    assert found["register"] > 10 and found["files"] > 5


@pytest.mark.parametrize("left", ["missing", "empty"])
def test_a_lost_register_is_noticed(kept, tmp_path, left):
    books = Path(shutil.copytree(kept, tmp_path / "books"))
    (books / FILE_NAME).unlink()
    if left == "empty":
        (books / FILE_NAME).touch()
    before = bytes_of(books)
    with pytest.raises(UnreadableFile, match=f"the register is {left}, and files of books lie here") as refusal:
        do_post([posting("LY-2050")], books)
    assert refusal.value.exit_status == 66 and bytes_of(books) == before


def test_an_older_copy_of_the_register_is_noticed(kept, tmp_path):
    old, books = tmp_path / "old", Path(shutil.copytree(kept, tmp_path / "books"))
    do_post([posting()], old)
    shutil.copy(old / FILE_NAME, books / FILE_NAME)
    with pytest.raises(UnreadableFile, match="the register ends with batch 1, and files of batch 4 lie beside it"):
        do_post([posting("LY-2050")], books)
    assert any("files of batch 4 lie here" in finding.what for finding in verify(books))


def test_files_of_months_are_compared_by_content_and_made_again(kept, tmp_path):
    books = Path(shutil.copytree(kept, tmp_path / "books"))
    before = bytes_of(books)
    report, journal = books / "month-2026-12.xlsx", books / "month-2026-11-USD.csv"
    book = openpyxl.load_workbook(report)
    sheet = book["By account"]
    sheet["F4"].value += 1
    book.save(report)
    journal.write_bytes(journal.read_bytes().replace(b"161.50", b"161.51"))
    words = [finding.what for finding in verify(books)]
    assert [what.partition(":")[0] for what in words] == [report.name, journal.name]
    report.unlink()
    journal.unlink()
    assert [what.partition(":")[0] for what in (f.what for f in verify(books))] == [report.name, journal.name]
    assert do_post([posting("LY-2043")], books, reports=True).messages
    assert bytes_of(books).items() >= {(name, content) for name, content in before.items() if "2026-11" in name}


def test_a_months_journal_is_tidy(kept):
    """One header row, ISO dates, one currency, the rate beside each line; it balances, and is what the batches hold."""
    import pandas as pd

    table = pd.read_csv(kept / "month-2026-11-USD.csv", dtype={"entry_id": str})
    assert table["debit"].sum().round(2) == table["credit"].sum().round(2) > 0
    assert (
        set(table["currency"]) == {"USD"}
        and pd.to_datetime(table["entry_date"], format="%Y-%m-%d").dt.month.eq(11).all()
    )
    assert table["batch"].is_monotonic_increasing and set(table["batch"]) == {1, 3, 4}
    rates = table.dropna(subset="tax_code").groupby("tax_code")["tax_rate_percent"].unique().to_dict()
    assert {code: list(rate) for code, rate in rates.items()} == {
        **{"taxed": [8.875], "state": [6.25], "county": [2.625]}
    }
    batches = pd.concat(pd.read_csv(path) for path in sorted(kept.glob("journal-*.csv")))
    inside = batches[batches["entry_date"].str.startswith("2026-11") & (batches["currency"] == "USD")]
    assert table["entry_id"].tolist() == inside["entry_id"].tolist()
    assert table["debit"].tolist() == inside["debit"].tolist()


@engines.needs_libreoffice
def test_the_chart_of_a_month_is_on_one_page(tmp_path):
    jobs = [
        line(
            "labor",
            f"Job {n}",
            "1.0",
            "h",
            "95.00",
            True,
            f"job {n}",
            job_title=f"Job {n}",
            hours_alone=2.0,
            hours_in_visit=1.0,
        )
        for n in range(30)
    ]
    do_post([posting(lines=jobs)], tmp_path, reports=True)
    with opened(tmp_path) as connection:
        assert [item.name for item in month_files(connection)] == ["month-2026-11.xlsx", "month-2026-11-USD.csv"]
    pages = engines.pdf_text(engines.render_pdf(tmp_path / "month-2026-11.xlsx", tmp_path / "pdf")).split("\f")
    charts = [page for page in pages if "hours billed, by job" in page]
    assert len(charts) == 1 and "Job 0" in charts[0] and "Job 29" in charts[0]
