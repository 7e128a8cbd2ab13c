"""How readings were made that can be made in several ways, and their stated uncertainty. On the Inspection tab."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.typed_readings import shown_unit
from estimator.limits.judging.verdict_words import PHASES
from estimator.workbook.book import Block, Box, Column, Line, Lines, Value, block
from estimator.workbook.tabs.common import decimals, list_box, number_box

NOTE = (
    "Blank: the first way. The verdict takes the greater of the stated standard uncertainty (one sigma) and that of gauge and way. "
    "A log without a stated uncertainty counts as a bleed-down by hand."
)
# Common practice, no source, but for the times: tests/test_log_bleeds.py.
BY_HAND = (
    "Bleed-down by hand: wheels chocked, parking brake set, engine disabled, face shield, other users isolated, one "
    "accumulator open, charge settled. Hose fixed on the release screw, its end in a closed container; never a bare screw.",
    "At the knee this system's brakes are gone; the gas side stays charged.",
    "Open the screw a crack: 90 min or more to the drop (30 settling times). Leave it so; write down the last smooth reading.",
    "Three runs, recharged and settled between; enter the middle one. A drop before 45 min is an indication: do not enter it.",
)


def stated_rows(appraisal: Appraisal) -> tuple[CheckRow, ...]:
    """The rows of the inspection that can be read in several ways."""
    return tuple(row for row in appraisal.plan.checks if row.check.read_by)


def stated_lines(appraisal: Appraisal) -> dict[str, Lines]:
    """The bleed-down by hand, above the first precharge."""
    first = next((row.ref for row in stated_rows(appraisal) if row.check.id == "precharge"), None)
    looks = ("caution", "caution", "how", "how")
    return {first: Lines(above=tuple(map(Line, BY_HAND, looks)))} if first else {}


def stated_block(appraisal: Appraisal) -> Block:
    """The boxes for the way of reading and its uncertainty, a row each such check."""
    boxes = appraisal.entries.stated

    def typed(name: str) -> Callable[[CheckRow], Value]:
        return lambda row: getattr(boxes[row.ref], name)

    def unit(row: CheckRow) -> str:
        return shown_unit(row, appraisal.record)

    def ways(row: CheckRow) -> Box:
        return list_box("How read", row.check.read_by, "How this reading was made.")

    uncertainty = number_box("Standard uncertainty", 0, 100000, "One sigma, in the unit of the reading; from a log.")

    def of(phase: str) -> list[Column]:
        return [
            Column(f"how_{phase}", f"{phase} work: how read", "gauge", box=ways, value=typed(f"how_{phase}")),
            Column(
                f"u_{phase}",
                "standard uncertainty",
                lambda row: f"number-{decimals(unit(row))}",
                box=uncertainty,
                unit=unit,
                value=typed(f"u_{phase}"),
            ),
        ]

    before, after = (of(phase) for phase in PHASES)
    return block(
        "stated",
        "How it was read, where there are several ways",
        [
            Column("label", "check", "label"),
            *(Column(f"free_{number}", "", value=lambda _: None) for number in (1, 2)),
            Column("unit", "unit", "text", value=unit),
            *before,
            Column("free_3", "", value=lambda _: None),
            *after,
        ],
        stated_rows(appraisal),
        note=NOTE,
        lines=stated_lines(appraisal),
        row_height=26,
    )
