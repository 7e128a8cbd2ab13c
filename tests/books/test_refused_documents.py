"""A number is used once, work that isn't done isn't invoiced, dates are neither to come nor in a closed month."""

import datetime as dt
import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from book_samples import CUSTOMER, DAY, SELLER, Party, balances, posting, revised, verify
from test_post import bytes_of, do_post, journals, judge

from estimator.books.document_steps import document_steps
from estimator.books.listing import list_books
from estimator.books.refusals import OVERRIDES, Override
from estimator.books.register import FILE_NAME
from estimator.books.voids import close_month, void
from estimator.errors import Refused

DECEMBER = dt.date(2026, 12, 8)
OTHERS = {
    "customer": {"customer": Party("Bram Tolliver", (), "GB")},
    "car": {"car_text": "Ardene Parlour, 1968, chassis 77"},
    "seller": {"seller": replace(SELLER, name="Lantern Yard Two")},
    "tax number": {"seller": replace(SELLER, tax_id="GB987654321")},
    "currency": {"currency": "GBP"},
}


def allowed(*rules):
    return Override(frozenset(rules), "entered twice at the desk")


@pytest.mark.parametrize("what", OTHERS)
@pytest.mark.parametrize("gone", [False, True])
def test_a_number_is_used_once(what, gone, tmp_path):
    """Another customer's, car's, seller's or currency's document takes nothing back, even where the first is gone."""
    do_post([posting()], tmp_path)
    if gone:
        do_post([posting(lines=())], tmp_path)
    before, files = balances(tmp_path), bytes_of(tmp_path)
    other = replace(revised(posting()), **OTHERS[what])
    (refused,) = do_post([other], tmp_path).documents
    assert refused.status == "refused" and f"this number belongs to {what}" in refused.messages[0]
    assert (balances(tmp_path), bytes_of(tmp_path)) == (before, files)
    (posted,) = do_post([other], tmp_path, override=allowed("number-reused")).documents
    assert posted.status == ("posted" if gone else "reversed-and-posted")
    assert "number-reused overridden by T. Quill" in document_steps(tmp_path, "LY-2041")[-1].did
    assert "entered twice at the desk" in document_steps(tmp_path, "LY-2041")[-1].did and verify(tmp_path) == ()


def test_the_same_name_written_with_other_blanks_and_letters_is_the_same(tmp_path):
    do_post([posting()], tmp_path)
    other = revised(posting(), customer=replace(CUSTOMER, name="odile  MARCHBANK"))
    assert do_post([other], tmp_path).documents[0].status == "reversed-and-posted"


def test_two_customers_with_one_number_in_one_call_are_both_refused(tmp_path):
    other = replace(revised(posting()), **OTHERS["customer"])
    result = do_post([posting(), other, posting("LY-9")], tmp_path)
    assert [item.status for item in result.documents] == ["refused", "refused", "posted"]


def test_an_older_revision_is_refused_also_after_the_newer_one_was_taken_back(tmp_path):
    newer = revised(posting())
    do_post([newer], tmp_path)
    for _ in range(2):
        (refused,) = do_post([posting()], tmp_path).documents
        assert refused.status == "refused" and "LY-2041 revision 1: revision 2 was posted" in refused.messages[0]
        do_post([replace(posting(lines=()), revision=2)], tmp_path)
    assert do_post([posting()], tmp_path, override=allowed("older-revision")).documents[0].status == "posted"


def test_work_that_is_not_done_is_not_invoiced_unless_said(tmp_path):
    (refused,) = do_post([posting()], tmp_path, undone={"LY-2041"}).documents
    assert refused.status == "refused" and "an invoice bills completed work only" in refused.messages[0]
    said = allowed("work-not-done", "older-revision")
    assert do_post([posting()], tmp_path, undone={"LY-2041"}, override=said).documents[0].status == "posted"
    did = document_steps(tmp_path, "LY-2041")[0].did
    assert "work-not-done overridden" in did and "older-revision" not in did  # only what was needed
    again = do_post([posting()], tmp_path, undone={"LY-2041"})
    assert again.documents[0].status == "already-posted"


def test_an_override_needs_a_known_rule_and_a_reason():
    with pytest.raises(Refused, match="needs a reason"):
        Override(frozenset(OVERRIDES), " ")
    with pytest.raises(Refused, match="month-closed cannot be overridden"):
        Override(frozenset({"month-closed"}), "because")


