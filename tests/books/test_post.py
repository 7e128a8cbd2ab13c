"""Posting: once each, reversed cleanly, never altered, and repaired where files are missing."""

import datetime as dt
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from book_samples import CUSTOMER, DAY, balances, line, posting, random_posting, revised, verify
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.books.ledger_entries import recorded
from estimator.books.listing import list_books
from estimator.books.post import post
from estimator.books.refusals import Override
from estimator.books.register import FILE_NAME, opened
from estimator.errors import CannotWrite, UnreadableFile

JUDGE = Path(__file__).resolve().parents[1] / "independent_ledger.py"
NOW = "2026-11-25T09:00:00+00:00"
BACK = Override(frozenset({"older-revision"}), "the later one was a mistake")
TODAY = dt.date(2027, 6, 30)


def do_post(postings, books, **more):
    return post(postings, books, "T. Quill", **{"now": NOW, "today": TODAY, "reports": False, **more})


def judge(*paths):
    return subprocess.run([sys.executable, "-I", JUDGE, *paths], capture_output=True, text=True)


def journals(books):
    return sorted(books.glob("journal-*.csv"))


def bytes_of(books):
    return {
        str(path.relative_to(books)): path.read_bytes()
        for path in books.rglob("*")
        if path.is_file() and path.suffix != ".sqlite"
    }


def test_posted_once(tmp_path):
    first = do_post([posting()], tmp_path)
    assert [item.status for item in first.documents] == ["posted"] and first.batch == 1
    before = bytes_of(tmp_path)
    again = do_post([posting()], tmp_path)
    assert [item.status for item in again.documents] == ["already-posted"]
    assert again.batch is None and again.files == () and bytes_of(tmp_path) == before
    assert again.documents[0].entry_id == first.documents[0].entry_id
    assert "nothing was added" in again.documents[0].messages[0]
    assert verify(tmp_path) == ()


def test_a_changed_revision_reverses_and_posts(tmp_path):
    first = posting()
    do_post([first], tmp_path)
    result = do_post([revised(first)], tmp_path)
    (document,) = result.documents
    assert document.status == "reversed-and-posted"
    assert list_books(tmp_path).documents[0].total == revised(first).totals["total"]
    assert len(list_books(tmp_path).documents[0].entries) == 3
    assert judge(*journals(tmp_path)).returncode == 0 and verify(tmp_path) == ()


def test_there_and_back_leaves_the_first_balance_and_the_whole_history(tmp_path):
    a, b = posting(), revised(posting())
    do_post([a], tmp_path)
    at_first = balances(tmp_path)
    for content in (b, a):
        do_post([content], tmp_path, override=BACK)
    assert balances(tmp_path) == at_first
    with opened(tmp_path) as connection:
        kinds = [(item.entry.number, item.entry.revision, item.entry.is_reversal) for item in recorded(connection)]
    assert kinds == [(1, 1, False), (2, 1, True), (3, 2, False), (4, 2, True), (5, 1, False)]
    assert judge(*journals(tmp_path)).stdout.startswith("accepted: 5 entries")
    assert verify(tmp_path) == ()


def test_a_reversal_is_dated_as_what_replaces_it_and_never_before_what_it_takes_back(tmp_path):
    later, earlier = DAY.replace(month=12, day=3), DAY.replace(day=1)
    first = posting()
    for content in (first, revised(first, date=later), revised(revised(first), date=earlier)):
        do_post([content], tmp_path)
    with opened(tmp_path) as connection:
        dates = [item.entry.date for item in recorded(connection)]
    assert dates == ["2026-11-25", "2026-12-03", "2026-12-03", "2026-12-03", "2026-11-01"]


def test_a_document_on_which_nothing_is_agreed(tmp_path):
    empty = posting(lines=(), revision=2)
    (document,) = do_post([empty], tmp_path).documents
    assert document.status == "refused" and "no authorized work" in document.messages[0]
    do_post([posting()], tmp_path)
    (document,) = do_post([empty], tmp_path).documents
    assert document.status == "reversed" and not document.entry_id
    assert set(balances(tmp_path).values()) == {0} and list_books(tmp_path).documents[0].standing == ""
    assert do_post([empty], tmp_path).batch is None
    assert do_post([posting()], tmp_path).documents[0].status == "posted"
    assert list_books(tmp_path).documents[0].total == posting().totals["total"]
    assert judge(*journals(tmp_path)).returncode == 0 and verify(tmp_path) == ()


