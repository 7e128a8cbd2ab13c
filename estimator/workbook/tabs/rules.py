"""What calls for which job, and which job includes which. On Workings."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.limits.judging.verdict_words import PHASES
from estimator.pricing.calls import Call
from estimator.pricing.decisions import AGREED, Inclusion
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.check_status import verdict_cell
from estimator.workbook.tabs.common import lookup
from estimator.workbook.tabs.signs import (
    COUNTS_AS,
    calls_formula,
    likely_formula,
    said_cells,
    said_groups,
    sign_cell,
    signs_formula,
)


def rule_blocks(appraisal: Appraisal) -> tuple[Block, ...]:
    """The rules that tie verdicts to jobs, and jobs to each other. On Workings."""
    judged = {item.ref for item in appraisal.judged}
    callers = appraisal.callers

    def active(item: Call) -> str:
        if item.caller is not None:
            return calls_formula(appraisal, item.caller)
        (ref,) = item.findings
        if ref not in callers.words:
            cells = [verdict_cell(appraisal, ref, phase) for phase in PHASES]
            either = ",".join(f"{cell}={{{verdict}}}" for cell in cells for verdict in ("verdict", "also"))
            return f'=IF(OR({either}),{{line}},"")'
        check = callers.check_of[ref]
        group = next(iter(said_groups(appraisal, check)))
        counts = sign_cell(group, ref, COUNTS_AS) if ref in judged else f"{{seen.{check}.word}}"
        said = "&".join(said_cells(appraisal, ref))
        return f'=IF(AND({said}="",OR({counts}={{verdict}},{counts}={{also}})),{{line}},"")'

    decision = "{line.REF.decision}"
    refs = {line.label: line.ref for line in appraisal.labor.lines}

    def agreed(item: Inclusion) -> str:
        return f'=IF({decision.replace("REF", refs[item.above])}="{AGREED}",1,0)'

    return (
        block(
            "call",
            "Which verdict recommends which job",
            [
                Column("label", "rule", "label"),
                Column("check", "check, or what readings point to", "small"),
                Column("verdict", "verdict, or cause", "small"),
                Column("also", "or", "small"),
                Column("line", "recommends", "small"),
                Column("likely", "probable enough, its job not done (1)", "whole", likely_formula),
                Column("active_line", "now", "small", active),
                Column("signs", "signs of it", "small", lambda item: signs_formula(appraisal, item)),
            ],
            appraisal.calls,
        ),
        block(
            "includes",
            "Which job includes which",
            [
                Column("label", "rule", "label"),
                Column("above", "while this job counts", "small"),
                Column("below", "this one doesn't", "small"),
                Column("agreed", "authorized (1)", "whole", agreed),
                Column(
                    "proposed", "recommended (1)", "whole", f"=MAX(0,{lookup('line:offered', '{above}', 'line:label')})"
                ),
            ],
            appraisal.decisions.inclusions,
        ),
    )
