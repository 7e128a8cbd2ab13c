"""How far a bill may exceed what the customer agreed to. A setting with its date and source; no legal advice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from estimator.errors import Finding
from estimator.money import ZERO, add, half_up, money_text, percent_of
from estimator.pricing.fees_and_tax import before_tax

STAGES = ("diagnosis", "teardown", "repair", "additional work")


class ExcessRule(Protocol):
    """The allowed excess: `rule` is none, flat, percent, cap, greater-of or lesser-of; `on` is total or before tax."""

    @property
    def rule(self) -> str: ...

    @property
    def flat(self) -> Decimal: ...

    @property
    def percent(self) -> Decimal: ...

    @property
    def cap(self) -> Decimal | None: ...

    @property
    def on(self) -> str: ...

    @property
    def in_force_from(self) -> dt.date: ...


@dataclass(frozen=True)
class Consented:
    """What stands between a document and its consents, all in currency units, on the rule's basis.

    `compared` is the document's total on that basis; `most` = consented + excess; `over` is what lies above `most`,
    or 0; `further` is the consent that would cover the whole of `compared`, or 0.
    """

    compared: Decimal
    consented: Decimal
    excess: Decimal
    most: Decimal
    over: Decimal
    further: Decimal
    on: str


def excess_allowed(
    consented: Decimal | str,
    rule: str,
    flat: Decimal | str = ZERO,
    percent: Decimal | str = ZERO,
    cap: Decimal | str | None = None,
) -> Decimal:
    """The amount by which a bill may exceed what was agreed to.

    Formula, with c consented, f flat, p percent, m cap: none 0; flat f; percent ROUND(c*p/100,2);
    cap MIN(ROUND(c*p/100,2),m); greater-of MAX(f,ROUND(c*p/100,2)); lesser-of MIN(f,ROUND(c*p/100,2));
    where a cap is set, each is at most m. Nothing consented allows no excess: IF(c=0,0,…).
    Parameters: consented, flat, cap in currency units, 0 or more, on the rule's basis; percent, 10 for 10%.
    Returns: an amount with two decimals.
    Raises: ValueError for an unknown rule, a cap rule without cap, or a negative sum.
    Source: consent_rules.toml names the clause of each rule.

    >>> [excess_allowed(c, "greater-of", flat="10", percent="10", cap="50") for c in ("80", "300", "700")]
    [Decimal('10.00'), Decimal('30.00'), Decimal('50.00')]
    """
    agreed, amount, share = half_up(consented), half_up(flat), percent_of(consented, percent)
    if agreed < 0:
        raise ValueError(f"an authorized amount of {consented}; enter zero or more")
    if rule == "cap" and cap is None:
        raise ValueError('the rule "cap" has no cap; give the amount, for example cap = "50.00"')
    choices = {
        "none": ZERO,
        "flat": amount,
        "percent": share,
        "cap": share,
        "greater-of": max(amount, share),
        "lesser-of": min(amount, share),
    }
    if rule not in choices:
        raise ValueError(f'rule "{rule}" is not known; allowed: {", ".join(choices)}')
    if not agreed:
        return ZERO
    return choices[rule] if cap is None else min(choices[rule], half_up(cap))


def weigh(totals: Mapping[str, Decimal], consents: Sequence[Decimal], rule: ExcessRule) -> Consented:
    """Set a document's total against the consents of all stages, which add up.

    Formula: compared = total, or total-tax where the rule is on "before tax"; consented = SUM(consents);
    over = MAX(0,compared-(consented+excess)); further = MAX(0,compared-consented).
    Parameters: totals as `fees_and_tax.totals_of` gives them; consents, the amount of each stage on the rule's basis.
    Returns: a Consented. Raises: ValueError as `excess_allowed`.
    """
    compared = before_tax(totals) if rule.on == "before tax" else totals["total"]
    consented = add(consents)
    excess = excess_allowed(consented, rule.rule, rule.flat, rule.percent, rule.cap)
    most = consented + excess
    return Consented(
        compared, consented, excess, most, max(ZERO, compared - most), max(ZERO, compared - consented), rule.on
    )


def consent_findings(
    totals: Mapping[str, Decimal], consents: Sequence[Decimal], rule: ExcessRule, currency: str = ""
) -> tuple[Finding, ...]:
    """What a document's consents leave open: `no-consent`, or `over-consent` with the sum, and the consent needed.

    Parameters as `weigh`. Returns: no finding, or one of severity stop. A document over its consent isn't posted.
    """
    found = weigh(totals, consents, rule)
    if not found.over:
        return ()
    unit = f" {currency}" if currency else ""
    basis = "before tax" if found.on == "before tax" else "with tax"
    compared, further = (f"{money_text(amount)}{unit}" for amount in (found.compared, found.further))
    if not found.consented:
        return (
            Finding(
                rule="no-consent",
                severity="stop",
                what=f"total {compared} {basis}; no authorization recorded",
                fix=f"record the customer's authorization of {further} {basis}: stage, amount, date, name",
                expected=money_text(ZERO),
                found=money_text(found.compared),
            ),
        )
    return (
        Finding(
            rule="over-consent",
            severity="stop",
            what=(
                f"total {compared} {basis}: {money_text(found.over)}{unit} over the "
                f"{money_text(found.most)}{unit} allowed (authorized {money_text(found.consented)}, "
                f"excess allowed {money_text(found.excess)})"
            ),
            fix=f"record a further authorization of {further} {basis}, or remove work",
            expected=money_text(found.most),
            found=money_text(found.compared),
        ),
    )
