"""Recommended jobs whose rows are folded away on the Work tab, so that nobody sees them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.errors import Finding
from estimator.readback.cells import SheetCells
from estimator.workbook.layout import Layout


def folded_rows(appraisal: Appraisal, layout: Layout, sheets: Mapping[str, SheetCells]) -> Iterator[Finding]:
    """A job that was recommended after its row was folded: a stop where the car is grounded by what recommends it."""
    grounding = {item.ref for item in appraisal.concerns}
    urgent = {call.line for call in appraisal.calls if call.active and not grounding.isdisjoint(call.findings)}
    urgent |= {line for line, refs in appraisal.past.items() if not grounding.isdisjoint(refs)}
    urgent |= {above.label for above, below in appraisal.plan.supersedes if below.label in urgent}
    for line in appraisal.labor.lines:
        key = keys.decision(line.ref)
        tab, row, _ = layout.address(key)
        if line.proposed and tab in sheets and row in sheets[tab].look.hidden_rows:
            what = f"{line.line.title}: recommended, but its row is folded away"
            fix = "open the outline at the left of the Work tab; fill and redraft open the row"
            yield Finding("row-folded", "stop" if line.label in urgent else "warn", what, fix, tab="Work", key=key)
