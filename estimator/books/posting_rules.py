"""Whether a posting holds together to the cent, before it goes to the books. Nothing here repairs or tolerates."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from estimator.books.posting import KINDS, LINE_KINDS, InvoiceLine, Posting
from estimator.errors import Finding
from estimator.money import CENT, ZERO, add, half_up, money_text, product
from estimator.pricing.fees_and_tax import tax_on, totals_of
from estimator.records.units import UNIT_CODES

# A core entry is numbered by its document, part, job and place, each an id of up to 48 letters.
_DOCUMENT = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,239}")
_FIX = "draft the workbook again, or report it: the program's own sums don't agree"


def posting_findings(posting: Posting) -> tuple[Finding, ...]:
    """Everything that keeps a posting out of the books, each with severity stop.

    Rules `out-of-balance` (a sum that doesn't agree, named with both figures) and `entry-not-understood` (a kind, unit,
    number or currency that the books don't know). No finding means: lines × prices, totals, tax, its parts and the
    journal agree with zero tolerance.
    """
    return (*_words(posting), *_sums(posting), *_tax(posting), *_journal(posting))


def _finding(
    posting: Posting, what: str, expected: object = "", found: object = "", rule: str = "out-of-balance"
) -> Finding:
    place = f"{posting.document} revision {posting.revision}"
    return Finding(rule, "stop", f"{place}: {what}", _FIX, expected=str(expected), found=str(found))


def _words(posting: Posting) -> Iterator[Finding]:
    def odd(what: str, found: object) -> Finding:
        return _finding(posting, f"{what}: {found!r}", found=found, rule="entry-not-understood")

    if not _DOCUMENT.fullmatch(posting.document):
        yield odd("use a document number of letters, digits and hyphens", posting.document)
    if posting.revision < 1:
        yield odd("a revision counts from 1", posting.revision)
    if posting.kind not in KINDS:
        yield odd(f"a document is one of {', '.join(KINDS)}", posting.kind)
    if not re.fullmatch(r"[A-Z]{3}", posting.currency):
        yield odd("a currency has three capital letters (ISO 4217)", posting.currency)
    if posting.tax_kind == "vat" and not (
        posting.seller.tax_id and posting.seller.country and posting.customer.country
    ):
        yield odd("VAT wants the seller's VAT number and both countries (EN 16931, BR-S-02, BR-09, BR-11)", "missing")
    cores = Counter(core_slug(line.ref) for line in posting.lines if line.kind == "core")
    for line in posting.lines:
        for what, found in _odd_in_line(line, cores):
            yield odd(what, found)


def _odd_in_line(line: InvoiceLine, cores: Counter[str]) -> Iterator[tuple[str, str]]:
    """What can't stand in a line, and what was found. `cores` counts the references of core deposits."""
    if line.kind not in LINE_KINDS:
        yield f'line "{line.ref}" is none of {", ".join(LINE_KINDS)}', line.kind
    if line.unit not in UNIT_CODES:
        yield f'line "{line.ref}": a unit without a code in UN/ECE Recommendation 20', line.unit
    if line.kind == "core" and (line.quantity != int(line.quantity) or line.quantity < 1):
        yield f'line "{line.ref}": core deposits are counted in whole parts', str(line.quantity)
    if line.kind == "core" and cores[core_slug(line.ref)] > 1:
        yield "two core deposits have one reference; each needs its own", line.ref


def core_slug(ref: str) -> str:
    """A line's reference as it stands in the number of a core entry."""
    return re.sub(r"[^a-z0-9]+", "-", ref.lower()).strip("-") or "core"


def _bare(posting: Posting) -> bool:
    """Whether it sells nothing: a payment, or a core deposit that isn't given back."""
    return posting.kind in ("core-entry", "payment") and not posting.lines


def _sums(posting: Posting) -> Iterator[Finding]:
    for line in posting.lines:
        net = product(line.quantity, line.unit_price)
        if net != line.net and line.kind != "labor":
            what = f'line "{line.ref}": {line.quantity} × {line.unit_price} isn\'t its net'
            yield _finding(posting, what, net, line.net)
        if line.kind == "discount" and line.net > 0:
            yield _finding(posting, f'line "{line.ref}": a discount raises the total', "0 or less", line.net)
    tax = add(amount for _, _, amount in posting.tax_parts)
    try:
        expected = totals_of(posting.lines, tax)
    except KeyError:
        return
    if _bare(posting):
        return
    for name, amount in expected.items():
        if posting.totals.get(name) != amount:
            yield _finding(posting, f"the total of {name} isn't the sum of its lines", amount, posting.totals.get(name))


def _tax(posting: Posting) -> Iterator[Finding]:
    rates = [(name, rate) for name, rate, _ in posting.tax_parts]
    if posting.tax_kind == "none" or _bare(posting):
        return
    if sum((rate for _, rate in rates), Decimal(0)) != posting.tax_rate:
        yield _finding(posting, "the parts of the tax rate don't add up to it", posting.tax_rate, rates)
    if posting.tax_kind == "vat" and posting.tax_level == "line":
        yield _finding(posting, "VAT is worked out on the document (EN 16931, BR-CO-17)", "document", "line")
    computed = tax_on(posting.lines, rates, posting.tax_level)
    tax = add(amount for _, _, amount in posting.tax_parts)
    if posting.tax_is_difference:
        if abs(tax - computed.amount) > CENT:
            yield _finding(posting, "the tax refunded is more than a cent from its base × rate", computed.amount, tax)
    elif posting.tax_parts != computed.parts:
        shown = ", ".join(f"{name} {money_text(amount)}" for name, _, amount in computed.parts)
        yield _finding(posting, "the tax isn't its base × rate, shared by its parts", shown, posting.tax_parts)


def _journal(posting: Posting) -> Iterator[Finding]:
    for place, side in enumerate(posting.journal, start=1):
        amounts = (side.debit, side.credit)
        if min(amounts) < 0 or (side.debit and side.credit) or any(half_up(x) != x for x in amounts):
            yield _finding(posting, f"journal line {place} isn't one side of an entry in whole cents", "", amounts)
    debit, credit = (add(getattr(line, side) for line in posting.journal) for side in ("debit", "credit"))
    if debit != credit:
        yield _finding(
            posting, "the journal doesn't balance", f"debit {money_text(half_up(debit))}", f"credit {credit}"
        )
    paid = posting.payment.amount if posting.payment is not None else ZERO
    if (posting.kind == "payment") != bool(paid) or (
        paid and paid not in (x.debit - x.credit for x in posting.journal)
    ):
        yield _finding(posting, "no journal line carries the amount paid", paid or "an amount", "none")
    total = posting.totals.get("total", ZERO)
    flow = -total if posting.kind != "invoice" else total
    if flow and not any(line.debit - line.credit == flow for line in posting.journal):
        yield _finding(posting, "no journal line carries the document's total", flow, "none")
