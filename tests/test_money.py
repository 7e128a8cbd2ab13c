"""Money: each published case with its source, and the laws of rounding and sharing."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.money import allocate, from_float, half_up, money_text, percent_of, product

cents = st.integers(-(10**9), 10**9).map(lambda n: Decimal(n) / 100)
thousandths = st.integers(-(10**9), 10**9).map(lambda n: Decimal(n) / 1000)
weights = st.lists(st.integers(0, 10**7).map(lambda n: Decimal(n) / 100), min_size=1, max_size=30)


def exact_half_up(x: Fraction) -> Fraction:
    """Half away from zero on integers, apart from `decimal`."""
    size = abs(x) * 100
    whole = (2 * size.numerator + size.denominator) // (2 * size.denominator)
    return Fraction(whole if x >= 0 else -whole, 100)


@given(thousandths)
def test_half_up_is_half_away_from_zero(x):
    assert Fraction(half_up(x)) == exact_half_up(Fraction(x))


@given(st.integers(-(10**7), 10**7), st.integers(0, 10**6))
def test_a_product_is_rounded_once(thousandths, price_cents):
    quantity, price = Decimal(thousandths) / 1000, Decimal(price_cents) / 100
    assert Fraction(product(quantity, price)) == exact_half_up(Fraction(quantity) * Fraction(price))


@given(cents, st.integers(0, 10**6))
def test_a_percentage_is_rounded_once(amount, ten_thousandths):
    percent = Decimal(ten_thousandths) / 10**4
    assert Fraction(percent_of(amount, percent)) == exact_half_up(Fraction(amount) * Fraction(percent) / 100)


@pytest.mark.parametrize("x", [1.005, True, 0.0])
def test_binary_numbers_are_no_money(x):
    with pytest.raises(TypeError, match="from_float"):
        half_up(x)


@given(st.integers(-(10**7), 10**7))
def test_a_computed_tie_is_a_tie(half_cents):
    """Computed in binary on the way, as a spreadsheet does: n/200 reached through a product."""
    x = half_cents * 0.005
    assert Fraction(half_up(from_float(x))) == exact_half_up(Fraction(half_cents, 200))


@pytest.mark.parametrize("x", [float("nan"), float("inf"), True])
def test_no_amount(x):
    with pytest.raises(ValueError, match="finite"):
        from_float(x)


@given(cents, weights)
def test_shares_add_up_and_none_is_off_by_a_cent(total, weights):
    if not any(weights):
        return
    shares = allocate(total, weights)
    assert sum(shares) == total
    whole = sum(weights)
    for share, weight in zip(shares, weights, strict=True):
        assert abs(Fraction(share) - Fraction(total) * Fraction(weight) / Fraction(whole)) < Fraction(
            1, 100
        ) + Fraction(1, 10**6)
        assert weight or not share


@given(cents, weights)
def test_shares_are_those_of_the_largest_remainder(total, weights):
    """The same shares from whole cents and fractions, apart from `decimal`."""
    if not any(weights):
        return
    size, whole = abs(Fraction(total)) * 100, sum(map(Fraction, weights))
    exact = [size * Fraction(weight) / whole for weight in weights]
    parts = [portion.numerator // portion.denominator for portion in exact]
    left = int(size) - sum(parts)
    order = sorted(range(len(parts)), key=lambda i: (-(exact[i] - parts[i]), i))
    for i in order[:left]:
        parts[i] += 1
    near_ties = {round(float(exact[i] - parts[i]) * 10**5) for i in range(len(parts))}
    if len(near_ties) == len(parts):
        sign = -1 if total < 0 else 1
        assert [int(share * 100) for share in allocate(total, weights)] == [sign * part for part in parts]


def test_equal_remainders_favor_the_earlier_line():
    assert allocate(Decimal("0.01"), [Decimal(1), Decimal(1)]) == (Decimal("0.01"), Decimal("0.00"))


@pytest.mark.parametrize(
    ("total", "weights", "words"),
    [
        ("0.005", [1], "fraction of a cent"),
        ("1", [1, -1], "negative"),
        ("1", [0, 0], "every weight is zero"),
        ("1", [], "zero"),
    ],
)
def test_what_cannot_be_shared(total, weights, words):
    with pytest.raises(ValueError, match=words):
        allocate(Decimal(total), [Decimal(weight) for weight in weights])


def test_written_money():
    assert [money_text(Decimal(x)) for x in ("0", "-0.00", "5", "-1234.5")] == ["0.00", "0.00", "5.00", "-1234.50"]
    with pytest.raises(ValueError, match="fraction of a cent"):
        money_text(Decimal("0.005"))


def test_twice_rounded_would_be_another_cent():
    """Streamlined Sales and Use Tax Agreement, section 324: 5.39 at 8.25 % is 0.44; by way of three decimals 0.45."""
    once = percent_of("5.39", "8.25")
    twice = half_up(Decimal("0.44475").quantize(Decimal("0.001")).quantize(Decimal("0.01"), "ROUND_HALF_UP"))
    assert (once, twice) == (Decimal("0.44"), Decimal("0.45"))
