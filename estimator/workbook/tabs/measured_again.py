"""The boxes of further readings, below the pages of After work."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT
from estimator.workbook.book import Box
from estimator.workbook.forms import Form, typed, words
from estimator.workbook.tabs.common import date_box, date_look, list_box, number_box, words_box

NOTE = (
    "A bad reading that became good with no cure in between stands until a third reading with another gauge (visual",
    "checks: by another person) agrees with the better one. Readings that contradict each other stand until one of them",
    "is remeasured here. A line counts with its check, its date and by whom.",
)


def again_form(appraisal: Appraisal, form: Form) -> None:
    """Add the boxes of further readings to a form."""
    labels = tuple(row.label for row in appraisal.plan.checks)
    gauges = tuple(gauge.id for gauge in appraisal.record.shop.gauges)
    form.row("again-title", [words(1, "Remeasured: further readings", "b105")], 26, "band")
    for at, line in enumerate(NOTE, 1):
        form.row(f"again-note-{at}", [words(1, line, "t9")], 12)
    heads = {1: "line", 3: "check", 4: "reading", 6: "gauge", 7: "seen", 8: "by", 10: "date"}
    form.row("again-heads", [words(at, text, "t9") for at, text in heads.items()], 14, "thin")
    boxes: dict[int, tuple[str, Box, str]] = {
        3: (
            "check",
            Box("list", labels, title="Check", prompt="As it is named.", listed="standing:label"),
            "entry-small",
        ),
        4: ("value", number_box("Reading", -60, 100000, "In the unit of the check."), "entry"),
        6: ("gauge", list_box("Gauge", gauges, "The gauge that gave this reading."), "entry-small"),
        7: ("seen", list_box("What was seen", (NO_FAULT, FAULT)), "entry-small"),
        8: ("by", words_box("By", "Who measured or looked."), "entry-small"),
        10: ("date", date_box("Date", "The day of this reading."), date_look(appraisal)),
    }
    for item in appraisal.thirds:
        cells = [
            typed(at, keys.key("again", item.ref, name), getattr(item.line.boxes, name), box, look)
            for at, (name, box, look) in boxes.items()
        ]
        form.row(f"again-{item.ref}", [words(1, item.label, "t9"), *cells], 22, "hair")
