"""Whether the workbook agrees with itself. On Workings."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.money import add
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.common import Pair

_FORMULAS = {
    "shares": "IF(ABS({hour.quoted.agreed}-{hour.BASIS.agreed})+ABS({hour.quoted.proposed}-{hour.BASIS.proposed})"
    "<1E-6,0,1)",
    "balance": "IF({balance.all.out}=0,0,1)",
    "tax": "IF(ROUND(SUM({tax_split:share_agreed})-{total.tax.agreed},2)=0,0,1)",
    "parts": "IF(SUMPRODUCT({line:odd},{line:agreed}+{line:proposed})+SUM({extra:mixed})=0,0,1)",
    "all": "SUM({self.shares.value},{self.balance.value},{self.tax.value},{self.parts.value})",
}


def self_checks(appraisal: Appraisal) -> tuple[Pair, ...]:
    """Whether the figures agree with each other; each 0 where they do."""
    hours = {row.ref: row for row in appraisal.visit_hours}
    quoted, basis = hours["quoted"], hours[appraisal.record.shop.labor.basis]
    shares = abs(quoted.agreed - basis.agreed) + abs(quoted.proposed - basis.proposed)
    tax = add(row.agreed.share for row in appraisal.tax_parts)
    mixed = any(part.mixed for part in appraisal.parts) or any(part.mixed for part in appraisal.extra_parts)
    checks = (
        ("shares", "job shares add up to the hours of the visit", shares >= 1e-6),
        ("balance", "the journal balances", appraisal.balance.out != 0),
        ("tax", "tax by jurisdiction adds up to the tax", tax != appraisal.agreed["tax"]),
        ("parts", "no part of the wrong fluid family", mixed),
    )
    rows = [Pair(ref, label, int(failed)) for ref, label, failed in checks]
    return (*rows, Pair("all", "all of them", sum(int(failed) for _, _, failed in checks)))


def self_block(appraisal: Appraisal) -> Block:
    basis = appraisal.record.shop.labor.basis
    return block(
        "self",
        "Does the workbook agree with itself (0: it does)",
        [
            Column("label", "check", "label"),
            Column("value", "now", "whole", lambda row: "=" + _FORMULAS[row.ref].replace("BASIS", basis)),
        ],
        self_checks(appraisal),
        kind="working",
    )