def test_many_at_once_and_a_refused_one_among_them(tmp_path):
    good = [random_posting(random.Random(seed), f"LY-{seed}") for seed in range(6)]
    bad = replace(good[2], totals={**good[2].totals, "labor": Decimal("1.00")})
    result = do_post([*good[:2], bad, *good[3:]], tmp_path)
    assert [item.status for item in result.documents] == ["posted", "posted", "refused", "posted", "posted", "posted"]
    assert "LY-2 revision 1" in result.documents[2].messages[0]
    assert len(list_books(tmp_path).documents) == 5


def test_two_contents_of_one_revision_in_one_call_are_both_refused(tmp_path):
    one = posting()
    other = replace(revised(one), revision=1)
    assert [item.status for item in do_post([one, other], tmp_path).documents] == ["refused", "refused"]
    assert [item.status for item in do_post([one, one], tmp_path).documents] == ["posted", "already-posted"]


def test_revisions_in_one_call_are_posted_in_their_order(tmp_path):
    one = posting()
    result = do_post([revised(one), one], tmp_path)
    assert [item.status for item in result.documents] == ["reversed-and-posted", "posted"]
    assert list_books(tmp_path).documents[0].revision == 2


def test_files_are_the_same_to_the_byte_if_made_again(tmp_path):
    do_post([posting(), posting("LY-2042", tax_kind="none")], tmp_path, reports=True)
    do_post([revised(posting())], tmp_path, reports=True)
    before = bytes_of(tmp_path)
    assert {
        "month-2026-11.xlsx",
        "journal-000001.csv",
        "summary-000002.csv",
        "datapackage-000002.json",
    } <= before.keys()
    for name in before:
        (tmp_path / name).unlink()
    shutil.rmtree(tmp_path / "ubl")
    result = do_post([posting("LY-2042", tax_kind="none")], tmp_path, reports=True)
    assert "rebuilt from the register" in result.messages[0] and "journal-000001.csv" in result.messages[0]
    assert bytes_of(tmp_path) == before


@pytest.mark.parametrize("table", ["batches", "documents", "entries", "entry_lines"])
def test_rows_are_never_updated_deleted_or_replaced(tmp_path, table):
    do_post([posting()], tmp_path)
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    before = connection.execute(f"SELECT * FROM {table}").fetchall()
    attempts = [
        f"UPDATE {table} SET {columns[-1]} = {columns[-1]}",
        f"DELETE FROM {table}",
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        f"REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
        f"INSERT OR IGNORE INTO {table} SELECT * FROM {table}",
    ]
    for attempt in attempts:
        with pytest.raises(sqlite3.IntegrityError, match="only added to"):
            connection.execute(attempt)
    if table == "entries":
        with pytest.raises(sqlite3.IntegrityError, match="only added to"):
            connection.execute(
                "REPLACE INTO entries SELECT id + 99, batch, document_id, document, kind, number, "
                "entry_id || 'x', entry_date, currency FROM entries"
            )
    assert connection.execute(f"SELECT * FROM {table}").fetchall() == before
    connection.close()


def test_the_write_ahead_log_is_switched_off(tmp_path):
    do_post([posting()], tmp_path)
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert connection.execute("PRAGMA journal_mode=WAL").fetchone() == ("wal",)
    connection.close()
    do_post([posting("LY-2042")], tmp_path)
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    connection.close()
    assert not (tmp_path / f"{FILE_NAME}-wal").exists()


