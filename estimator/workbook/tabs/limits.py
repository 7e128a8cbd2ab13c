"""`Limits`: each limit with its symbols, numbers, result and source, so that it can be redone by hand; below it, how
each reading was judged and where each check stands."""

from __future__ import annotations

import textwrap
from operator import attrgetter

from estimator.appraisal import Appraisal
from estimator.limits.judging.judging import Limits
from estimator.limits.judging.verdict_words import SIDES
from estimator.limits.sheet_arithmetic import sheet_round
from estimator.quantities import UNITS, si_unit
from estimator.workbook.book import Block, Column, Line, Lines, Tab, Value, block, sections
from estimator.workbook.tabs.basis import unit_ref
from estimator.workbook.tabs.common import WORKSHOP_CAUTIONS, decimals, head, titled
from estimator.workbook.tabs.judging import SIDE_TITLES, judging_block

_LONGEST_LINE = 190


def limits(appraisal: Appraisal) -> Tab:
    return Tab(
        name="Limits",
        title=titled("Limits: where each comes from, and how each reading was judged", appraisal),
        head=head(appraisal, "Limits"),
        cautions=WORKSHOP_CAUTIONS,
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
        note="The service limit calls for a job; the limit to drive concerns driving. Where the maker's limit and a computed or "
        "published one differ, the stricter decides. "
        "Of the hold, the loss is judged; of a precharge, what it is at the maker's temperature.",
    )


def working_block(appraisal: Appraisal) -> Block:
    rows = appraisal.workings.rows.values()
    return block(
        "working",
        "Workings: each figure can be redone by hand, in SI, from those above it",
        [
            Column("label", "figure", "label"),
            Column("title", "what it is", "small"),
            Column("si", "in SI", "si", lambda row: "=" + row.expression, unit=lambda row: si_unit(row.unit)),
            Column("unit", "SI unit", value=lambda row: si_unit(row.unit)),
            Column("status", "status", "small"),
        ],
        rows,
        kind="working",
        lines=working_lines(appraisal),
    )


def working_lines(appraisal: Appraisal) -> dict[str, Lines]:
    """About each figure: its subject above; below, how it is computed, for what that holds, where it comes from."""
    rows = appraisal.workings.rows.values()
    symbols = appraisal.workings.symbols
    found = sections(rows, lambda row: row.scope.replace("-", " "))
    for row in rows:
        said = [f"= {row.in_symbols(symbols)}"]
        said += [f"holds for {row.valid}"] if row.valid else []
        said += [row.source] if row.source else []
        above = found.get(row.ref, Lines()).above
        found[row.ref] = Lines(above, tuple(Line(text, "how") for text in _in_lines("; ".join(said))))
    return found


def _in_lines(text: str) -> list[str]:
    """A text in lines that fit on a page."""
    return textwrap.wrap(text, _LONGEST_LINE, break_long_words=False, break_on_hyphens=False)
