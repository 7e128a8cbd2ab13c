"""The boxes of further readings. On the Inspection tab."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT
from estimator.workbook.book import Block, Box, Column, block
from estimator.workbook.tabs.common import list_box, number_box, words_box

NOTE = (
    "A bad reading that became good with no cure in between stands until a third reading with another gauge (of what is "
    "looked at: by another person) agrees with the better one. Readings that contradict each other stand until one of "
    "them is measured again here."
)


def again_block(appraisal: Appraisal) -> Block:
    """The boxes of further readings."""
    labels = tuple(row.label for row in appraisal.plan.checks)
    gauges = tuple(gauge.id for gauge in appraisal.record.shop.gauges)

    def typed(name: str, heading: str, box: Box, look: str = "gauge") -> Column:
        return Column(name, heading, look, box=box, value=lambda item: getattr(item.line.boxes, name))

    check = Box("list", labels, title="Check", prompt="The check, as it is named above.", listed="standing:label")
    value = number_box("Reading", -60, 100000, "In the unit of the check.")
    return block(
        "again",
        "Measured again",
        [
            Column("label", "line", "label"),
            *(Column(f"free_{number}", "", value=lambda _: None) for number in (1, 2, 3)),
            typed("check", "check", check),
            typed("value", "reading, in the unit of its check", value, "entry"),
            typed("gauge", "gauge", list_box("Gauge", gauges, "The gauge that gave this reading.")),
            typed("seen", "seen", list_box("What was seen", (NO_FAULT, FAULT))),
            typed("by", "by", words_box("By", "Who measured or looked.")),
            typed("date", "date", Box("date", title="Date", prompt="The day of this reading."), "date"),
        ],
        appraisal.thirds,
        note=NOTE,
        row_height=26,
    )
