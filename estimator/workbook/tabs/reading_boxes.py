"""The box of a reading: what it takes, and what is believed of it."""

from __future__ import annotations

from estimator.limits.judging.check_rows import CheckRow
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import FAMILY_WORDS, LOOK_WORDS
from estimator.workbook.book import Box
from estimator.workbook.tabs.common import list_box, number_box, words_box


def believed(item: Judged, box: Box) -> tuple[float, float] | None:
    """The numbers that are believed of a reading, in the shown unit; None where only its verdict can tell."""
    found, labels = item.phases["before"], item.believable
    alike = labels.of("before", "low") == labels.of("after", "low") and labels.of("before", "high") == labels.of(
        "after", "high"
    )
    ends = (found.believe_low, found.believe_high)
    if item.row.check.judged or not alike or not (labels.low_before or labels.high_before) or box.low is None:
        return None
    low, high = ("" if isinstance(si, str) else round((si - item.offset) / item.factor, 3) for si in ends)
    assert box.high is not None
    return (box.low if isinstance(low, str) else max(low, box.low), box.high if isinstance(high, str) else high)


def reading_box(row: CheckRow) -> Box:
    check = row.check
    if check.kind == "look":
        return list_box("What was seen", LOOK_WORDS, check.how)
    if check.kind == "family":
        return list_box("Fluid family", FAMILY_WORDS, check.how)
    if check.kind == "text":
        return words_box(check.title, check.how)
    low = -60.0 if check.quantity == "temperature" else 0.0
    return number_box(check.title, low, _most(check.quantity), check.how)


def _most(quantity: str) -> float:
    """The largest number that a box takes: what no gauge of this trade shows, in any of the units."""
    return {"pressure": 100000.0, "count": 200.0, "age": 100.0, "ratio": 100.0, "angle": 90.0}.get(quantity, 10000.0)
