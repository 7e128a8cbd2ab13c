"""What hours, money and decisions of each job line rest on. On Workings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import AGREED, DECLINED, DONE, SINCE
from estimator.pricing.job_lines import JobLine
from estimator.pricing.rivals import rivals_of
from estimator.workbook.book import Block, Column, Value, block
from estimator.workbook.tabs.common import lookup
from estimator.workbook.tabs.rival_columns import rival_columns
from estimator.workbook.tabs.steps import grid_span


def _of(name: str) -> Callable[[JobLine], Value]:
    return lambda line: getattr(line.decided, name)


def _work(name: str) -> Callable[[JobLine], Value]:
    return lambda line: getattr(line.decided.work, name)


def _some(
    name: str, heading: str, look: str, formula: Callable[[JobLine], str | None], value: Callable[[JobLine], Value]
) -> Column:
    """A column of the lines alone that a formula concerns."""
    return Column(name, heading, look, formula, value=lambda line: "" if formula(line) is None else value(line))


def line_block(appraisal: Appraisal) -> Block:
    money = appraisal.record.shop.shop.currency
    rebuilt = {item.line.ref: item.rebuilt for item in appraisal.job_sums}
    below = {item.below for item in appraisal.decisions.inclusions}

    def included(case: str) -> Column:
        formula = f"=IF(COUNTIFS({{includes:below}},{{label}},{{includes:{case}}},1)>0,1,0)"
        return _some(
            f"included_{case}",
            f"included in another, {case} (1)",
            "whole",
            lambda line: formula if line.label in below else None,
            _of(f"included_{case}"),
        )

    rivals = rivals_of(appraisal.plan)

    def done(words: str) -> str:
        return f"=IF(AND({{earlier}}=0,{words}),1,0)"

    def is_offered(line: JobLine) -> str:
        wanted = "{wanted}" if line.ref in rivals else 'IF({asked}&{line@called_by}&{line@done}="",0,1)'
        still = f'IF({{line@decision}}="{DECLINED}",-1,{wanted})'
        counts = f"(1-{{settled}})*{still}" if line.ref in rivals else still
        return f'=IF({{line@decision}}="{AGREED}",1,{counts})'

    refused = {item.job.ref: item.number for item in appraisal.declined if item.job}
    return block(
        "line",
        "Job lines",
        [
            Column("label", "line", "label"),
            Column("title", "job", value=lambda line: line.line.short_title),
            Column("asked", "requested", value=_of("asked")),
            Column("rate_id", "kind of work", value=lambda line: line.line.job.rate),
            Column("order", "order", "whole"),
            Column("safety", "safety", value=lambda line: line.line.job.safety),
            Column("rebuilt", "rebuilt parts", "whole", value=lambda line: rebuilt[line.ref], sparse=True),
            Column("job_id", "job's id", value=lambda line: line.line.job.job_id),
            Column("earlier", "completed before the readings (1)", "whole", value=_work("earlier"), sparse=True),
            Column("rate", f"{money} an hour", "money", "=" + lookup("rate:per_hour", "{rate_id}", "rate:label")),
            Column(
                "offered",
                "offered (1), declined (-1)",
                "whole",
                is_offered,
                value=lambda line: line.decided.offered - line.decided.declined,
            ),
            included("agreed"),
            included("proposed"),
            *_counts(below),
            Column(
                "rank",
                "number on the estimate, among declined (-)",
                "whole",
                '=IF({offered}<0,-COUNTIFS({line:offered},"<0",{line:order},"<="&{order}),'
                '{proposed}*SUMIFS({line:proposed},{line:order},"<="&{order}))',
                value=lambda line: line.rank or -refused.get(line.ref, 0),
            ),
            Column(
                "done_flag",
                "completed (1)",
                "whole",
                done(f'OR({{line@done}}="{DONE}",{{line@done}}="{SINCE}")'),
                value=_work("done_now"),
            ),
            Column(
                "since_flag",
                "completed since (1)",
                "whole",
                done(f'{{line@done}}="{SINCE}"'),
                value=_work("done_since"),
            ),
            Column(
                "touched",
                "touched by others (1)",
                "whole",
                "=IF(COUNTIF({extra:voiding},{job_id})>0,1,0)",
                value=_work("touched"),
            ),
            *_hours(appraisal),
            *_money(money),
            *_parts(appraisal),
            *rival_columns(appraisal),
        ],
        appraisal.labor.lines,
    )


def _counts(below: set[str]) -> list[Column]:
    def counts(case: str, otherwise: str, alone: str) -> Column:
        return Column(
            case,
            f"counts, {case} (1)",
            "whole",
            lambda line: otherwise if line.label in below else alone,
        )

    return [
        counts(
            "agreed",
            f'=IF(AND({{line@decision}}="{AGREED}",{{included_agreed}}=0),1,0)',
            f'=IF({{line@decision}}="{AGREED}",1,0)',
        ),
        counts("proposed", "=MAX(0,{offered})*(1-{included_proposed})", "=MAX(0,{offered})"),
    ]


def _hours(appraisal: Appraisal) -> list[Column]:
    """Sums over the steps of each line, own and shared, and its share of the visit."""

    def sums(column: str) -> str:
        return f"SUMIFS({{own:{column}}},{{own:line}},{{label}})"

    expected = f"({sums('low')}+{{constant.four.value}}*{{own_likely}}+{sums('high')})/{{constant.six.value}}"

    def share(case: str) -> Column:
        hours = "{own_quoted}+" + shared_sum(appraisal, f"part_quoted_{case}")
        spread = f"{{hour.z.agreed}}*{{variance_{case}}}*{{hour.per_deviation.{case}}}"
        return Column(f"share_{case}", f"hours, {case}", "hours", f"={{{case}}}*({hours})+{spread}")

    def variance(case: str) -> Column:
        parts = shared_sum(appraisal, f"part_variance_{case}")
        return Column(
            f"variance_{case}",
            f"variance, {case}, h²",
            "number-4",
            f"={{{case}}}*({{own_variance}}+{parts})",
            value=lambda line: getattr(line.hours, case).variance,
        )

    return [
        Column("own_likely", "own hours, likely", "hours", f"={sums('likely')}"),
        Column(
            "own_expected", "own hours, expected", "hours", f"={expected}", value=lambda line: line.hours.own.expected
        ),
        Column(
            "own_variance",
            "own variance, h²",
            "number-4",
            "=SUMIFS({own:variance},{own:line},{label})",
            value=lambda line: line.hours.own.variance,
        ),
        Column(
            "own_quoted",
            "own hours",
            "hours",
            '=IF({setting.basis.value}="likely",{own_likely},{own_expected})',
            value=lambda line: line.hours.own.quoted,
        ),
        variance("agreed"),
        variance("proposed"),
        share("agreed"),
        share("proposed"),
        Column(
            "sole_variance",
            "variance only it needs, h²",
            "number-4",
            "={proposed}*({own_variance}+" + shared_sum(appraisal, "sole_variance") + ")",
            value=lambda line: line.hours.sole.variance,
        ),
    ]


def shared_sum(appraisal: Appraisal, column: str, order: str = "{order}") -> str:
    """The sum of a column of the shared steps over those that a line may need.

    The grid as a whole: Gnumeric gives #REF! for a column that INDEX picks (a row of 0)."""
    span = grid_span(appraisal)
    return f"SUMPRODUCT({{shared:{column}}}*{{shared:{span}}}*({{flag.order.{span}}}={order}))"


