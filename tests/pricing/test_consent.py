"""Consent: each rule of the list, worked; stages add up; what is over is named."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

import estimator.pricing
from estimator.pricing.consent import consent_findings, excess_allowed, weigh
from estimator.records import ConsentRule

D = Decimal
RULES = tomllib.loads((Path(estimator.pricing.__file__).parent / "consent_rules.toml").read_text(encoding="utf-8"))[
    "rule"
]


def rule(**settings):
    return ConsentRule(in_force_from="2026-01-01", source="for a test", **settings)


def totals(total, tax="0.00"):
    return {"total": D(total), "tax": D(tax)}


@pytest.mark.parametrize("example", RULES, ids=lambda example: example["place"])
def test_each_rule_of_the_written_file_loads_and_gives_its_example(example):
    setting = ConsentRule(**example["consent"])
    consented = D(example["example"]["consented"])
    assert weigh(totals("0.00"), [consented], setting).most == D(example["example"]["most"])
    assert example["status"] in ("read", "common practice") and setting.source


def test_the_written_file_says_what_it_is_not():
    text = (Path(estimator.pricing.__file__).parent / "consent_rules.toml").read_text(encoding="utf-8")
    assert "NOT LEGAL ADVICE" in text
    assert {example["consent"]["rule"] for example in RULES} == {
        "none",
        "flat",
        "percent",
        "cap",
        "greater-of",
        "lesser-of",
    }
    assert {"New York", "Florida", "Washington", "Illinois", "Ohio", "Michigan"} <= {
        example["place"] for example in RULES
    }


@pytest.mark.parametrize(("consented", "most"), [("300", "330"), ("500", "550"), ("700", "750"), ("80", "90")])
def test_florida(consented, most):
    """Fla. Stat. 559.909: the greater of $10 or 10 %, at most $50."""
    setting = rule(rule="greater-of", flat="10", percent="10", cap="50")
    assert weigh(totals("1"), [D(consented)], setting).most == D(most)


@pytest.mark.parametrize(("consented", "most"), [("300", "330"), ("700", "770")])
def test_washington_is_before_tax(consented, most):
    """RCW 46.71: 10 % of the total before tax."""
    setting = rule(rule="percent", percent="10", on="before tax")
    before = D(most)
    tax = D("88.00")
    assert consent_findings(totals(before + tax, tax), [D(consented)], setting) == ()
    (finding,) = consent_findings(totals(before + tax + D("0.01"), tax), [D(consented)], setting)
    assert finding.rule == "over-consent" and "0.01" in finding.what and "before tax" in finding.what


def test_stages_add_up_and_the_needed_consent_is_named():
    stages = [D("120.00"), D("250.00"), D("400.00"), D("95.50")]
    setting = rule(rule="none")
    assert weigh(totals("865.50"), stages, setting).over == 0
    (finding,) = consent_findings(totals("900.00"), stages, setting, "USD")
    assert (finding.rule, finding.severity) == ("over-consent", "stop")
    assert "34.50 USD over the 865.50 USD allowed" in finding.what
    assert "further authorization of 34.50 USD" in finding.fix


def test_over_and_needed_differ_where_an_excess_is_allowed():
    found = weigh(totals("350.00"), [D("300.00")], rule(rule="percent", percent="10"))
    assert (found.most, found.over, found.further) == (D("330.00"), D("20.00"), D("50.00"))


def test_nothing_consented_allows_nothing():
    (finding,) = consent_findings(totals("5.00"), [], rule(rule="flat", flat="25"))
    assert finding.rule == "no-consent" and "5.00" in finding.fix
    assert consent_findings(totals("0.00"), [], rule()) == ()


def test_rules_that_say_nothing():
    with pytest.raises(ValueError, match="has no cap"):
        excess_allowed("1", "cap", percent="5")
    with pytest.raises(ValueError, match="zero or more"):
        excess_allowed("-1", "none")
    with pytest.raises(ValueError, match="allowed: none, flat"):
        excess_allowed("1", "generous")