def test_someone_who_holds_the_register_is_named_in_words(tmp_path, monkeypatch):
    do_post([posting()], tmp_path)
    monkeypatch.setattr("estimator.books.register.WAIT_SECONDS", 0.1)
    holder = sqlite3.connect(tmp_path / FILE_NAME, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with pytest.raises(CannotWrite, match="The register is in use"):
        do_post([posting("LY-2042")], tmp_path)
    holder.execute("ROLLBACK")
    holder.close()
    assert do_post([posting("LY-2042")], tmp_path).documents[0].status == "posted"


@pytest.mark.parametrize(
    "content", [b"not a database, and long enough to be looked at" * 30, b"SQLite format 3\0" + b"\1" * 2000]
)
def test_another_file_in_the_place_of_the_register(tmp_path, content):
    (tmp_path / FILE_NAME).write_bytes(content)
    with pytest.raises(UnreadableFile) as refusal:
        do_post([posting()], tmp_path)
    assert refusal.value.exit_status == 65 and (tmp_path / FILE_NAME).read_bytes() == content


def test_a_database_of_something_else_is_left_alone(tmp_path):
    connection = sqlite3.connect(tmp_path / FILE_NAME)
    connection.execute("CREATE TABLE t (x)")
    connection.commit()
    connection.close()
    with pytest.raises(UnreadableFile, match="no register of books"):
        do_post([posting()], tmp_path)


def test_no_register_to_list(tmp_path):
    with pytest.raises(UnreadableFile) as refusal:
        list_books(tmp_path)
    assert refusal.value.exit_status == 66 and not list(tmp_path.iterdir())


def test_a_file_that_cannot_be_written_leaves_the_entries_in_the_register(tmp_path):
    (tmp_path / "journal-000001.csv").mkdir()
    (tmp_path / "summary-000001.csv").mkdir()
    (tmp_path / "ubl").write_bytes(b"in the way")
    with pytest.raises(CannotWrite, match="safe in the register") as refusal:
        do_post([posting()], tmp_path)
    assert refusal.value.exit_status == 73
    (tmp_path / "ubl").unlink()
    for name in ("journal-000001.csv", "summary-000001.csv"):
        (tmp_path / name).rmdir()
    result = do_post([posting()], tmp_path)
    assert result.documents[0].status == "already-posted" and "rebuilt from the register" in result.messages[0]
    assert verify(tmp_path) == ()


def test_what_a_stop_left_behind_is_taken_away_a_day_later(tmp_path):
    do_post([posting()], tmp_path)
    old, new = tmp_path / "ubl" / ".old.xml.k3.part", tmp_path / ".new.csv.k4.part"
    for path in (old, new):
        path.write_bytes(b"half")
    os.utime(old, (0, 0))
    do_post([posting()], tmp_path)
    assert not old.exists() and new.exists()


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 2), st.integers(0, 3)), min_size=1, max_size=12))
def test_whatever_the_order_the_last_content_of_each_document_stands(tmp_path_factory, turns):
    books = tmp_path_factory.mktemp("books")
    contents = {
        (d, c): random_posting(random.Random(10 * d + c), f"LY-{d}", revision=c + 1) for d in range(3) for c in range(4)
    }
    for turn in turns:
        do_post([contents[turn]], books, override=BACK)
    last = dict(turns)
    expected = {f"LY-{d}": contents[d, c].totals["total"] for d, c in last.items()}
    listing = list_books(books)
    assert {item.document: item.total for item in listing.documents} == expected
    owed = sum(expected.values())
    assert balances(books).get(("DUE", "USD"), 0) == owed
    assert judge(*journals(books)).returncode == 0


def test_text_that_a_spreadsheet_would_run_is_written_as_text(tmp_path):
    hostile = line("parts", "=cmd|' /C calc'!A0", 1, "each", "5.00", True)
    customer = replace(CUSTOMER, name='@SUM(1)\r\n"Fen", Mill')
    do_post([posting(lines=(hostile,), customer=customer, declined_safety=("+1 hose", "-2"))], tmp_path)
    summary = (tmp_path / "summary-000001.csv").read_text(encoding="utf-8")
    assert '"\'@SUM(1)  ""Fen"", Mill"' in summary and "'+1 hose; -2" in summary
    assert judge(*journals(tmp_path)).returncode == 0
