"""The canonical content, and what keeps a posting out of the books."""

import json
import random
from dataclasses import replace
from decimal import Decimal

import pytest
from book_samples import ACCOUNTS, mixed_lines, posting, random_posting

from estimator.books.journal import journal_of, reverse
from estimator.books.posting import canonical, digest, from_canonical
from estimator.books.posting_rules import posting_findings
from estimator.money import add

D = Decimal


@pytest.mark.parametrize("seed", range(40))
def test_content_and_posting_are_one(seed):
    original = random_posting(random.Random(seed), f"LY-{seed}")
    text = canonical(original)
    assert canonical(from_canonical(text)) == text
    assert digest(text) == digest(canonical(from_canonical(text)))
    assert posting_findings(original) == posting_findings(from_canonical(text)) == ()


def test_canonical_form():
    text = canonical(posting())
    data = json.loads(text)
    assert text == json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert data["totals"]["total"] == "537.53" and data["lines"][0]["unit_price"] == "95.00"
    assert data["lines"][0]["hours_in_visit"] == "1.700000" and data["tax_rate"] == "0.08875"
    amounts = [value for name, value in walk(data) if name in ("net", "debit", "credit", "unit_price", "amount")]
    assert amounts and all(isinstance(value, str) and value[-3] == "." for value in amounts)
    assert not any(name in ("path", "file", "time", "at") for name, _ in walk(data))


def walk(data):
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for name, value in items:
        yield name, value
        if isinstance(value, dict | list):
            yield from walk(value)


def test_equal_money_written_otherwise_has_one_digest():
    one = posting()
    other = replace(one, tax_rate=D("0.088750"), lines=(replace(one.lines[0], quantity=D("1.70")), *one.lines[1:]))
    assert canonical(one) == canonical(other)


def test_a_fraction_of_a_cent_has_no_content():
    with pytest.raises(ValueError, match="fraction of a cent"):
        canonical(replace(posting(), totals={**posting().totals, "total": D("1.005")}))


def test_another_schema_is_refused():
    with pytest.raises(ValueError, match="schema"):
        from_canonical(canonical(posting()).replace('"schema":1', '"schema":2'))


def test_the_journal_balances_and_a_credit_note_mirrors_it():
    lines, parts = mixed_lines(), posting().tax_parts
    journal = journal_of(lines, parts, ACCOUNTS)
    assert add(x.debit for x in journal) == add(x.credit for x in journal)
    assert journal[0].account_code == "DUE" and journal[0].debit == D("537.53")
    assert journal_of(lines, parts, ACCOUNTS, credit_note=True) == reverse(journal, "")
    assert sum(x.account_code == "TAX-OWED" for x in journal) == 2


def altered(**changes):
    return replace(posting(), **changes)


P = posting()
CASES = {
    "journal off by a cent": (
        altered(journal=(replace(P.journal[0], debit=P.journal[0].debit + D("0.01")), *P.journal[1:])),
        "doesn't balance",
    ),
    "journal line of two sides": (
        altered(journal=(replace(P.journal[0], credit=D("1.00")), *P.journal[1:])),
        "isn't one side",
    ),
    "journal of another total": (
        altered(journal=(*(replace(x, debit=x.debit * 2, credit=x.credit * 2) for x in P.journal),)),
        "carries the document's total",
    ),
    "net of a part": (altered(lines=(P.lines[0], replace(P.lines[1], net=D("184.36")), *P.lines[2:])), "isn't its net"),
    "total of parts": (altered(totals={**P.totals, "parts": D("0.00")}), "total of parts"),
    "tax": (altered(tax_parts=tuple((n, r, a + D("0.01")) for n, r, a in P.tax_parts)), "the tax isn't its base"),
    "cent between jurisdictions": (
        altered(
            tax_parts=tuple((n, r, a + c) for (n, r, a), c in zip(P.tax_parts, (D("0.01"), D("-0.01")), strict=True))
        ),
        "shared by its parts",
    ),
    "rate": (altered(tax_rate=D("0.09")), "don't add up"),
    "unit": (altered(lines=(replace(P.lines[0], unit="furlong"), *P.lines[1:])), "Recommendation 20"),
    "kind of line": (altered(lines=(replace(P.lines[0], kind="gift"), *P.lines[1:])), "none of labor"),
    "document number": (altered(document="LY/2041"), "letters, digits and hyphens"),
    "currency": (altered(currency="usd"), "three capital letters"),
    "revision": (altered(revision=0), "counts from 1"),
    "half a core": (
        altered(lines=(*P.lines[:4], replace(P.lines[4], quantity=D("0.5"), unit_price=D("90")), *P.lines[5:])),
        "whole parts",
    ),
    "rising discount": (
        altered(lines=(*P.lines[:7], replace(P.lines[7], net=D("16.15"), unit_price=D("16.15")))),
        "raises the total",
    ),
    "VAT by line": (posting(tax_kind="vat", level="line", parts=(("VAT", D("0.2")),)), "BR-CO-17"),
    "VAT without number": (replace(posting(tax_kind="vat"), seller=replace(P.seller, tax_id="")), "BR-S-02"),
    "core twice": (posting(lines=(P.lines[4], P.lines[4], P.lines[1])), "each needs its own"),
}


@pytest.mark.parametrize(("unsound", "words"), CASES.values(), ids=CASES.keys())
def test_unsound_postings_are_named(unsound, words):
    findings = posting_findings(unsound)
    assert any(words in finding.what for finding in findings), [finding.what for finding in findings]
    assert all(finding.severity == "stop" and finding.fix for finding in findings)
