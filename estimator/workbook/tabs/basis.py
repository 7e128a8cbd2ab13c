"""`Basis`: every rate, rule, gauge, datum and published number that the workbook rests on, with its source; and the
rules that tie checks to jobs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from estimator.appraisal import Appraisal
from estimator.limits.constants import CONSTANTS
from estimator.limits.judging.verdict_words import LOOK_WORDS, PHASES
from estimator.limits.sheet_arithmetic import serial
from estimator.pricing.money_lines import TAX_CLASSES
from estimator.pricing.parts import MarkupRow, markup_rows
from estimator.quantities import UNITS
from estimator.workbook.book import Block, Column, Tab, block
from estimator.workbook.tabs.check_status import NOT_MADE
from estimator.workbook.tabs.common import CAUTIONS, head, titled
from estimator.workbook.tabs.extra_lines import touched_box


@dataclass(frozen=True)
class Setting:
    """One rule or rate of the shop as a row."""

    ref: str
    label: str
    value: Any
    look: str
    unit: str
    source: str


def basis(appraisal: Appraisal) -> Tab:
    record = appraisal.record
    return Tab(
        name="Basis",
        title=titled("Basis: what every figure rests on", appraisal),
        head=head(appraisal, "Basis"),
        cautions=(
            *CAUTIONS,
            "A rate or limit changed here moves the whole workbook, and is reported when the workbook is read back.",
        ),
        blocks=(
            _settings(appraisal),
            block(
                "rate",
                "Rates by kind of work",
                [
                    Column("label", "kind of work", "label", value=lambda rate: rate.id),
                    Column("title", "in words"),
                    Column("per_hour", f"{record.shop.shop.currency} an hour", "money"),
                ],
                record.shop.labor.rates,
                ref=lambda rate: rate.id,
            ),
            block(
                "markup",
                "Markup of parts by cost",
                [
                    Column("label", "bracket", "label", value=lambda row: f"bracket {row[0]}"),
                    Column("over", "costs over", "money", value=lambda row: row[1].over),
                    Column("percent", "markup, %", "number-2", value=lambda row: row[1].percent),
                    Column("floor", "sold for at least", "money", note_formula_floor, value=lambda row: row[1].floor),
                ],
                enumerate(markup_rows(record.shop.markup), 1),
                ref=lambda row: f"b{row[0]}",
                note="No part sells for less than the highest price that a lower bracket can give.",
            ),
            block(
                "taxpart",
                "Tax by jurisdiction",
                [
                    Column("label", "jurisdiction", "label"),
                    Column("order", "order", "whole"),
                    Column("percent", "rate, %", "number-3"),
                ],
                appraisal.tax_parts,
            ),
            block(
                "taxclass",
                "What is taxed",
                [
                    Column("label", "class of line", "label", value=lambda name: name),
                    Column("taxed", "taxed (1) or not (0)", "whole", value=appraisal.tax.is_taxed),
                ],
                TAX_CLASSES,
                ref=lambda name: name,
            ),
            _gauges(appraisal),
            block(
                "datum",
                "Data of the car",
                [
                    Column("label", "datum", "label"),
                    Column("value", "as given", lambda item: "factor" if 0 < abs(item.value) < 1e-3 else "number-4"),
                    Column("unit", "unit"),
                    Column("factor", "to SI: times", "factor"),
                    Column("offset", "to SI: plus", "number-4", sparse=True),
                    Column("si", "in SI", "factor", "={value}*{factor}+{offset}"),
                    Column("source", "source", "small"),
                ],
                appraisal.workings.data.values(),
            ),
            *_missing(appraisal),
            block(
                "fact",
                "Published numbers and facts of the trade",
                [
                    Column("label", "number", "label", value=lambda fact: fact.id),
                    Column("title", "what it is", "small"),
                    Column("text", "as printed", "small"),
                    Column("si", "in SI", "factor"),
                    Column("status", "status", "small"),
                    Column("kind", "kind", "small"),
                    Column("source", "source", "small"),
                    Column("clause", "clause", "small"),
                ],
                appraisal.facts,
                ref=lambda fact: fact.id,
            ),
            block(
                "constant",
                "Constants in formulas",
                [
                    Column("label", "name", "label", value=lambda item: item.ref),
                    Column("value", "value", "number-9"),
                    Column("unit", "unit"),
                    Column("why", "what it is", "small"),
                ],
                CONSTANTS,
            ),
            block(
                "word",
                "Words for what is looked at",
                [Column("label", "word", "label", value=lambda item: item)],
                LOOK_WORDS,
                ref=lambda item: item.replace(" ", "-"),
            ),
            block(
                "unit",
                "Units shown",
                [
                    Column("label", "unit", "label"),
                    Column("factor", "to SI: times", "factor"),
                    Column("offset", "to SI: plus", "number-4", sparse=True),
                    Column(
                        "step",
                        "least step, in this unit",
                        "factor",
                        unit=lambda row: row.label,
                        value=lambda row: UNITS[row.label].step,
                    ),
                ],
                [_UnitRow(name) for name in UNITS],
            ),
            block(
                "touch",
                "What extra and sublet work may have touched",
                [Column("label", "job", "label", value=lambda item: item)],
                touched_box(appraisal).allowed,
                ref=lambda item: item.replace(" ", "-"),
            ),
            block(
                "unmade",
                "Words for what counts as not made",
                [Column("label", "word", "label", value=lambda item: item)],
                NOT_MADE,
                ref=lambda item: item.replace(" ", "-"),
            ),
        ),
        widths=(40, 40, 17, 17, 17, 22, 40, 24, 16, 16),
    )


def unit_ref(unit: str) -> str:
    """The reference of a unit's row."""
    return f"u{list(UNITS).index(unit)}"


