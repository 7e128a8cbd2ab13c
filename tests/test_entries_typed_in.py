"""entries.csv typed into the boxes of a workbook: units, short keys, notes, and every refusal at its line."""

import datetime as dt

import pytest
from boxes_by_key import appraise_boxes, first_boxes
from cli_runs import SMALL

from estimator.errors import InputError
from estimator.intake.entries_csv import load_entries
from estimator.intake.load_job import load_job
from estimator.readback.apply_entries import apply_entries, in_unit
from estimator.workbook.compose import working_tabs


@pytest.fixture(scope="module")
def record():
    """Of a shop that shows psi."""
    record = load_job(SMALL / "job.toml")
    show = record.shop.show.model_copy(update={"pressure": "psi"})
    return record.model_copy(update={"shop": record.shop.model_copy(update={"show": show})})


@pytest.fixture(scope="module")
def boxes(record):
    return tuple(working_tabs(appraise_boxes(record, first_boxes(record))).boxes())


@pytest.fixture
def typed(tmp_path, boxes):
    """Type rows into empty boxes, or into those of `present`."""

    def type_in(*rows, present=()):
        csv = tmp_path / "entries.csv"
        csv.write_text("key,value,unit,note\n" + "\n".join(rows) + "\n", encoding="utf-8")
        return apply_entries(load_entries(csv), boxes, dict(present))

    return type_in


@pytest.fixture
def refused(typed, tmp_path):
    """The one problem that a row leads to: column, and all words."""

    def refuse(row):
        with pytest.raises(InputError) as error:
            typed(row)
        (problem,) = error.value.problems
        assert problem.file == str(tmp_path / "entries.csv") and problem.place.startswith("line 2, column ")
        assert problem.found and problem.allowed
        return problem.place.partition("column ")[2].strip('"'), problem.line()

    return refuse


def test_all_wrong_lines_are_told_at_once_in_their_order(typed):
    rows = (
        f"{CUT_OUT[:-6]}during,5,psi,",
        f'{CUT_OUT},"1,5",,',
        "a b,2,,",
        "consent.1.date,2026-13-01,,",
        f"{CUT_OUT},9,,",
    )
    with pytest.raises(InputError) as error:
        typed(*rows)
    assert [problem.place.partition(",")[0] for problem in error.value.problems] == [
        f"line {n}" for n in (2, 3, 4, 5, 6)
    ]


CUT_OUT = "reading.cut-out.system-1.1.before"


def test_a_number_without_a_unit_is_in_the_unit_of_its_box(typed):
    assert typed(f"{CUT_OUT},2205,,") == {CUT_OUT: 2205.0}


@pytest.mark.parametrize(
    ("key", "written", "unit", "typed_in"),
    [
        # By definition: 1 bar = 1e5 Pa, 1 psi = 0.45359237 × 9.80665 / 0.0254² Pa, 1 in = 25.4 mm, 1 lbf·ft from these.
        (CUT_OUT, "152", "bar", 152e5 / (0.45359237 * 9.80665 / 0.0254**2)),
        (CUT_OUT, "15168.466", "kPa", 15168466 / (0.45359237 * 9.80665 / 0.0254**2)),
        (CUT_OUT, "150", "kgf/cm^2", 150 * 98066.5 / (0.45359237 * 9.80665 / 0.0254**2)),
        ("reading.pad-thickness.front-left.before", "0.25", "in", 6.35),
        ("reading.gas-temperature.accumulator-1.before", "68", "°F", 20.0),
        ("reading.gas-temperature.accumulator-1.before", "293.15", "K", 20.0),
        ("reading.wheel-torque.front-left.after", "70", "ft·lbf", 70 * 0.3048 * 0.45359237 * 9.80665),
        ("reading.charge-time.system-1.before", "1.1", "min", 66.0),
        ("reading.accumulator-age.accumulator-1.before", "108", "month", 9.0),
    ],
)
def test_another_unit_is_brought_to_that_of_the_box(typed, key, written, unit, typed_in):
    assert typed(f"{key},{written},{unit},")[key] == pytest.approx(typed_in, rel=1e-9)


def test_a_unit_that_comes_back_is_the_same():
    assert in_unit(in_unit(2205.0, "psi", "bar"), "bar", "psi") == pytest.approx(2205.0, rel=1e-11)
    assert in_unit(25.4, "mm", "in") == 1.0 and in_unit(68.0, "°F", "°C") == 20.0


def test_short_keys_words_dates_texts(typed):
    assert typed(
        "decision.front-pads.front-axle,Agreed,,",
        "done.bleed-system.system-1,completed,,",
        "consent.1.date,2026-11-25,,",
        "reading.accumulator-serial.accumulator-1.before,004711,,",
        "extra_part.1.cost,8.40,,",
    ) == {
        "line.front-pads.front-axle.decision": "authorized",
        "line.bleed-system.system-1.done": "completed",
        "consent.1.date": dt.date(2026, 11, 25),
        "reading.accumulator-serial.accumulator-1.before": "004711",
        "extra_part.1.cost": 8.4,
    }


