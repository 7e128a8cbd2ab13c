"""Markup, fees, discount and tax: the worked cases of the outside world, and laws."""

from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.money import percent_of
from estimator.pricing.fees_and_tax import core_refund_tax, supplies_fee, tax_on
from estimator.pricing.parts import markup_rows, price_in
from estimator.records import MarkupBracket

D = Decimal


def line(net, taxed=True, kind="parts"):
    return SimpleNamespace(net=D(net), taxed=taxed, kind=kind)


def test_item_against_invoice():
    """Streamlined Sales and Use Tax Agreement, section 324: the seller may choose; arithmetic."""
    rate = [("state", D("0.0825"))]
    three = [line("1.15")] * 3
    assert (tax_on(three, rate, "line").amount, tax_on(three, rate).amount) == (D("0.27"), D("0.28"))
    assert tax_on(three[:1], rate, "line").amount == D("0.09")


def test_aggregate_rate_and_its_parts():
    rates = [("state", D("0.04")), ("county", D("0.04")), ("district", D("0.00875"))]
    tax = tax_on([line("100.06"), line("50.00", taxed=False)], rates)
    assert tax.taxable == D("100.06") and tax.amount == D("8.88")
    assert sum(share for _, _, share in tax.parts) == tax.amount


def test_rate_out_of_range():
    with pytest.raises(ValueError, match=r"county.*fraction from 0 to 10"):
        tax_on([line("1")], [("county", D("8.25") * 10)])


def test_core_trade_in():
    """A tax agency's example: battery 54.00 with 7.00 core at 7 %: tax 3.78; after trade-in, tax kept, 50.78."""
    lines = [line("47.00"), line("7.00", kind="core")]
    tax = tax_on(lines, [("state", D("0.07"))])
    assert tax.amount == D("3.78")
    assert D("54.00") + tax.amount - D("7.00") == D("50.78")


def test_core_refund_is_a_difference_of_two_taxes():
    lines = [line("0.07"), line("0.55", kind="core")]
    rate = [("state", D("0.0825"))]
    back = core_refund_tax(lines, D("0.55"), rate)
    assert back.amount == tax_on(lines, rate).amount - tax_on(lines[:1], rate).amount == D("0.04")
    assert percent_of("0.55", "8.25") == D("0.05")
    with pytest.raises(ValueError, match="are returned, and only"):
        core_refund_tax(lines, D("99.00"), rate)


@given(
    st.lists(st.integers(1, 10**5), min_size=1, max_size=6),
    st.lists(st.integers(1, 9999), min_size=1, max_size=5),
    st.lists(st.integers(0, 900), min_size=1, max_size=3),
)
def test_refunds_in_turn_add_up_to_the_refund_of_all(cores, others, rates):
    """Each return gives back the refund of all until then, less what was given back before, as the books do."""
    lines = [line(D(x) / 100) for x in [*others, *cores]]
    parts = [(str(i), D(rate) / 10000) for i, rate in enumerate(rates)]
    back, gone = D(0), D(0)
    for core in cores:
        gone += D(core) / 100
        due = core_refund_tax(lines, gone, parts)
        assert sum(share for _, _, share in due.parts) == due.amount
        back += due.amount - back
    assert back == tax_on(lines, parts).amount - tax_on(lines[: len(others)], parts).amount


def test_supplies_cap():
    assert supplies_fee(D("1000.00"), D(5), D("40.00")) == D("40.00")
    assert supplies_fee(D("1000.00"), D(5), D(0)) == D("50.00")


BRACKETS = (
    MarkupBracket(up_to=D(20), percent=D(100)),
    MarkupBracket(up_to=D(100), percent=D(60)),
    MarkupBracket(up_to=D(500), percent=D(40)),
    MarkupBracket(percent=D(25)),
)


def test_a_bracket_includes_its_upper_cost():
    assert [
        price_in(D(cost), markup_rows(BRACKETS))
        for cost in ("0", "20", "20.01", "25", "30", "100", "100.01", "520", "600")
    ] == [D(price) for price in ("0.00", "40.00", "40.00", "40.00", "48.00", "160.00", "160.00", "700.00", "750.00")]
    assert [row.floor for row in markup_rows(BRACKETS)] == [D("0.00"), D("40.00"), D("160.00"), D("700.00")]


@given(
    st.lists(st.tuples(st.integers(1, 5000), st.integers(0, 300)), min_size=1, max_size=6),
    st.lists(st.integers(0, 10**6)),
)
def test_a_dearer_part_never_sells_for_less(steps, costs):
    upper, brackets = D(0), []
    for step, percent in steps[:-1]:
        upper += D(step) / 10
        brackets.append(MarkupBracket(up_to=upper, percent=D(percent)))
    brackets.append(MarkupBracket(percent=D(steps[-1][1])))
    prices = [price_in(D(cost) / 100, markup_rows(brackets)) for cost in sorted(costs)]
    assert prices == sorted(prices)
    assert all(price >= D(cost) / 100 for price, cost in zip(prices, sorted(costs), strict=True))


@pytest.mark.parametrize(
    ("brackets", "words"),
    [
        ([], "no markup bracket"),
        ([MarkupBracket(up_to=D(5), percent=D(1))], "bracket 1.*only the last"),
        ([MarkupBracket(percent=D(1)), MarkupBracket(percent=D(1))], "bracket 1.*only the last"),
        ([MarkupBracket(up_to=D(5), percent=D(1)), MarkupBracket(up_to=D(5), percent=D(1)), BRACKETS[-1]], "bracket 2"),
    ],
)
def test_unsound_brackets(brackets, words):
    with pytest.raises(ValueError, match=words):
        markup_rows(brackets)
