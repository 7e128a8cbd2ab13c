"""`Causes`: each hypothesis weighed against the readings, live; out of sight. What it comes to stands on the Summary."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.workbook.book import Tab
from estimator.workbook.tabs.causes_beside import beside_blocks
from estimator.workbook.tabs.causes_heard import heard_blocks
from estimator.workbook.tabs.causes_joint import joint_blocks
from estimator.workbook.tabs.causes_next import NextStep
from estimator.workbook.tabs.causes_rows import row_block
from estimator.workbook.tabs.causes_told import Told
from estimator.workbook.tabs.common import head, titled
from estimator.workbook.tabs.signs import picked_block


def causes(appraisal: Appraisal) -> tuple[Tab, ...]:
    """The tab, where the car's data allow hypotheses."""
    found = appraisal.diagnosis.arithmetic
    if found is None:
        return ()
    told = Told(found, appraisal.judged)
    groups = [row_block(group, told) for group in found.groups]
    return (
        Tab(
            name="Causes",
            title=titled("Causes: hypotheses weighed against the latest readings", appraisal),
            head=head(appraisal, "Causes"),
            cautions=(),
            blocks=(
                told.block(),
                *NextStep(appraisal).blocks(),  # whose formulas are long: among the short addresses
                *groups,
                *heard_blocks(appraisal),
                *joint_blocks(appraisal),
                picked_block(appraisal),
                *beside_blocks(appraisal),
            ),
            widths=(22, 34, *[12] * 24),
            hidden=True,
        ),
    )
