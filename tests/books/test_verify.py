"""What was altered behind the program's back is found and named."""

import json
import sqlite3
from decimal import Decimal

import pytest
from book_samples import posting, revised, verify
from test_post import do_post

from estimator.books.listing import list_books, listing_data
from estimator.books.register import FILE_NAME


@pytest.fixture
def books(tmp_path):
    do_post([posting(), posting("LY-2042", level="line"), posting("LY-2043", tax_kind="none")], tmp_path)
    do_post([revised(posting())], tmp_path)
    assert verify(tmp_path) == ()
    return tmp_path


def tamper(books, *statements):
    """Alter the register as someone with a database program might: guards off, alteration, guards on again."""
    connection = sqlite3.connect(books / FILE_NAME)
    guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        assert connection.execute(statement).rowcount != 0, statement
    for _, sql in guards:
        connection.execute(sql)
    connection.commit()
    connection.close()


ALTERATIONS = {
    "a digest": ("UPDATE documents SET digest = '%s' WHERE id = 1" % ("0" * 64), "doesn't have its digest"),
    "a content": (
        "UPDATE documents SET content = replace(content, '184.35', '184.36') WHERE id = 1",
        "doesn't have its digest",
    ),
    "a customer": (
        "UPDATE documents SET content = replace(content, 'Odile', 'Ottile') WHERE id = 2",
        "doesn't have its digest",
    ),
    "no content": ("UPDATE documents SET content = '{}' WHERE id = 3", "can't be read"),
    "a cent": (
        "UPDATE entry_lines SET credit_cents = credit_cents + 1 WHERE entry = 1 AND line_no = 2",
        "doesn't balance",
    ),
    "a cent moved": (
        "UPDATE entry_lines SET credit_cents = credit_cents + CASE line_no WHEN 2 THEN 1 ELSE -1 END "
        "WHERE entry = 2 AND line_no IN (2, 3)",
        "aren't those of the document's content",
    ),
    "an account": ("UPDATE entry_lines SET account_code = '9999' WHERE entry = 1 AND line_no = 1", "fingerprint"),
    "a date": ("UPDATE entries SET entry_date = '2026-10-01' WHERE id = 1", "fingerprint"),
    "a dropped line": ("DELETE FROM entry_lines WHERE entry = 1 AND line_no = 2", "doesn't balance"),
    "a dropped entry": ("DELETE FROM entries WHERE id = 4", "refers to a row"),
    "a reversal": (
        "UPDATE entry_lines SET debit_cents = credit_cents, credit_cents = debit_cents WHERE entry = 4",
        "it reverses",
    ),
}


@pytest.mark.parametrize(("statement", "words"), ALTERATIONS.values(), ids=ALTERATIONS.keys())
def test_an_altered_register(books, statement, words):
    tamper(books, statement)
    findings = verify(books)
    assert any(words in finding.what for finding in findings), [finding.what for finding in findings]
    assert all(finding.rule in ("out-of-balance", "record-altered") and finding.fix for finding in findings)


def test_a_guard_taken_off(books):
    connection = sqlite3.connect(books / FILE_NAME)
    connection.execute("DROP TRIGGER entries_no_delete")
    connection.commit()
    connection.close()
    assert any("entries_no_delete" in finding.what for finding in verify(books))


def test_altered_missing_and_added_files(books):
    journal = books / "journal-000001.csv"
    content = journal.read_bytes()
    assert b",161.50," in content
    journal.write_bytes(content.replace(b",161.50,", b",161.51,", 1))
    words = [finding.what for finding in verify(books)]
    assert any("journal-000001.csv: the file isn't what the register gives" in what for what in words)
    assert any(what.startswith("account WORK, USD") for what in words)
    journal.write_bytes(content)
    (books / "journal-000009.csv").write_bytes(content)
    assert any(what.startswith("account DUE, USD") for what in (finding.what for finding in verify(books)))
    (books / "journal-000009.csv").write_bytes(b"a,b\r\n")
    assert any("columns" in finding.what for finding in verify(books))
    (books / "journal-000009.csv").unlink()
    for name in ("journal-000009.csv", "journal-000001 (2).csv"):
        (books / name).write_bytes(content)
        assert f"{name}: a journal that the register does not know" in [finding.what for finding in verify(books)]
        (books / name).unlink()
    for name in ("summary-000002.csv", "journal-000002.csv"):
        (books / name).unlink()
    for finding, name in zip(verify(books), ("journal-000002.csv", "summary-000002.csv"), strict=True):
        assert f"{name}: the file can't be read" in finding.what
        assert "verify again if someone is posting just now; post again otherwise" in finding.fix


def test_an_altered_ubl_document(books):
    path = next((books / "ubl").glob("000001-LY-2041*.xml"))
    path.write_bytes(path.read_bytes().replace(b">184.35<", b">184.36<", 1))
    words = [finding.what for finding in verify(books)]
    assert any("isn't what the register gives" in what for what in words)
    assert any("isn't its net" in what for what in words)


def test_a_damaged_database_is_refused_in_words(books):
    from estimator.errors import EstimatorError

    content = bytearray((books / FILE_NAME).read_bytes())
    content[5000:9000] = bytes(4000)
    (books / FILE_NAME).write_bytes(content)
    try:
        findings = verify(books)
    except EstimatorError as refusal:
        assert "sound register" in str(refusal)
    else:
        assert findings


def test_listing_by_document_month_and_account(books):
    later = revised(revised(posting()), date=posting().date.replace(month=12, day=2))
    do_post([later], books)
    listing = list_books(books)
    assert [(item.document, item.revision, len(item.entries)) for item in listing.documents] == [
        ("LY-2041", 3, 5),
        ("LY-2042", 1, 1),
        ("LY-2043", 1, 1),
    ]
    assert [(item.month, item.posted, item.reversed) for item in listing.months] == [
        ("2026-11", 4, 1),
        ("2026-12", 1, 1),
    ]
    assert sum(item.total for item in listing.months) == sum(item.total for item in listing.documents)
    assert all(item.debit == item.credit for item in listing.months)
    assert sum((item.balance for item in listing.accounts), Decimal(0)) == 0
    data = json.loads(json.dumps(listing_data(listing)))
    assert data["documents"][0]["total"] == f"{later.totals['total']}" and len(data["accounts"]) == len(
        listing.accounts
    )
    december = list_books(books, "2026-12")
    assert [item.document for item in december.documents] == ["LY-2041"] and len(december.documents[0].entries) == 2
