"""Core deposits over their life: owed, returned, refused, expired, kept; each posted once, the tax to the cent."""

import datetime as dt
import random
from decimal import Decimal

import pytest
from book_samples import ACCOUNTS, DAY, TWO_PARTS, balances, line, posting, revised, verify
from hypothesis import given, settings
from hypothesis import strategies as st
from test_post import NOW, TODAY, do_post, journals, judge
from test_ubl import schema_faults

from estimator.books.core_deposits import core_deposits, settle_core, short_refs
from estimator.books.listing import list_books
from estimator.books.ubl_check import ubl_findings
from estimator.errors import Refused
from estimator.pricing.fees_and_tax import tax_on

D = Decimal
LATER = DAY + dt.timedelta(days=20)


def settle(books, outcome, ref="core 1", document="LY-2041", date=LATER, **more):
    return settle_core(
        books,
        document,
        ref,
        outcome,
        date,
        ACCOUNTS,
        "T. Quill",
        **{"now": NOW, "today": TODAY, "reports": False, **more},
    )


@pytest.fixture
def books(tmp_path):
    do_post([posting()], tmp_path)
    return tmp_path


def states(books):
    return [(unit.ref, unit.unit, unit.deposit, unit.state) for unit in core_deposits(books)]


def test_owed_until_something_becomes_of_it(books):
    assert states(books) == [("core 1", 1, D("45.00"), "owed")]
    assert balances(books)["CORE-HELD", "USD"] == D("-45.00")


def test_returned_gives_back_deposit_and_the_difference_of_two_taxes(books):
    result = settle(books, "returned")
    document = posting()
    without = [item for item in document.lines if item.kind != "core"]
    tax = document.totals["tax"] - tax_on(without, TWO_PARTS).amount
    assert result.documents[0].status == "posted"
    assert core_deposits(books)[0].tax_back == tax == D("4.00")  # a rate on the deposit alone would give 3.99
    assert balances(books)["CORE-HELD", "USD"] == 0
    assert balances(books)["DUE", "USD"] == document.totals["total"] - D("45.00") - tax
    (name,) = [name for name in result.files if name.startswith("ubl/")]
    xml = (books / name).read_bytes()
    assert b"<CreditNote " in xml and b"<cbc:ID>LY-2041-r1-001</cbc:ID>" in xml
    assert schema_faults(xml) == [] and ubl_findings(xml) == ()
    assert judge(*journals(books)).returncode == 0 and verify(books) == ()


def test_tax_stays_where_the_shop_says_so(books):
    """A tax agency's example keeps the tax on the deposit."""
    settle(books, "returned", tax_back=False)
    assert core_deposits(books)[0].tax_back == 0
    assert balances(books)["DUE", "USD"] == posting().totals["total"] - D("45.00")
    assert verify(books) == ()


@pytest.mark.parametrize("outcome", ["refused", "expired", "kept"])
def test_what_is_not_given_back(books, outcome):
    result = settle(books, outcome)
    assert balances(books)["CORE-HELD", "USD"] == 0 and balances(books)["CORE-KEPT", "USD"] == D("-45.00")
    assert balances(books)["DUE", "USD"] == posting().totals["total"]
    assert not any(name.startswith("ubl/") for name in result.files)
    assert states(books)[0][3] == outcome
    assert judge(*journals(books)).returncode == 0 and verify(books) == ()


def test_once(books):
    first = settle(books, "returned")
    again = settle(books, "returned", date=LATER + dt.timedelta(days=3))
    assert again.documents[0].status == "already-posted" and again.batch is None
    assert again.documents[0].entry_id == first.documents[0].entry_id


def test_a_changed_outcome_reverses_the_entry_before_it(books):
    settle(books, "expired")
    assert settle(books, "returned").documents[0].status == "reversed-and-posted"
    assert states(books)[0][3] == "returned" and balances(books).get(("CORE-KEPT", "USD"), 0) == 0
    settle(books, "kept")
    assert balances(books)["CORE-KEPT", "USD"] == D("-45.00") and balances(books)["CORE-HELD", "USD"] == 0
    assert balances(books)["DUE", "USD"] == posting().totals["total"]
    assert judge(*journals(books)).returncode == 0 and verify(books) == ()


