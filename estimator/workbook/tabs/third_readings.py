"""Which further readings count, and whether they agree with the others of their checks. On Workings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from estimator.appraisal import Appraisal
from estimator.limits.judging.measured_again import Third
from estimator.limits.judging.verdict_words import FAULT, NO_FAULT, PHASES
from estimator.limits.sheet_arithmetic import serial
from estimator.workbook.book import Block, Column, Value, block


def third_block(appraisal: Appraisal) -> Block:
    """How each further reading lies against the others of its check, and against the limits for driving."""
    number_at = {item.label: place for place, item in enumerate(appraisal.judged, 1)}
    return block(
        "third",
        "Remeasured: which readings count, and whether they confirm each other",
        [
            Column("label", "line", "label"),
            *(_typed(name) for name in ("check", "value", "gauge", "seen", "by", "date")),
            *_read_columns(lambda item: number_at.get(item.line.check, 0)),
            *_agreement_columns(),
            *_room_columns(),
            *_word_columns(),
        ],
        appraisal.thirds,
    )


def _typed(name: str) -> Column:
    cell = f"{{again@{name}}}"

    def typed(item: Third) -> Value:
        value = getattr(item.line.boxes, name)
        return serial(value) if isinstance(value, dt.date) else value

    look = "number-3" if name == "value" else "date" if name == "date" else "words"
    return Column(
        f"typed_{name}",
        f"{name}, as typed" + (", in the unit of its check" if name == "value" else ""),
        look,
        f'=IF({cell}="","",{cell})',
        value=typed,
    )


def of_line(name: str) -> Callable[[Third], Value]:
    return lambda item: getattr(item.line, name)


def _whole(name: str, heading: str, formula: str, value: Callable[[Third], Value] | None = None) -> Column:
    return Column(name, heading, "whole", f"={formula}", value=value)


def _figure(name: str, heading: str, formula: str, value: Callable[[Third], Value] | None = None) -> Column:
    """A figure in the unit of its check."""
    return Column(name, f"{heading}, in the unit of its check", "number-3", f"={formula}", value=value)


def _at(name: str, column: str, at: str, otherwise: str) -> str:
    """What stands in a row of a column of another block, or something else where there is no such row."""
    return f"IF({{{at}}}=0,{otherwise},INDEX({{{column}}},{{{at}}}))"


def _read_columns(number_at: Callable[[Third], Value]) -> list[Column]:
    """Which check a line is about, and whether it counts as a reading."""

    def in_gauge(name: str, heading: str, column: str, sign: str) -> Column:
        formula = f"IF({{gauge_at}}=0,0,IF(INDEX({{gauge:{column}}},{{gauge_at}}){sign}{{day}},1,0))"
        return _whole(name, f"{heading} (1)", formula, of_line(name))

    return [
        _whole("by_label", "row by label", "IFERROR(MATCH({typed_check},{standing:label},0),0)", of_line("by_label")),
        _whole("by_ref", "row by reference", "IFERROR(MATCH({typed_check},{standing:ref},0),0)", of_line("by_ref")),
        _whole("at", "row", "IF({by_label}>0,{by_label},{by_ref})", of_line("at")),
        Column("check", "check", "words", "=" + _at("check", "standing:label", "at", '""'), value=of_line("check")),
        _whole("number_at", "row among numbers", "IFERROR(MATCH({check},{judging:label},0),0)", number_at),
        Column("unit", "unit", "words", "=" + _at("unit", "judging:unit", "number_at", '""'), value=of_line("unit")),
        _whole("day", "day", "IF(ISNUMBER({typed_date}),INT({typed_date}),0)", of_line("day")),
        _figure(
            "shown", "reading", 'IF(AND({number_at}>0,ISNUMBER({typed_value})),{typed_value},"")', of_line("shown")
        ),
        Column(
            "gauged",
            "by a gauge",
            "words",
            "=" + _at("gauged", "standing:gauged", "at", '"no"'),
            value=of_line("gauged"),
        ),
        _whole("gauge_at", "row of the gauge", "IFERROR(MATCH({typed_gauge},{gauge:label},0),0)", of_line("gauge_at")),
        _whole(
            "right_kind",
            "gauge of the right kind (1)",
            "IF({gauge_at}*{at}=0,0,IF(INDEX({gauge:kind},{gauge_at})=INDEX({standing:quantity},{at}),1,0))",
            of_line("right_kind"),
        ),
        in_gauge("not_past", "not past its date", "due", ">="),
        in_gauge("calibrated", "calibrated by then", "calibrated", "<="),
        _whole(
            "fits", "its gauge fits (1)", 'IF({gauged}="no",1,{right_kind}*{not_past}*{calibrated})', of_line("fits")
        ),
        Column(
            "seen",
            "seen",
            "words",
            f'=IF(OR({{typed_seen}}="{NO_FAULT}",{{typed_seen}}="{FAULT}"),LOWER({{typed_seen}}),"")',
            value=of_line("seen"),
        ),
        _whole(
            "given",
            "read or seen (1)",
            'IF({number_at}>0,IF(ISNUMBER({shown}),1,0),IF({seen}="",0,1))',
            of_line("given"),
        ),
        _whole(
            "read",
            "counts as a reading (1)",
            'IF(AND({at}>0,{day}>0,{typed_by}<>"",{fits}=1,{given}=1),1,0)',
            of_line("read"),
        ),
        Column("read_check", "check, if it counts", "words", '=IF({read}=1,{check},"")', value=of_line("read_check")),
    ]


def _agreement_columns() -> list[Column]:
    """How far it is from the readings of its check."""

    def raw(phase: str) -> Column:
        cell = f"INDEX({{judging:si_{phase}}},{{number_at}})"
        return _figure(
            f"raw_{phase}",
            f"read {phase} work",
            f'IF({{number_at}}=0,"",IFERROR(({cell}-{{offset}})/{{factor}},""))',
            lambda item: item.raw(phase),
        )

    def apart(name: str, heading: str, other: str) -> Column:
        both = f"AND(ISNUMBER({{shown}}),ISNUMBER({{{other}}}))"
        return _figure(name, heading, f'IF({both},ROUND(ABS({{shown}}-{{{other}}}),6),"")')

    return [
        _whole("phase_after", "better one after work (1)", _at("phase_after", "standing:made_after", "at", "0")),
        raw("before"),
        raw("after"),
        _figure("better", "better reading", "IF({phase_after}=1,{raw_after},{raw_before})"),
        _figure("worse", "worse reading", 'IF({phase_after}=1,{raw_before},"")'),
        apart("off", "off the better", "better"),
        apart("off_worse", "off the worse", "worse"),
        _figure("step", "least step", "IFERROR(INDEX({unit:step},MATCH({unit},{unit:label},0)),0)"),
        _figure(
            "room",
            "may be off by",
            'IF(AND({number_at}>0,ISNUMBER({better})),ROUND({constant.repeat.value}*ABS({better})+{step},6),"")',
        ),
        _whole(
            "closer",
            "not nearer to the worse (1)",
            "IF(ISNUMBER({off_worse}),IF({off}<{off_worse},1,0),1)",
        ),
        _whole("near", "agrees (1)", "IF(AND(ISNUMBER({off}),ISNUMBER({room}),{closer}=1),IF({off}<={room},1,0),0)"),
    ]


def _room_columns() -> list[Column]:
    """How far within the limits for driving it is."""

    def of_judged(name: str, heading: str, otherwise: str = '""') -> Column:
        return Column(name, heading, "factor", "=" + _at(name, f"judging:{name}", "number_at", otherwise))

    def limit_of_judged(name: str, heading: str) -> Column:
        """A check may have no such limit: INDEX makes 0 of an empty cell."""
        cell = f"INDEX({{judging:{name}}},{{number_at}})"
        return Column(name, heading, "factor", f'=IF({{number_at}}=0,"",IF({cell}="","",{cell}))')

    def side(name: str, limit: str, difference: str) -> Column:
        both = f"AND(ISNUMBER({{si}}),ISNUMBER({{{limit}}}))"
        return _figure(name, f"room {name}", f'IF({both},ROUND(({difference})/{{factor}},6),"")')

    return [
        of_judged("factor", "to SI: times"),
        of_judged("offset", "to SI: plus"),
        limit_of_judged("danger_low", "to drive, at least, SI"),
        limit_of_judged("danger_high", "to drive, at most, SI"),
        of_judged("fixed_u", "U as a count", "0"),
        Column(
            "si",
            "in SI",
            "factor",
            '=IF(AND({read}=1,ISNUMBER({shown})),{shown}*{factor}+{offset},"")',
            value=of_line("si"),
        ),
        _figure(
            "u_gauge",
            "U of the gauge",
            "IF({gauge_at}*{number_at}=0,0,ROUND({constant.two.value}*INDEX({gauge:u_si},{gauge_at})/{factor},6))",
        ),
        _figure("u_shown", "U", 'IF({gauged}="yes",{u_gauge},{fixed_u})'),
        side("above", "danger_low", "{si}-{danger_low}"),
        side("below", "danger_high", "{danger_high}-{si}"),
        _figure("margin", "room less U", 'IF(COUNT({above},{below})=0,"",ROUND(MIN({above},{below})-{u_shown},6))'),
    ]


def _word_columns() -> list[Column]:
    """Whether it is a bad reading, or one by another gauge that confirms the better one."""

    def same_by(phase: str) -> str:
        cell = f"{{visit.{phase}.said_by}}"
        return f'IF(OR({cell}="",{cell}={{typed_by}}),1,0)'

    def gauge_of(phase: str) -> str:
        return f"SUM(INDEX({{judging:gauge_at_{phase}}},{{number_at}}))"

    return [
        _whole("cures", "cures done", _at("cures", "standing:cures", "at", "0")),
        _whole("late", "not before a cure (1)", "IF(AND({at}>0,OR({cures}=0,{day}>={visit.after.day})),1,0)"),
        _whole("counts", "counts still (1)", "{read}*{late}"),
        _whole(
            "derived",
            "judged by a working (1)",
            'IF({number_at}=0,0,IF(INDEX({judging:derived},{number_at})="yes",1,0))',
        ),
        _whole("bad_number", "bad number (1)", "IF({derived}=1,1-{near},IF(ISNUMBER({margin}),IF({margin}<0,1,0),0))"),
        _whole("bad", "bad (1)", f'IF({{counts}}=0,0,IF({{number_at}}=0,IF({{seen}}="{FAULT}",1,0),{{bad_number}}))'),
        *(
            _whole(
                f"read_by_{phase}",
                f"row of the gauge {phase} work",
                f"IF({{number_at}}=0,0,{gauge_of(phase)})",
                lambda item, phase=phase: item.read_by_in(phase),  # type: ignore[misc]
            )
            for phase in PHASES
        ),
        _whole("read_by", "row of the better one's gauge", "IF({phase_after}=1,{read_by_after},{read_by_before})"),
        _whole("same_gauge", "by the same gauge (1)", "IF({read_by}={gauge_at},1,0)"),
        _whole("same_by", "by the same person (1)", f"IF({{phase_after}}=1,{same_by('after')},{same_by('before')})"),
        _whole("other", "by another (1)", 'IF({counts}=0,0,IF({gauged}="yes",1-{same_gauge},1-{same_by}))'),
        _whole("agree", "confirms it (1)", "IF(AND({other}=1,{bad}=0,OR({near}=1,{number_at}=0)),1,0)"),
        _whole("apart", "doesn't confirm it (1)", "{other}-{agree}"),
    ]
