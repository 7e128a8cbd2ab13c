"""What the customer declined: what it is, what that leaves in the car, who declined it and when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging.standing import Standing
from estimator.limits.sheet_arithmetic import serial
from estimator.pricing.consents import DECLINING
from estimator.pricing.offers import Declined, declined_of
from estimator.workbook.book import Block, Column, Value, block, positions
from estimator.workbook.forms import Form, live, words
from estimator.workbook.tabs.common import date_look
from estimator.workbook.tabs.offers import UNSURE_FORMULA, customer_words

NOT_CALLED = "No finding requires it."
REMAINS, GROUNDED = "Left as found: ", " The car must not be driven."


def remains(item: Declined, standing: Standing | None) -> str:
    """What a declined item leaves in the car, to the customer. standing: of the check that calls for it, if it is one."""
    if not item.called_by:
        return ""
    return f"{REMAINS}{_what(item, standing)}.{GROUNDED if _grounds(item, standing) else ''}"


def _what(item: Declined, standing: Standing | None) -> str:
    if standing is None:
        return item.called_by
    return customer_words(item.called_by, standing.latest, standing.row.told)


def _grounds(item: Declined, standing: Standing | None) -> int:
    """Whether it keeps the car off the road: by its check or, where a cause calls for it, as safety work."""
    if standing is not None:
        return int(bool(standing.concern))
    return int(item.job is not None and item.job.line.job.safety == "yes")


def rows_of(appraisal: Appraisal) -> tuple[tuple[Declined, Standing | None], ...]:
    """Return the rows of the Estimate, each with the check that calls for it."""
    by_label = {item.label: item for item in appraisal.standings}
    rows = declined_of(appraisal.labor.lines, appraisal.extras, appraisal.record.room.declined)
    return tuple((item, by_label.get(item.called_by)) for item in rows)


def declined_block(appraisal: Appraisal) -> Block:
    rows, at = rows_of(appraisal), positions(appraisal.standings)
    standing = {item.ref: found for item, found in rows}

    def column(
        name: str, heading: str, formula: str, value: Callable[[Declined], Value] | None = None, look: str = "words"
    ) -> Column:
        return Column(name, heading, look, f"={formula}", value=value)

    def of_check(read: Callable[[Standing], Value]) -> Callable[[Declined], Value]:
        return lambda item: "" if (found := standing[item.ref]) is None else read(found)

    called = 'INDEX({call:check},MATCH("job "&{line_at},{call:active_line},0))'
    told = "IFERROR(INDEX({standing:told},{at}),{called_by})"
    return block(
        "declined",
        "What was declined",
        [
            Column("label", "item", "label"),
            Column("number", "number", "whole"),
            column("line_at", "row of the job", 'IFERROR(MATCH(-{number},{line:rank},0),"")', look="whole"),
            column(
                "extra_at", "row of another line", 'IFERROR(MATCH(-{number},{extra:declined_no},0),"")', look="whole"
            ),
            column("called_by", "recommended because of", f'IFERROR({called}&"","")'),
            column(
                "at",
                "row of the check",
                'IFERROR(MATCH({called_by},{standing:label},0),"")',
                of_check(lambda found: at[found.ref]),
                "whole",
            ),
            column(
                "latest",
                "its latest verdict",
                'IFERROR(INDEX({standing:latest},{at})&"","")',
                of_check(lambda found: found.latest),
            ),
            column(
                "what",
                "what remains, to the customer",
                UNSURE_FORMULA.replace("TOLD", told),
                lambda item: _what(item, standing[item.ref]),
            ),
            column(
                "grounds",
                "grounds the car (1)",
                'IFERROR(IF(INDEX({standing:concern},{at})=1,1,0),COUNTIFS({line:rank},-{number},{line:safety},"yes"))',
                lambda item: _grounds(item, standing[item.ref]),
                "whole",
            ),
            column(
                "said",
                "as the Estimate says it",
                f'IF({{called_by}}="","","{REMAINS}"&{{what}}&"."&LEFT("{GROUNDED}",100*{{grounds}}))',
                lambda item: remains(item, standing[item.ref]),
            ),
        ],
        [item for item, _ in rows],
    )


def declined_rows(form: Form, appraisal: Appraisal, last: int) -> None:
    """Add what was declined, who declined it and when."""
    for item, standing in rows_of(appraisal):
        of = f"declined.{item.ref}"
        title = f'IFERROR(INDEX({{line:title}},{{{of}.line_at}}),IFERROR(INDEX({{extra:title}},{{{of}.extra_at}}),""))'
        key = f"{form.name}.{of}.title"
        form.row(f"{of}-title", [live(2, title, item.title, "b10", key=key)], 15)
        said = f'IF(OR({{{key}}}="",{{{of}.said}}<>""),{{{of}.said}}&"","{NOT_CALLED}")'
        value = remains(item, standing) or (NOT_CALLED if item.title else "")
        form.row(f"{of}-said", [live(2, said, value, "t95")], 13, "hair")
    number = declining(appraisal)
    refs = [item.ref for item in appraisal.consents]
    boxes = appraisal.entries.consents[str(number)] if number else None
    day = "" if boxes is None else serial(boxes.date) if isinstance(boxes.date, dt.date) else boxes.date

    def typed(name: str) -> str:
        whole = f"{{consent.{refs[0]}.{name}~consent.{refs[-1]}.{name}}}"
        return f'IF({{state.declining.value}}=0,"",INDEX({whole},{{state.declining.value}}))'

    form.row(
        "declined-by",
        [
            words(2, "declined by, date, signature", "t105"),
            live(4, typed("who"), boxes.who if boxes else "", "paper"),
            words(5, "", "paper"),
            live(6, typed("date"), day, date_look(appraisal, "date-paper")),
            words(last, "", "paper"),
        ],
        26,
    )


def declining(appraisal: Appraisal) -> int:
    """The number of the last authorization by which safety work is declined; 0 for none."""
    return max((item.number for item in appraisal.consents if item.declines), default=0)


def declining_formula(appraisal: Appraisal) -> str:
    """The same in the sheet."""
    first, last = appraisal.consents[0].ref, appraisal.consents[-1].ref
    stages = f"{{consent.{first}.stage~consent.{last}.stage}}"
    numbers = f"{{estimate_sums.consent-{first}.c1~estimate_sums.consent-{last}.c1}}"
    return f'SUMPRODUCT(MAX({{consent:told}}*({stages}="{DECLINING}")*{numbers}))'
