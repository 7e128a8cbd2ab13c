"""What posted workbooks measured: kept with their entries, true after posting again and voiding, covered by verify."""

import datetime as dt
import sqlite3
from contextlib import closing

import pytest
from book_samples import posting, verify

from estimator.books import register
from estimator.books.post import post
from estimator.books.register import FILE_NAME
from estimator.books.visits import posted_visits
from estimator.books.voids import void
from estimator.records.visits import PastReading, PastVisit

DAY = dt.date(2026, 11, 25)


def visit(document="LY-2041", revision=1, precharge=6.4e6, serial="KR-1187", **more):
    readings = (
        PastReading(check="accumulator-serial.accumulator-1", phase="before", value=serial, verdict="recorded"),
        PastReading(
            check="precharge.accumulator-1",
            phase="before",
            value="928",
            unit="psi",
            verdict="within limits",
            si=precharge,
            u=3e4,
        ),
    )
    car = {"car": "Vardowe Longcourt", "chassis": "C6-004417", "car_id": "longcourt", **more}
    return PastVisit(document=document, revision=revision, before=DAY, after=DAY, readings=readings, **car)


def put(books, sold, *visits):
    found = post([sold], books, "T. Quill", today=DAY, reports=False, visits=visits)
    return found.documents[0]


def of_car(books, **more):
    return posted_visits(books, **{"chassis": "c6 004417", "car_id": "", **more})


@pytest.fixture
def books(tmp_path):
    put(tmp_path / "books", posting(), visit())
    return tmp_path / "books"


def test_a_visit_is_found_by_chassis_by_id_and_by_serial(books):
    put(books, posting("LY-2042"), visit("LY-2042", chassis="", car_id="other", serial="KR 0912"))
    assert of_car(books) == [visit()]
    assert of_car(books, chassis="", car_id="longcourt") == [visit()]
    assert [item.document for item in of_car(books, serials=("kr-0912",))] == ["LY-2041", "LY-2042"]
    assert of_car(books, chassis="", car_id="") == []
    assert verify(books) == ()


def test_an_empty_chassis_number_is_nobodys(books):
    put(books, posting("LY-2042"), visit("LY-2042", chassis="", car_id=""))
    assert posted_visits(books, "", "") == []


def test_the_same_readings_are_kept_once_and_corrected_ones_take_their_place(books):
    assert put(books, posting(), visit()).messages == ("posted before, in batch 1; nothing was added",)
    assert "brought up to date" in put(books, posting(), visit(precharge=6.1e6)).messages[0]
    assert [item.readings[1].si for item in of_car(books)] == [6.1e6]
    assert verify(books) == ()


def test_a_newer_revision_takes_the_place_of_the_older_ones_readings(books):
    put(books, posting(revision=2), visit(revision=2, precharge=5.9e6))
    assert [(item.revision, item.readings[1].si) for item in of_car(books)] == [(2, 5.9e6)]
    assert verify(books) == ()


def test_a_voided_document_leaves_the_history(books):
    void(books, "LY-2041", "typed for another car", "T. Quill", DAY, today=DAY, reports=False)
    assert of_car(books) == [] and verify(books) == ()
    put(books, posting(revision=2), visit(revision=2))
    assert of_car(books) == []  # a voided number stays void


def test_a_document_of_which_nothing_is_agreed_any_more_leaves_it_too(books):
    put(books, posting(lines=(), revision=2), visit(revision=2))
    assert of_car(books) == []


def test_posting_without_readings_keeps_none(tmp_path):
    put(tmp_path / "books", posting())
    assert of_car(tmp_path / "books") == [] and verify(tmp_path / "books") == ()


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE visits SET content = replace(content, '928', '982')",
        "UPDATE visits SET content = '{}'",
        "UPDATE visits SET chassis = 'C6004418'",
        "UPDATE visits SET car_id = 'another'",
        "UPDATE visit_serials SET serial = 'KR0912'",
        "DELETE FROM visit_serials",
    ],
)
def test_verify_finds_readings_that_were_changed(books, change):
    with closing(sqlite3.connect(books / FILE_NAME, isolation_level=None)) as connection:
        triggers = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'visit%'"
        ).fetchall()
        with pytest.raises(sqlite3.IntegrityError, match="only added to"):
            connection.execute(change)
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(change)
        for _, sql in triggers:
            connection.execute(sql)
    found = verify(books)
    assert found and all("readings kept with" in item.what for item in found), found


def test_books_of_the_version_before_are_read_and_brought_up_when_somebody_posts(tmp_path, monkeypatch):
    books = tmp_path / "books"
    monkeypatch.setattr(register, "SCHEMA_VERSION", 2)
    old = {number: tables for number, tables in register._STEPS.items() if number < 3}
    monkeypatch.setattr(register, "_STEPS", old)
    put(books, posting())
    monkeypatch.undo()
    assert of_car(books) == [] and verify(books) == ()
    put(books, posting("LY-2042"), visit("LY-2042"))
    assert [item.document for item in of_car(books)] == ["LY-2042"] and verify(books) == ()