def test_an_empty_value_empties_the_box_and_others_stay(typed):
    present = {CUT_OUT: 2205.0, "visit.before.by": "Tam Orrick"}
    assert typed(f"{CUT_OUT},,,", present=present) == {"visit.before.by": "Tam Orrick"}


def test_a_note_goes_to_its_check_and_is_added_once(typed):
    note = "reading.cut-out.system-1.1.note"
    once = typed(f"{CUT_OUT},2205,,gauge tapped")
    assert once[note] == "gauge tapped"
    assert typed(f"{CUT_OUT},2205,,gauge tapped", present=once) == once
    twice = typed(f"{CUT_OUT},2210,,again", present=once)
    assert twice[note] == "gauge tapped; again"


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (f"{CUT_OUT},2205,mm,", "unit", ['found "mm"', "enter a pressure", "psi"]),
        (f"{CUT_OUT},2205,°,", "unit", ["enter a pressure"]),
        ("reading.hub-play.front-left.before,1,psi,", "unit", ["enter a length", "mm"]),
        ("reading.applications.system-1.before,12,psi,", "unit", ["enter a count", "plain numbers"]),
        (f"{CUT_OUT},2205 psi,,", "value", ['found "2205 psi"', "a number from", "column of its own"]),
        (f"{CUT_OUT},high,,", "value", ['found "high"', "a number from"]),
        (f"{CUT_OUT},-5,,", "value", ["found -5", "a number from 0"]),
        (f"{CUT_OUT},900000,,", "value", ["found 900000"]),
        (f"{CUT_OUT},90000,bar,", "value", ["found 90000 bar, which is 1.30", "psi"]),
        (f"{CUT_OUT},2026-11-25,,", "value", ["a number from"]),
        ("reading.cut-ot.system-1.1.before,2205,,", "key", [f'did you mean "{CUT_OUT}"?']),
        ("reading.cut-out.system-1.before,2205,,", "key", ["did you mean"]),
        ("decision.front-padz.front-axle,authorized,,", "key", ['did you mean "line.front-pads.front-axle.decision"?']),
        ("total.labor.agreed,10,,", "key", ["no box has the key"]),
        ("nothing.like.this,10,,", "key", ["no box has the key", "check --json"]),
        ("decision.front-pads.front-axle,yes,,", "value", ['found "yes"', "undecided, authorized, declined"]),
        ("decision.front-pads.front-axle,authorised,,", "value", ['did you mean "authorized"?']),
        ("decision.front-pads.front-axle,authorized,psi,", "unit", ["without a unit"]),
        (
            "decision.front-pads.front-axle,authorized,,by telephone",
            "note",
            ["by telephone", "only the boxes of a check"],
        ),
        ("consent.1.date,25.11.2026,,", "value", ["this box takes a date", "2026-11-25"]),
        ("consent.1.amount,10,mm,", "unit", ["without a unit"]),
        ("visit.before.date,soon,,", "value", ["this box takes a date"]),
        ("reading.fluid-level.system-1.before,fine,,", "value", ["no fault found", "fault found"]),
        (f"visit.before.by,{'x' * 2001},,", "value", ["2001 letters", "2000"]),
    ],
)
def test_what_a_box_does_not_take_is_refused_at_its_line(refused, row, column, words):
    at, line = refused(row)
    assert at == column
    assert [word for word in words if word.casefold() not in line.casefold()] == []


def test_the_short_and_the_long_key_of_one_box_are_the_same(typed):
    with pytest.raises(InputError, match="Line 2 fills this box already"):
        typed("decision.front-pads.front-axle,authorized,,", "line.front-pads.front-axle.decision,declined,,")


def test_all_problems_are_told_at_once_and_nothing_is_typed(typed):
    present = {CUT_OUT: 1.0}
    with pytest.raises(InputError) as error:
        typed(
            f"{CUT_OUT},2205,mm,",
            "visit.before.by,Tam Orrick,,",
            "consent.1.amount,much,,",
            "no.such.key,1,,",
            present=present,
        )
    assert [problem.place for problem in error.value.problems] == [
        'line 2, column "unit"',
        'line 4, column "value"',
        'line 5, column "key"',
    ]
    assert present == {CUT_OUT: 1.0}


def test_readings_in_bar_and_in_psi_give_the_same_verdicts(typed, record):
    """Of every reading of pressure near its limits."""
    rows = [
        (f"reading.{check}.system-1.{number}", psi)
        for check in ("cut-out", "cut-in")
        for number, psi in enumerate((1700, 2100, 2300), 1)
    ]
    gauges = {
        f"{key}.gauge_before": gauge.id
        for key, _ in rows
        for gauge in record.shop.gauges
        if gauge.measures == "pressure"
    }
    in_psi = typed(*(f"{key}.before,{psi},psi," for key, psi in rows), present=gauges)
    in_bar = typed(
        *(f"{key}.before,{psi * 0.45359237 * 9.80665 / 0.0254**2 / 1e5:.9f},bar," for key, psi in rows), present=gauges
    )
    verdicts = [
        {item.ref: item.before.verdict for item in appraise_boxes(record, entries).standings}
        for entries in (in_psi, in_bar)
    ]
    assert verdicts[0] == verdicts[1] and len(set(verdicts[0].values())) > 2
