"""Totals of a document on the road of a visit, against plain fractions: tax by class, discount, fees, markup."""

from __future__ import annotations

import functools
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pricing_road import document, part_price

from estimator.money import ZERO
from estimator.records import MarkupBracket

D = Decimal
CLASSES = ("labor", "parts", "supplies", "disposal", "sublet", "core")
few = functools.partial(settings, deadline=None, suppress_health_check=list(HealthCheck))
cents = st.integers(0, 99_999).map(lambda n: str(D(n) / 100))
tenths = st.integers(0, 90).map(lambda n: str(D(n) / 10))
percents = st.integers(0, 400).map(lambda n: str(D(n) / 4))


def rounded(value: Fraction) -> Fraction:
    """Half a cent goes away from zero."""
    cut = Fraction(int(abs(value) * 100 + Fraction(1, 2)), 100)
    return cut if value >= 0 else -cut


@st.composite
def documents(draw):
    return {
        "work": draw(st.lists(st.tuples(tenths, cents), min_size=1, max_size=3)),
        "parts": draw(st.lists(st.tuples(tenths, cents, cents), max_size=3)),
        "sublet": draw(st.lists(cents, max_size=2)),
        "taxed": draw(st.sets(st.sampled_from(CLASSES))),
        "percent": draw(percents),
        "scope": draw(st.sampled_from(("document", "line"))),
        "discount_labor": draw(percents.filter(lambda text: D(text) <= 100)),
        "discount_parts": draw(percents.filter(lambda text: D(text) <= 100)),
        "supplies": draw(percents),
        "cap": draw(st.just("0") | cents),
        "liters": draw(tenths),
        "per_liter": draw(cents),
    }


def by_hand(given):
    """The same document in fractions: every line, then its tax, by item or on the whole."""
    number = {name: Fraction(given[name]) for name in given if isinstance(given[name], str) and name != "scope"}
    labor = [rounded(Fraction(hours) * Fraction(rate)) for hours, rate in given["work"]]
    parts = [rounded(Fraction(count) * rounded(Fraction(cost))) for count, cost, _ in given["parts"]]
    core = [rounded(Fraction(count) * Fraction(deposit)) for count, _, deposit in given["parts"]]
    supplies = rounded(sum(labor) * number["supplies"] / 100)
    if number["cap"]:
        supplies = min(supplies, number["cap"])
    disposal = rounded(number["liters"] * number["per_liter"]) if sum(labor) > 0 else Fraction(0)
    lines = [("labor", value) for value in labor] + [("parts", value) for value in parts]
    lines += [("core", value) for value in core] + [("sublet", Fraction(charge)) for charge in given["sublet"]]
    lines += [("supplies", supplies), ("disposal", disposal)]
    lines += [("labor", -rounded(sum(labor) * number["discount_labor"] / 100))]
    lines += [("parts", -rounded(sum(parts) * number["discount_parts"] / 100))]
    taxed = [value for kind, value in lines if kind in given["taxed"]]
    rate = number["percent"] / 100
    tax = sum(rounded(value * rate) for value in taxed) if given["scope"] == "line" else rounded(sum(taxed) * rate)
    return {
        "labor": sum(labor),
        "parts": sum(parts),
        "core": sum(core),
        "sublet": sum(map(Fraction, given["sublet"])),
        "supplies": supplies,
        "disposal": disposal,
        "taxable": sum(taxed),
        "net": sum(value for _, value in lines),
        "tax": tax,
        "total": sum(value for _, value in lines) + tax,
    }


@few(max_examples=80)
@given(documents())
def test_a_document_is_what_its_lines_come_to(given):
    found = document(**given)
    wanted = by_hand(given)
    assert {name: Fraction(found[name]) for name in wanted} == wanted
    assert all(value == value.quantize(D("0.01"), ROUND_HALF_UP) for value in found.values())


@pytest.mark.parametrize("kind", CLASSES)
def test_a_class_is_taxed_where_the_shop_says_so_and_only_there(kind):
    given = {
        "work": [("2", "100.00")],
        "parts": [("1", "50.00", "30.00")],
        "sublet": ["40.00"],
        "supplies": "5",
        "liters": "2",
        "per_liter": "1.50",
    }
    base = {"labor": "200", "parts": "50", "core": "30", "sublet": "40", "supplies": "10", "disposal": "3"}
    for scope in ("document", "line"):
        assert document(**given, taxed=[kind], percent="10", scope=scope)["tax"] == D(base[kind]) / 10
        others = [other for other in CLASSES if other != kind]
        untaxed = document(**given, taxed=others, percent="10", scope=scope)
        assert untaxed["tax"] == sum(D(base[other]) for other in others) / 10
        assert document(**given, taxed=[], percent="10", scope=scope)["tax"] == ZERO


@few(max_examples=30)
@given(documents())
def test_a_discount_takes_no_more_than_there_is(given):
    found = document(**given)
    for kind in ("labor", "parts"):
        assert 0 <= -found[f"discount_{kind}"] <= found[kind]
    whole = document(**{**given, "discount_labor": "100", "discount_parts": "100"})
    assert whole["labor"] + whole["discount_labor"] == whole["parts"] + whole["discount_parts"] == ZERO


def test_spare_lines_without_a_price_list_are_marked_up_by_their_bracket():
    """A bracket includes its upper cost; no part sells for less than the dearest of the bracket below."""
    brackets = [MarkupBracket(up_to=D(20), percent=D(100)), MarkupBracket(percent=D(60))]
    costs = {"0": "0.00", "20": "40.00", "20.01": "40.00", "25": "40.00", "30": "48.00", "600": "960.00"}
    assert {cost: str(part_price(cost, brackets)) for cost in costs} == costs


@few(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(1, 5000), st.integers(0, 300)), min_size=1, max_size=4),
    st.lists(st.integers(0, 10**5), min_size=2, max_size=2).map(sorted),
)
def test_a_dearer_part_never_sells_for_less(steps, costs):
    upper, brackets = D(0), []
    for step, percent in steps[:-1]:
        upper += D(step) / 10
        brackets.append(MarkupBracket(up_to=upper, percent=D(percent)))
    brackets.append(MarkupBracket(percent=D(steps[-1][1])))
    prices = [part_price(str(D(cost) / 100), brackets) for cost in costs]
    assert prices == sorted(prices)
    assert all(price >= D(cost) / 100 for price, cost in zip(prices, costs, strict=True))
