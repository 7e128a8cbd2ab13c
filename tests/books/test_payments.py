"""Money received: once each, balanced, and what remains open by the receivable account's own balance."""

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest
from book_samples import ACCOUNTS, DAY, Party, balances, posting, revised, verify
from test_core_deposits import settle
from test_post import TODAY, do_post, journals, judge

from estimator.books.document_steps import document_steps
from estimator.books.listing import list_books
from estimator.books.payments import pay
from estimator.books.voids import void
from estimator.errors import Refused
from estimator.intake.toml_files import load_toml
from estimator.records import Shop

D = Decimal
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def shop():
    read = load_toml(ROOT / "estimator/demo/files/shop.toml", Shop)
    accounts = read.accounts.model_copy(update={"receivable": " ".join((ACCOUNTS["receivable"].code, "Customers"))})
    return read.model_copy(update={"accounts": accounts})


def paid(books, shop, amount, way="card", date=DAY, document="LY-2041", **more):
    return pay(books, document, D(amount), way, date, shop, "T. Quill", today=TODAY, reports=False, **more)


def open_of(books, document="LY-2041"):
    return next(item.open for item in list_books(books).balances if item.document == document)


def test_a_payment_is_posted_once_and_lowers_the_open_balance(tmp_path, shop):
    do_post([posting()], tmp_path)
    total = posting().totals["total"]
    assert open_of(tmp_path) == total
    first = paid(tmp_path, shop, "200.00")
    assert first.documents[0].status == "posted" and f"open balance {total - 200} USD" in first.documents[0].messages[0]
    assert paid(tmp_path, shop, "200.00").documents[0].status == "already-posted"
    paid(tmp_path, shop, "200.00", another=True)
    paid(tmp_path, shop, "10.00", refund=True)
    settle(tmp_path, "returned")
    assert open_of(tmp_path) == balances(tmp_path)["DUE", "USD"] == total - 390 - D("45.00") - D("4.00")
    assert balances(tmp_path)["TILL", "USD"] == 390
    assert judge(*journals(tmp_path)).returncode == 0 and verify(tmp_path) == ()
    did = [step.did for step in document_steps(tmp_path, "LY-2041")]
    assert did[1:4] == ["received 200.00 USD, card"] * 2 + ["paid back 10.00 USD, card"]


def test_a_payment_that_bounced_is_voided(tmp_path, shop):
    do_post([posting()], tmp_path)
    number = paid(tmp_path, shop, "200.00", "check").documents[0].document
    void(tmp_path, number, "check returned unpaid", "T. Quill", DAY, today=TODAY, reports=False)
    assert open_of(tmp_path) == posting().totals["total"] == balances(tmp_path)["DUE", "USD"]
    assert verify(tmp_path) == ()


def test_a_deposit_before_the_invoice_belongs_to_its_customer(tmp_path, shop):
    with pytest.raises(Refused, match="no invoice on file"):
        do_post([posting("LY-1")], tmp_path)
        paid(tmp_path, shop, "300.00")
    paid(tmp_path, shop, "300.00", deposit_of="Odile Marchbank")
    assert open_of(tmp_path) == -300
    (refused,) = do_post([posting(customer=Party("Bram Tolliver", (), "GB"))], tmp_path).documents
    assert refused.status == "refused" and "belongs to customer" in refused.messages[0]
    do_post([posting()], tmp_path)
    assert open_of(tmp_path) == posting().totals["total"] - 300
    do_post([revised(posting())], tmp_path)
    assert open_of(tmp_path) == revised(posting()).totals["total"] - 300


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"amount": "0.00"}, "not an amount"),
        ({"amount": "1.005"}, "not an amount"),
        ({"amount": "-3.00"}, "not an amount"),
        ({"way": "beads"}, "not a way to pay"),
        ({"deposit_of": "Bram Tolliver"}, "belongs to customer"),
        ({"date": TODAY + dt.timedelta(days=1)}, "correct the items above"),
        ({"document": "LY-9"}, "no invoice on file"),
        ({"document": "LY 9", "deposit_of": "X"}, "does not balance"),
    ],
)
def test_what_cannot_be(tmp_path, shop, changes, words):
    do_post([posting()], tmp_path)
    before = list_books(tmp_path)
    with pytest.raises(Refused, match=words):
        paid(tmp_path, shop, **{"amount": "5.00", **changes})
    assert list_books(tmp_path) == before
