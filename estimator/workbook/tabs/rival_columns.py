"""Which of the jobs at a place counts where one is needed at most, and what could be done instead. On Workings."""

from __future__ import annotations

from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.pricing.decisions import AGREED, AUTHORIZED, DECLINED
from estimator.pricing.job_lines import JobLine
from estimator.pricing.offers import BESIDE, could_be_instead, instead_words
from estimator.pricing.plan import PlannedLine
from estimator.pricing.rivals import Rivals, rivals_of
from estimator.workbook.book import Column, Value

_WANTED = f'AND({{line@decision}}<>"{DECLINED}",{{asked}}&{{line@called_by}}&{{line@done}}<>"")'


def rival_columns(appraisal: Appraisal) -> list[Column]:
    """Return the columns of the job lines; those of lines without a group are empty."""
    rivals, instead = rivals_of(appraisal.plan), could_be_instead(appraisal.plan, appraisal.labor.lines)

    def column(
        name: str, heading: str, look: str, formula: Callable[[Rivals], str], value: Callable[[JobLine], Value]
    ) -> Column:
        def of_line(line: JobLine) -> str | None:
            return (formula(rivals[line.ref]) or None) if line.ref in rivals else None

        unit = "of its group" if look == "number-2" else ""
        return Column(
            name, heading, look, of_line, unit=unit, value=lambda line: "" if of_line(line) is None else value(line)
        )

    return [
        Column(
            "place",
            "its place in its group",
            "number-2",
            unit="of its group",
            value=lambda line: rivals[line.ref].place if line.ref in rivals else "",
        ),
        column(
            "wanted", "requested or recommended, not declined (1)", "whole", lambda _: f"=IF({_WANTED},1,0)", _is_wanted
        ),
        column("claim", "its claim in its group", "number-2", _claim, lambda line: line.decided.claim),
        column("settled", "another of its group counts (1)", "whole", _settled, lambda line: line.decided.settled),
        column("instead", "or instead of it", "words", _instead, lambda line: instead_words(instead.get(line.ref, ()))),
    ]


def _is_wanted(line: JobLine) -> int:
    return int(line.decided.decision != DECLINED and bool(line.decided.wanted))


def _claim(mine: Rivals) -> str:
    called = "&".join(f"{{line.{item.ref}.called_by}}" for item in mine.calls)
    return f'=IF({{line@decision}}="{AGREED}",{AUTHORIZED},{{wanted}}*(({called}<>"")+{{place}}))'


def _settled(mine: Rivals) -> str:
    others = ",".join(f"{{line.{other.ref}.claim}}" for other in mine.others)
    return f'=IF(AND({{line@decision}}<>"{AGREED}",MAX({others})>{{claim}}),1,0)'


def _instead(mine: Rivals) -> str:
    def text(other: PlannedLine) -> str:
        its = f"{{line.{other.ref}.claim}}"
        free = f"({AUTHORIZED}-{{claim}})*{its}*({AUTHORIZED}-{its})"
        return f'IF({free}>0,"{BESIDE}or "&{{line.{other.ref}.title}},"")'

    return "=" + "&".join(map(text, mine.apart)) if mine.apart else ""
