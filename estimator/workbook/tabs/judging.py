"""How each number was judged: what is judged, its uncertainty, its room to the limits, the words. On the Limits tab."""

from __future__ import annotations

from estimator.appraisal import Appraisal
from estimator.boxes import keys
from estimator.limits.judging.judging import Judged
from estimator.limits.judging.verdict_words import PHASES, SIDES
from estimator.records import kind_of
from estimator.workbook.book import Block, Column, block
from estimator.workbook.tabs.phase_columns import PhaseColumns, in_si, some

SIDE_TITLES = {
    "service_low": "service limit, low",
    "service_high": "service limit, high",
    "danger_low": "do-not-drive limit, low",
    "danger_high": "do-not-drive limit, high",
}
NOTE = (
    "A reading is within limits only if it clears them by U, out of limits only if it misses them by U. One that is not "
    "believable counts as not measured. A cell stays empty where the check has no such limit."
)


def judging_block(appraisal: Appraisal) -> Block:
    phases = [PhaseColumns.of(appraisal, phase) for phase in PHASES]
    held = phases[0].held

    def plain(item: Judged) -> str | None:
        return None if item.row.check.safety else '=IF({setting.plain.value}="yes",1,0)'

    def again(item: Judged) -> str | None:
        return '=IFERROR(INDEX({third:si},MATCH({label},{third:read_check},0)),"")' if item.ref in held else None

    def side(name: str) -> Column:
        def formula(item: Judged) -> str | None:
            return f"={{limit.{item.limits.ref}.{name}}}" if getattr(item.limits, name) else None

        return some(name, f"{SIDE_TITLES[name]}, SI", "factor", formula, lambda item: item.values[name], in_si)

    return block(
        "judging",
        "How each number was judged",
        [
            Column("label", "check", "label"),
            Column("kind", "kind", value=lambda item: item.row.check.kind),
            Column("unit", "unit"),
            Column("quantity", "quantity", value=lambda item: kind_of(item.row.check.quantity)),
            Column("derived", "judged by a working", value=lambda item: "yes" if item.derived.before else ""),
            Column("fixed_u", "U as a count", "number-2"),
            Column("safety", "safety", value=lambda item: "yes" if item.row.check.safety else "no"),
            Column("factor", "to SI: times", "factor"),
            Column("offset", "to SI: plus", "number-4", sparse=True),
            Column("after_number", "unit as it is said", value=lambda item: item.said_unit),
            Column("digits", "decimals", "whole"),
            some("plain", "plain comparison (1)", "whole", plain, lambda item: item.plain),
            *map(side, SIDES),
            some(
                "again_si",
                "remeasured, SI",
                "factor",
                again,
                lambda item: appraisal.workings.readings[keys.again_si(item.ref)],
                in_si,
            ),
            *(column for phase in phases for column in phase.columns()),
        ],
        appraisal.judged,
        note=NOTE,
    )