@dataclass(frozen=True)
class _UnitRow:
    label: str

    @property
    def ref(self) -> str:
        return unit_ref(self.label)

    @property
    def factor(self) -> float:
        return UNITS[self.label].factor

    @property
    def offset(self) -> float:
        return UNITS[self.label].offset


def _missing(appraisal: Appraisal) -> tuple[Block, ...]:
    """What car.toml doesn't give; no block where it gives all."""
    missing = appraisal.workings.missing.values()
    columns = [
        Column("label", "datum", "label"),
        Column("si", "value"),
        Column("needs", "its key in the car file", "small", value=lambda item: item.need.words),
    ]
    title, note = (
        "Data of the car that are missing",
        "Figures that rest on them aren't known, and limits that do aren't on file.",
    )
    return (block("missing", title, columns, missing, note=note),) if missing else ()


def note_formula_floor(row: tuple[int, MarkupRow]) -> str | None:
    """The first bracket has no lower one."""
    if row[0] == 1:
        return None
    return "=MAX({^floor},ROUND({over}*(1+{^percent}/100),2))"


def _settings(appraisal: Appraisal) -> Block:
    record = appraisal.record
    shop, car = record.shop, record.car
    fees, consent, tax = shop.fees, shop.consent, shop.tax
    in_shop = "shop file"
    plain = "yes" if shop.verdicts.plain_comparison else "no"
    rows = [
        Setting("date", "date of the document", serial(record.job.date), "date", "", "job file"),
        Setting("family", "fluid family", car.fluid.family, "text", "", "car file"),
        Setting("variant", "variant", car.car.variant, "text", "", "car file"),
        Setting("basis", "hours quoted", shop.labor.basis, "text", "likely, expected or p80", in_shop),
        Setting("plain", "plain comparison of checks that aren't safety-critical", plain, "text", "", in_shop),
        Setting("supplies_percent", "shop supplies", fees.supplies_percent_of_labor, "number-2", "% of labor", in_shop),
        Setting("supplies_cap", "shop supplies, at most (0: no cap)", fees.supplies_cap, "money", "", in_shop),
        Setting("disposal", "disposal of drained fluid", fees.disposal_per_liter, "money", "a liter", in_shop),
        Setting("tax_scope", "tax reckoned by", tax.scope, "text", "document or line", tax.source),
        Setting("tax_from", "tax in force from", serial(tax.in_force_from), "date", "", tax.source),
        Setting("consent_rule", "rule for exceeding an authorized amount", consent.rule, "text", "", consent.source),
        Setting("consent_flat", "allowed excess, amount", consent.flat, "money", "", consent.source),
        Setting("consent_percent", "allowed excess, percent", consent.percent, "number-2", "%", consent.source),
        Setting(
            "consent_cap", "allowed excess, at most", consent.cap if consent.cap is not None else "", "money", "", ""
        ),
        Setting(
            "consent_on",
            "the authorized amount is compared with",
            consent.on,
            "text",
            "total or before tax",
            consent.source,
        ),
    ]
    rate = Setting("tax_rate", "tax rate, all jurisdictions", appraisal.tax.rate, "percent", "", tax.source)
    return block(
        "setting",
        "Settings",
        [
            Column("label", "setting", "label"),
            Column(
                "value",
                "value",
                lambda row: row.look,
                lambda row: "=SUM({taxpart:percent})/100" if row.ref == "tax_rate" and appraisal.tax_parts else None,
            ),
            Column("unit", "unit", "small"),
            Column("source", "source", "small"),
        ],
        [*rows, rate],
        kind="working",
    )


def _gauges(appraisal: Appraisal) -> Block:
    return block(
        "gauge",
        "Gauges",
        [
            Column("label", "gauge", "label"),
            Column("title", "what it is", "small", value=lambda row: row.gauge.title),
            Column("measures", "measures", value=lambda row: row.gauge.measures),
            Column("kind", "kind"),
            Column("span_si", "span, SI", "factor"),
            Column("top_si", "end of its scale, SI", "factor"),
            Column("accuracy_class", "class, % of span", "number-2"),
            Column("resolution_si", "resolution, SI", "factor"),
            Column("calibrated", "calibrated", "date", value=lambda row: serial(row.calibrated)),
            Column("due", "due", "date", value=lambda row: serial(row.due)),
            Column(
                "u_si",
                "standard uncertainty, SI",
                "factor",
                "=SQRT((({accuracy_class}/100*{span_si})*({accuracy_class}/100*{span_si})"
                "+({resolution_si}/{constant.two.value})*({resolution_si}/{constant.two.value}))/{constant.three.value})",
            ),
            *(
                Column(
                    f"overdue_{phase}",
                    f"out of date {phase} work",
                    "whole",
                    f"=IF(OR({{due}}<{{visit.{phase}.day}},{{calibrated}}>{{visit.{phase}.day}}),1,0)",
                )
                for phase in PHASES
            ),
        ],
        appraisal.gauges,
        note="Uncertainty: class and resolution as rectangular distributions, in quadrature; U is twice that (k = 2).",
    )
