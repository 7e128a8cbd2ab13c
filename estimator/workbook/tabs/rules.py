"""What calls for which job, and which job includes which. On Workings."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.limits.judging.verdict_words import PHASES
from estimator.pricing.calls import CURED, OR, PAST, Call, cured_lines
from estimator.pricing.decisions import AGREED, Inclusion
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.causes_calling import cause_reason, code_cell, code_columns, cured_reason
from estimator.workbook.tabs.check_status import verdict_cell
from estimator.workbook.tabs.common import lookup


def rule_blocks(appraisal: Appraisal) -> tuple[Block, ...]:
    """The rules that tie verdicts to jobs, and jobs to each other. On Workings."""
    words, codes = appraisal.callers.words, code_columns(appraisal) if appraisal.callers.words else {}
    callers = [item for item in appraisal.callers.all for _ in item.cause.lines]
    cured = cured_lines(appraisal.plan, appraisal.callers)
    formulas = [cause_reason(appraisal, item) for item in callers] + [cured_reason(appraisal, item) for item in cured]
    reasons = {call.ref: formula for call, formula in zip(appraisal.calls, formulas, strict=False)}
    judged = {item.ref for item in appraisal.judged}

    def active(item: Call) -> str:
        if item.ref in reasons:
            was = f'"{PAST}"&' if item.verdict == CURED else ""
            return f'=IF({{check}}="","",{was}{{line}})'
        (ref,) = item.findings
        verdicts = item.verdict.split(OR)

        def one_of(*cells: str) -> str:
            conditions = (f'{cell}="{word}"' for cell in cells for word in verdicts)
            return f"OR({','.join(conditions)})"

        either = one_of(*(verdict_cell(appraisal, ref, phase) for phase in PHASES))
        if ref not in words:
            return f'=IF({either},{{line}},"")'
        counts = one_of(f"{{{'heard' if ref in judged else 'seen'}.{ref}.counts}}")
        explained = code_cell(codes, appraisal.callers.check_of[ref])
        return f'=IF({either},IF(AND({counts},{explained}=0),"","{PAST}")&{{line}},"")'

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
                Column("check", "reason", "small", lambda item: reasons.get(item.ref)),
                Column("verdict", "verdict", "small"),
                Column("line", "recommends", "small"),
                Column("active_line", "now", "small", active),
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
                Column("proposed", "recommended (1)", "whole", "=" + lookup("line:offered", "{above}", "line:label")),
            ],
            appraisal.decisions.inclusions,
        ),
    )