def test_each_part_of_a_line_has_its_own_life(tmp_path):
    do_post([posting(lines=(line("core", "Old caliper", 3, "each", "33.33", True, "core 1"),))], tmp_path)
    for unit, outcome in ((1, "returned"), (3, "refused")):
        settle(tmp_path, outcome, unit=unit)
    assert [state[3] for state in states(tmp_path)] == ["returned", "owed", "refused"]
    assert balances(tmp_path)["CORE-HELD", "USD"] == D("-33.33")


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(["document", "line"]))
def test_whatever_the_order_the_tax_given_back_is_the_difference_of_two_taxes(tmp_path_factory, seed, level):
    """Through returns, corrections of outcomes and changes of mind, to the cent, and by jurisdiction."""
    rng, books = random.Random(seed), tmp_path_factory.mktemp("books")
    lines = [line("parts", "Part", 1, "each", D(rng.randint(1, 9999)) / 100, True, "part 1")]
    lines += [line("core", f"Old {n}", 2, "each", D(rng.randint(1, 999)) / 100, True, f"core {n}") for n in (1, 2)]
    document = posting(lines=tuple(lines), level=level)
    do_post([document], books)
    outcomes = {}
    for _ in range(7):
        ref, unit = f"core {rng.randint(1, 2)}", rng.randint(1, 2)
        outcomes[ref, unit] = rng.choice(("returned", "returned", "refused", "kept"))
        settle(books, outcomes[ref, unit], ref, unit=unit)
        left = [lines[0]]
        for core in lines[1:]:
            back = sum(1 for (name, _), outcome in outcomes.items() if name == core.ref and outcome == "returned")
            left.append(line("core", "", 1, "each", core.net - back * core.unit_price, True))
        due = document.totals["tax"] - tax_on(left, TWO_PARTS, level).amount
        units = core_deposits(books)
        assert sum(item.tax_back for item in units) == due
        assert balances(books)["TAX-OWED", "USD"] == -(document.totals["tax"] - due)
        owed = sum(item.deposit for item in units if item.state == "owed")
        assert balances(books).get(("CORE-HELD", "USD"), 0) == -owed
    assert judge(*journals(books)).returncode == 0 and verify(books) == ()


def test_a_document_revised_after_it_was_settled_is_named_and_can_be_recorded_again(books):
    settle(books, "returned")
    result = do_post([revised(posting())], books)
    assert "core deposits of it were settled before" in " ".join(result.documents[0].messages)
    (finding,) = verify(books)
    assert "was revised since" in finding.what and "record it again" in finding.fix
    assert settle(books, "returned").documents[0].status == "reversed-and-posted"
    assert verify(books) == ()


def test_a_core_that_left_the_document(books):
    settle(books, "returned")
    bare = [item for item in posting().lines if item.kind != "core"]
    do_post([posting(lines=tuple(bare), revision=2)], books)
    assert "has no such core deposit" in verify(books)[0].what
    with pytest.raises(Refused, match="no longer has this core deposit"):
        settle(books, "expired")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"outcome": "lost"}, "Allowed: returned, refused, expired, kept"),
        ({"document": "LY-9"}, "On file: none"),
        ({"ref": "core 7"}, '"core 1" 1'),
        ({"unit": 2}, '"core 1" 1'),
        ({"date": DAY - dt.timedelta(days=1)}, "Give a later date"),
    ],
)
def test_what_cannot_be(books, changes, words):
    before = list_books(books)
    with pytest.raises(Refused, match=words):
        settle(books, **{"outcome": "returned", **changes})
    assert list_books(books) == before


def test_references_are_as_short_as_they_tell_apart_and_no_shorter():
    refs = [
        "core.part.shell.exchange.accumulator-1",
        "core.part.shell.exchange.accumulator-2",
        "core.part.pump.exchange.system-1",
    ]
    assert list(short_refs([*refs, "core.part.switch.exchange.system-1"]).values()) == [
        "accumulator-1",
        "accumulator-2",
        "pump.exchange.system-1",
        "switch.exchange.system-1",
    ]
    assert short_refs(["core 1", "core 1"]) == {"core 1": "core 1"}


def test_the_short_reference_settles(tmp_path):
    lines = (
        line("core", "Old shell", 1, "each", "60.00", True, f"core.part.shell.exchange.accumulator-{n}") for n in (1, 2)
    )
    do_post([posting(lines=tuple(lines))], tmp_path)
    settle(tmp_path, "returned", ref="accumulator-2")
    assert [(ref[-1], state) for ref, _, _, state in states(tmp_path)] == [("1", "owed"), ("2", "returned")]