def _money(money: str) -> list[Column]:
    def amount(case: str) -> Column:
        return Column(f"amount_{case}", f"{case}, {money}", "money", f"=ROUND(ROUND({{share_{case}}}*{{rate}},8),2)")

    def tax(case: str) -> Column:
        formula = f"=ROUND({{amount_{case}}}*{{setting.tax_rate.value}}*{{taxclass.labor.taxed}},2)"
        return Column(f"tax_{case}", f"tax alone, {case}", "money", formula)

    return [*map(amount, ("agreed", "proposed")), *map(tax, ("agreed", "proposed"))]


def _parts(appraisal: Appraisal) -> list[Column]:
    """What the parts of each line come to, taken or not."""
    sums = {item.line.ref: item for item in appraisal.job_sums}
    mine: dict[str, list[Any]] = {}
    for part in appraisal.parts:
        mine.setdefault(part.line, []).append(part)

    def total(column: str, wanted: Callable[[Any], bool]) -> Callable[[JobLine], str | None]:
        def formula(line: JobLine) -> str | None:
            parts = mine.get(line.label, [])
            if not any(map(wanted, parts)):
                return None
            return f"=SUM({{part.{parts[0].ref}.{column}~part.{parts[-1].ref}.{column}}})"

        return formula

    def taxed(line: JobLine) -> str | None:
        classes = {part.tax_class: part for part in mine.get(line.label, [])}
        if not classes:
            return None
        if len(classes) == 1:
            return f"={{taxclass.{min(classes)}.taxed}}*{{parts}}"
        terms = [f"{{taxclass.{part.tax_class}.taxed}}*{{part.{part.ref}.amount}}" for part in mine[line.label]]
        return "=" + "+".join(terms)

    def always(_: Any) -> bool:
        return True

    def odd(line: JobLine) -> str | None:
        """Parts of the tables are of the car's family: only what is taken in the place of one may not be."""
        return "=SUMIFS({change:odd},{change:line},{label})" if line.label in mine else None

    return [
        _some("parts", "parts", "money", total("amount", always), lambda line: sums[line.ref].parts),
        _some("parts_taxed", "parts that are taxed", "money", taxed, lambda line: sums[line.ref].taxed),
        _some("part_tax", "tax on parts alone", "money", total("tax", always), lambda line: sums[line.ref].tax),
        _some(
            "core",
            "core deposits",
            "money",
            total("core", lambda part: bool(part.deposit_each)),
            lambda line: sums[line.ref].core,
        ),
        _some(
            "core_tax",
            "tax on them alone",
            "money",
            total("core_tax", lambda part: bool(part.deposit_each)),
            lambda line: sums[line.ref].core_tax,
        ),
        _some("odd", "parts of a wrong family", "whole", odd, lambda line: sums[line.ref].odd),
    ]