def test_a_date_to_come(tmp_path):
    (refused,) = do_post([posting()], tmp_path, today=DAY - dt.timedelta(days=1)).documents
    assert refused.status == "refused" and "up to today" in refused.messages[0]
    assert do_post([posting()], tmp_path, today=DAY).documents[0].status == "posted"


def test_a_document_without_a_date_of_its_own_keeps_that_of_its_entry(tmp_path):
    do_post([posting()], tmp_path)
    later = posting(date=DECEMBER)
    assert do_post([later], tmp_path, dated=False).documents[0].status == "already-posted"
    assert do_post([later], tmp_path, dated=True).documents[0].status == "reversed-and-posted"


def test_nothing_is_posted_into_a_closed_month(tmp_path):
    do_post([posting()], tmp_path)
    with pytest.raises(Refused, match="2026-12 is not over"):
        close_month(tmp_path, "2026-12", "T. Quill", today=DECEMBER)
    close_month(tmp_path, "2026-11", "T. Quill", today=DECEMBER)
    with pytest.raises(Refused, match="closed through 2026-11 already"):
        close_month(tmp_path, "2026-10", "T. Quill", today=DECEMBER)
    before = list_books(tmp_path, "2026-11").months
    for date in (DAY, DAY.replace(month=10)):
        (refused,) = do_post([revised(posting(), date=date)], tmp_path).documents
        assert refused.status == "refused" and "closed through 2026-11" in refused.messages[0]
    assert do_post([posting()], tmp_path).documents[0].status == "already-posted"
    assert do_post([revised(posting(), date=DECEMBER)], tmp_path).documents[0].status == "reversed-and-posted"
    assert list_books(tmp_path, "2026-11").months == before and list_books(tmp_path).closed_through == "2026-11"
    assert verify(tmp_path) == ()


def test_a_document_is_voided_with_a_reason_and_its_number_is_not_used_again(tmp_path):
    do_post([posting()], tmp_path)
    with pytest.raises(Refused, match="needs a reason"):
        void(tmp_path, "LY-2041", " ", "T. Quill", DAY, today=DAY, reports=False)
    with pytest.raises(Refused, match="nothing to void"):
        void(tmp_path, "LY-9", "why", "T. Quill", DAY, today=DAY, reports=False)
    result = void(tmp_path, "LY-2041", "billed to the wrong car", "T. Quill", DECEMBER, today=DECEMBER, reports=False)
    assert result.documents[0].status == "voided" and set(balances(tmp_path).values()) == {0}
    last = document_steps(tmp_path, "LY-2041")[-1]
    assert last.date == "2026-12-08" and "voided by T. Quill" in last.did and "billed to the wrong car" in last.did
    (refused,) = do_post([posting()], tmp_path).documents
    assert refused.status == "refused" and "was voided" in refused.messages[0]
    assert do_post([posting()], tmp_path, override=allowed("document-voided")).documents[0].status == "posted"
    assert judge(*journals(tmp_path)).returncode == 0 and verify(tmp_path) == ()


def test_what_turns_or_hides_text_stays_out_of_every_file(tmp_path):
    hidden = "\u202e\u2066\u200b\ufeff\u2028\x0b"
    customer = replace(CUSTOMER, name=f"Odile {hidden}Marchbank")
    sly = replace(posting(customer=customer, cautions=(f"{hidden}a",)), car_text=f"Car{hidden}")
    (document,) = do_post([sly], tmp_path, reports=True).documents
    assert document.status == "posted"
    for path in tmp_path.rglob("*"):
        if path.suffix in (".csv", ".xml", ".json"):
            text = path.read_text(encoding="utf-8")
            assert not set(hidden) & set(text), path
    assert verify(tmp_path) == ()


def test_books_kept_by_the_first_version_are_read_and_brought_up(tmp_path):
    """A register without acts and visits: read as it is, and given the tables when somebody posts."""
    do_post([posting()], tmp_path)
    with closing(sqlite3.connect(tmp_path / FILE_NAME)) as connection:
        for table in ("visit_serials", "visits", "acts"):
            connection.execute(f"DROP TABLE {table}")
        connection.execute("PRAGMA user_version=1")
        connection.commit()
    before = (tmp_path / FILE_NAME).read_bytes()
    assert verify(tmp_path) == () and list_books(tmp_path).documents and len(document_steps(tmp_path, "LY-2041")) == 1
    assert (tmp_path / FILE_NAME).read_bytes() == before
    assert do_post([posting()], tmp_path).documents[0].status == "already-posted"
    close_month(tmp_path, "2026-11", "T. Quill", today=DECEMBER)
    assert verify(tmp_path) == ()
