"""`Limits`: each limit with its symbols, numbers, result and source, so that it can be redone by hand; below it, how
each reading was judged and where each check stands."""

from __future__ import annotations

from operator import attrgetter

from estimator.appraisal import Appraisal
from estimator.limits.judging.judging import Limits
from estimator.limits.judging.verdict_words import SIDES
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.limits.working import WorkingRow
from estimator.quantities import UNITS, si_unit
from estimator.workbook.book import Block, Column, Tab, Value, block, sections
from estimator.workbook.tabs.basis import unit_ref
from estimator.workbook.tabs.common import CAUTIONS, decimals, head, titled
from estimator.workbook.tabs.judging import SIDE_TITLES, judging_block


def limits(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Limits",
        title=titled("Limits: where each comes from, and how each reading was judged", appraisal),
        head=head(appraisal, "Limits"),
        cautions=CAUTIONS,
        blocks=(
            limit_block(appraisal),
            working_block(appraisal),
            judging_block(appraisal),
        ),
        widths=(42, 46, 16, 13, 15, 15, 14, 14, 16, 26),
    )


def limit_block(appraisal: Appraisal) -> Block:
    labels = {row.label: row for row in appraisal.workings.rows.values()}
    by_label = {row.label: ref for ref, row in appraisal.workings.rows.items()}
    units = {item.limits.ref: item.unit for item in appraisal.judged}

    def figure(item: Limits, side: str) -> str:
        return f"{{working.{by_label[getattr(item, side)]}.si}}"

    def in_si(side: str) -> Column:
        def formula(item: Limits) -> str | None:
            return "=" + figure(item, side) if getattr(item, side) else None

        def value(item: Limits) -> Value:
            return labels[getattr(item, side)].si if getattr(item, side) else ""

        heading = f"{SIDE_TITLES[side]}, SI"
        return Column(side, heading, "factor", formula, unit=lambda item: si_unit(units[item.ref]), value=value)

    def in_unit(side: str) -> Column:
        def formula(item: Limits) -> str | None:
            if not getattr(item, side):
                return None
            unit = UNITS[units[item.ref]]
            zero = f"-{{unit.{unit_ref(units[item.ref])}.offset}}" if unit.offset else ""
            return f'=IFERROR(ROUND(({{{side}}}{zero})/{{unit.{unit_ref(units[item.ref])}.factor}},6),"")'

        def value(item: Limits) -> Value:
            si = labels[getattr(item, side)].si if getattr(item, side) else ""
            unit = UNITS[units[item.ref]]
            return "" if isinstance(si, str) else sheet_round((si - unit.offset) / unit.factor, 6)

        return Column(
            f"{side}_shown",
            SIDE_TITLES[side],
            lambda item: f"number-{decimals(units[item.ref])}",
            formula,
            unit=lambda item: units[item.ref],
            value=value,
        )

    return block(
        "limit",
        "Limits by check and place",
        [
            Column("label", "check", "label"),
            Column("source", "source", "small"),
            *(in_unit(side) for side in SIDES),
            Column("unit", "unit", value=lambda item: units[item.ref]),
            Column("status", "status", "small"),
            *(Column(f"{side}_from", f"{SIDE_TITLES[side]}: figure", value=attrgetter(side)) for side in SIDES),
            *(in_si(side) for side in SIDES),
            Column("sides", "sides that have a figure", "whole"),
            Column("why", "reason there would be none", "small"),
            Column(
                "reason",
                "reason for no limit",
                "small",
                f'=IF(COUNT({",".join(f"{{{side}}}" for side in SIDES)})<{{sides}},{{why}}&"","")',
            ),
        ],
        appraisal.limits,
        note="Outside the service limit: repair. Outside the do-not-drive limit: DO NOT DRIVE. Where the manufacturer's limit and "
        "a computed or published one differ, the stricter decides. Of the hold, the loss is judged; of a precharge, its value at "
        "the manufacturer's reference temperature.",
    )


def working_block(appraisal: Appraisal) -> Block:
    rows = appraisal.workings.rows.values()
    symbols = appraisal.workings.symbols

    def how(row: WorkingRow) -> str:
        """How it is computed, for what that holds, where it comes from."""
        said = (not row.given and f"= {row.in_symbols(symbols)}", row.valid and f"holds for {row.valid}", row.source)
        return "; ".join(text for text in said if text)

    def status(row: WorkingRow) -> str:
        return "" if row.status == "computed" and not row.given else row.status

    return block(
        "working",
        "Workings: each figure can be redone by hand, in SI, from those above it",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is", "small"),
            Column("si", "in SI", "si", lambda row: "=" + row.expression, unit=lambda row: si_unit(row.unit)),
            Column("unit", "SI unit", value=lambda row: si_unit(row.unit)),
            Column("status", "status, if not computed", "small", value=status),
            Column("how", "how it is computed; source", "how", value=how),
        ],
        rows,
        kind="working",
        lines=sections(rows, lambda row: row.scope.replace("-", " ")),
    )
