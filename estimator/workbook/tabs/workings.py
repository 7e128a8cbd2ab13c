"""`Workings`: what every figure of the documents rests on, out of sight: a table or a working for each step."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from estimator.appraisal import Appraisal, Visit
from estimator.workbook.book import Block, Column, Tab, Value, block
from estimator.workbook.tabs.check_status import looked_block, standing_block
from estimator.workbook.tabs.common import CAUTIONS, head, titled
from estimator.workbook.tabs.concerns import concern_block, state_block
from estimator.workbook.tabs.consent import consent_block, consenting_block
from estimator.workbook.tabs.declined import declined_block
from estimator.workbook.tabs.extra_lines import extra_block, visit_hours_block
from estimator.workbook.tabs.form_rows import FormPlace
from estimator.workbook.tabs.journal import balance_block, entry_block
from estimator.workbook.tabs.lines import line_block
from estimator.workbook.tabs.offers import offer_block, unsure_block
from estimator.workbook.tabs.parts import change_block, part_block, price_block
from estimator.workbook.tabs.pressures import drawn_block
from estimator.workbook.tabs.rules import rule_blocks
from estimator.workbook.tabs.said_limits import said_block
from estimator.workbook.tabs.self_checks import self_block
from estimator.workbook.tabs.signs import sign_blocks
from estimator.workbook.tabs.steps import flag_block, own_block, shared_block, voiding_block
from estimator.workbook.tabs.third_readings import third_block
from estimator.workbook.tabs.totals import tax_split_block, total_block


def workings(appraisal: Appraisal, places: Mapping[str, FormPlace]) -> Tab:
    """places: of the numbers on the tabs of the inspection, by phase."""
    return Tab(
        name="Workings",
        title=titled("Workings: what the documents rest on", appraisal),
        head=head(appraisal, "Workings"),
        cautions=CAUTIONS,
        blocks=(
            state_block(appraisal),
            concern_block(appraisal, places),
            looked_block(appraisal),
            standing_block(appraisal),
            third_block(appraisal),
            said_block(appraisal),
            drawn_block(appraisal),
            _visit_block(appraisal),
            line_block(appraisal),
            own_block(appraisal),
            shared_block(appraisal),
            flag_block(appraisal),
            voiding_block(appraisal),
            visit_hours_block(appraisal),
            price_block(appraisal),
            change_block(appraisal),
            part_block(appraisal),
            extra_block(appraisal),
            unsure_block(),
            offer_block(appraisal),
            declined_block(appraisal),
            total_block(appraisal),
            tax_split_block(appraisal),
            consent_block(appraisal),
            consenting_block(appraisal),
            entry_block(appraisal),
            balance_block(appraisal),
            self_block(appraisal),
            *rule_blocks(appraisal),
            *sign_blocks(appraisal),
        ),
        widths=(30, 24, 14, 14, 14, 14, 14, 14, 14, 14),
        hidden=True,
    )


def _visit_block(appraisal: Appraisal) -> Block:
    in_order = "AND(ISNUMBER({typed}),ISNUMBER({visit.before.typed})),IF({typed}>={visit.before.typed},1,0),1"
    return block(
        "visit",
        "When the readings were taken",
        [
            Column("label", "phase", "label"),
            Column("said_by", "by", "words", '={visit@by}&""', value=lambda visit: visit.by),
            Column(
                "typed", "day as typed", "date", '=IF(ISNUMBER({visit@date}),INT({visit@date}),"")', value=_typed_day
            ),
            Column("day", "taken as", "date", "=IF(ISNUMBER({typed}),{typed},{setting.date.value})"),
            Column("in_order", "not before the others (1)", "whole", f"=IF({in_order})"),
        ],
        appraisal.visits,
    )


def _typed_day(visit: Visit) -> Value:
    return visit.day if isinstance(visit.date, dt.date | float) else ""
