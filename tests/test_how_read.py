"""The way a reading was made and its stated uncertainty: what they make of a verdict, in Python as in the sheet."""

from __future__ import annotations

import math
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from agreement import disagreements, drafted, typed_over
from boxes_by_key import appraise_boxes, first_boxes
from engines import Ironcalc
from strategies import WholeJob, demo_record, entries_of

from estimator.boxes.entries import Entries
from estimator.facts.checks import checks
from estimator.findings import appraisal_findings
from estimator.limits.judging.stated import BLEED_DOWN, CERTIFICATE, FIRST_CHARGE, LOG
from estimator.quantities import PSI
from estimator.readback.earlier_readings import next_round, taken_out
from tests.never_clear.good_car import good_car

RECORD = demo_record("job.toml")
REF = "precharge.accumulator-1"
GAUGE_U = math.hypot(30.0, 5.0) / math.sqrt(3)  # gauge A: class 1 of 3,000 psi, steps of 10


def appraised(value=900.0, how="", u="", phase="before", **more):
    """The demo's car with one precharge at 20 °C, gauge A."""
    boxes = first_boxes(RECORD) | {
        f"reading.{REF}.{phase}": value,
        f"reading.{REF}.gauge_{phase}": "pressure-3000-a",
        f"reading.gas-temperature.accumulator-1.{phase}": 20.0,
        f"stated.{REF}.how_{phase}": how,
        f"stated.{REF}.u_{phase}": u,
        **more,
    }
    return appraise_boxes(RECORD, {key: boxes[key] for key in boxes if boxes[key] != ""})


def found(**what):
    item = next(item for item in appraised(**what).judged if item.ref == REF)
    return item.phases[what.get("phase", "before")]


def by_hand(psi):
    return math.sqrt(GAUGE_U**2 + 20**2 + (0.03 * psi) ** 2)


@pytest.mark.parametrize("phase", ["before", "after"])
@pytest.mark.parametrize(
    ("how", "u", "expected"),
    [
        ("", "", GAUGE_U),
        ("gas valve", "", GAUGE_U),
        ("gas valve", 27.2, 27.2),
        ("log", 27.2, 27.2),
        ("LOG", 27.2, 27.2),
        ("log", 5.0, GAUGE_U),  # never less than the gauge's
        ("log", "", by_hand(900)),  # no uncertainty: as by hand
        ("log", "27 psi", by_hand(900)),  # words are no number
        ("bleed-down", "", by_hand(900)),
        ("bleed-down", 10.0, by_hand(900)),
        ("bleed-down", 60.0, 60.0),
        ("first charge", "", math.hypot(GAUGE_U, 40.0)),
        ("bench certificate", "", 1e9 / PSI),  # nothing entered from it
    ],
)
def test_uncertainty_is_the_greatest_of_gauge_and_way_and_what_is_stated(how, u, expected, phase):
    assert found(how=how, u=u, phase=phase).gauge_u / PSI == pytest.approx(expected)


def test_a_wider_uncertainty_makes_a_reading_too_close_to_call():
    """741 psi is the least at 20 °C: 800 psi is within by 59 psi; 2u is 35 by gauge, 54 by this log, 74 by hand."""
    assert found(value=800.0).service_word == "within limits"
    assert found(value=800.0, how="log", u=27.2).service_word == "within limits"
    assert found(value=800.0, how="bleed-down").service_word == "too close to limit"
    assert found(value=800.0, how="log").service_word == "too close to limit"


@pytest.mark.parametrize("way", ["first charge", "bleed-down", "bench certificate", "Bench Certificate"])
def test_a_way_beside_the_gas_valve_asks_whether_it_was_read_as_it_asks(way):
    def rules(**more):
        return {item.rule: item.key for item in appraisal_findings(appraised(how=way, **more))}

    conditions = "reading.precharge-conditions.accumulator-1.before"
    assert rules()["precharge-conditions"] == conditions
    assert "precharge-conditions" not in rules(**{conditions: "no fault found"})
    wrong = appraised(how=way, **{conditions: "fault found"})
    assert "precharge-conditions.accumulator-1" in {item.ref for item in wrong.concerns}


DAY = RECORD.job.date
IN_ORDER = {"serial": "sn 4711", "removed": DAY - timedelta(days=12), "dated": DAY - timedelta(days=10)}


def certified(phase="before", plate="SN-47-11, stamped 6/2019", **changes):
    """The boxes of a bench certificate in order, but for some."""
    boxes = {f"stated.{REF}.{name}_{phase}": value for name, value in (IN_ORDER | changes).items()}
    return boxes | {"reading.accumulator-serial.accumulator-1.before": plate, f"stated.{REF}.how_{phase}": CERTIFICATE}


NOT_DATED = "not dated, or before the day the shell was removed"
ANOTHER = "its serial isn't the one read on this shell"
CERTIFICATES = {
    "in order": ({}, ""),
    "90 days": ({"dated": DAY - timedelta(days=90), "removed": DAY - timedelta(days=90)}, ""),
    "the same day": ({"dated": DAY, "removed": DAY}, ""),
    "91 days": ({"dated": DAY - timedelta(days=91), "removed": DAY - timedelta(days=95)}, "more than 90 days old"),
    "before its removal": ({"removed": DAY - timedelta(days=9)}, NOT_DATED),
    "from the future": ({"dated": DAY + timedelta(days=1)}, "dated after the day of the reading"),
    "another shell": ({"serial": "SN 4712"}, ANOTHER),
    "a part of a serial": ({"serial": "11"}, ANOTHER),
    "its first letters": ({"serial": "SN-47"}, ANOTHER),
    "its last figures": ({"serial": "4711", "plate": "SN-14711, stamped 6/2019"}, ANOTHER),
    "a figure of its date": ({"serial": "6"}, ANOTHER),
    "a short serial": ({"serial": "A7", "plate": "serial no. a-7 (stamped 6/2019)"}, ""),
    "a word of the plate": ({"serial": "4711", "plate": "SN 4711 stamped 2019"}, ""),
    "spaces within": ({"serial": "SN4711", "plate": "sn 47 11, stamped 2019"}, ""),
    "hyphens for spaces": ({"serial": "SN-4711", "plate": "stamped 2019 SN 4711"}, ""),
    "no plate": ({"plate": ""}, ANOTHER),
    "no serial": ({"serial": ""}, "no serial entered from it"),
    "no date": ({"dated": ""}, NOT_DATED),
    "words for a date": ({"removed": "May"}, NOT_DATED),
}


@pytest.mark.parametrize("phase", ["before", "after"])
@pytest.mark.parametrize("name", CERTIFICATES)
def test_a_certificate_counts_only_for_its_shell_and_its_time(name, phase):
    changes, wrong = CERTIFICATES[name]
    appraisal = appraised(phase=phase, how=CERTIFICATE, **certified(phase, **changes))
    item = next(item for item in appraisal.judged if item.ref == REF).phases[phase]
    assert item.said.uncertified == wrong
    assert item.service_word == ("too close to limit" if wrong else "within limits")
    told = [
        one.what for one in appraisal_findings(appraisal) if one.rule == "certificate" and one.key.startswith("stated.")
    ]
    assert [wrong in what for what in told] == ([True] if wrong and phase == "before" else [bool(wrong)] * len(told))


def test_a_certificate_needs_count_and_hold_on_the_car():
    appraisal = appraised(how=CERTIFICATE, **certified())
    told = {one.key for one in appraisal_findings(appraisal) if one.rule == "certificate"}
    assert told == {"reading.applications.system-1.before", "reading.hold.system-1.before"}


# Each certificate once, at one of two shells in one of two phases.
SHELLS = [(f"accumulator-{number}", phase) for number in (1, 2) for phase in ("before", "after")]


def test_the_sheet_judges_certificates_alike(tmp_path):
    def job(names):
        boxes = first_boxes(RECORD)
        for (shell, phase), name in zip(SHELLS, names, strict=False):
            of_shell = certified(phase, **CERTIFICATES[name][0])
            of_shell |= {f"reading.{REF}.{phase}": 900.0, f"reading.{REF}.gauge_{phase}": "pressure-3000-a"}
            boxes |= {key.replace("accumulator-1", shell): value for key, value in of_shell.items()}
        return WholeJob(RECORD, {key: value for key, value in boxes.items() if value != ""}, " ".join(names))

    all_names = list(CERTIFICATES)
    first, *others = (all_names[at : at + len(SHELLS)] for at in range(0, len(all_names), len(SHELLS)))

    draft = drafted(job(first), tmp_path / "certificate.xlsx")
    book = Ironcalc(draft.path)
    wrong = disagreements(draft, book.stored, book.values(), "ironcalc")
    for names in others:
        draft = typed_over(draft, job(names), book)
        wrong += disagreements(draft, None, book.values(), "ironcalc, typed into")
    assert wrong == []


@pytest.mark.parametrize("way", ["gas valve", "", "log"])
def test_a_reading_at_the_gas_valve_asks_nothing_more(way):
    assert "precharge-conditions" not in {item.rule for item in appraisal_findings(appraised(how=way))}


@pytest.mark.parametrize(
    ("way", "said", "state"),
    [
        ("first charge", "no fault found", "no-do-not-drive-finding"),
        ("first charge", "fault found", "do-not-drive"),
        ("bench certificate", "no fault found", "no-do-not-drive-finding"),
        ("bleed-down", "no fault found", "no-do-not-drive-finding"),
    ],
)
def test_a_car_without_gas_valves_can_be_cleared(way, said, state):
    visit = good_car()
    for name in ("accumulator-1", "accumulator-2"):
        visit.set(f"stated.precharge.{name}.how_before", way)
        if way == CERTIFICATE:
            visit.set(f"reading.accumulator-serial.{name}.before", "SN 4711")
            for box, value in {
                "serial": "SN 4711",
                "removed": visit.record.job.date,
                "dated": visit.record.job.date,
            }.items():
                visit.set(f"stated.precharge.{name}.{box}_before", value)
        visit.read(f"precharge.{name}", 880)  # the middle: by eye ±81 psi of the 137 either way are lost
        visit.read(f"precharge-conditions.{name}", said)
    assert visit.appraise().state == state


def test_a_stated_uncertainty_without_a_gauge_is_no_measurement():
    boxes = {f"reading.{REF}.gauge_before": "", "usual.precharge.before": ""}
    assert found(how="log", u=27.2, **boxes).gauge_u == ""


def test_smaller_uncertainty_in_place_of_a_greater_is_a_reading_taken_out():
    """What counted as too close keeps counting when only its uncertainty is written over."""
    was = appraised(value=800.0, how="bleed-down")
    now = Entries.from_boxes(appraised(value=800.0, how="log", u=18.0).entries.as_boxes())
    assert [(item.check, item.counts_as) for item in taken_out(was, now)] == [(REF, "called")]
    assert list(taken_out(was, was.entries)) == []


def test_the_next_round_takes_the_way_along_with_its_reading():
    more = {f"stated.{REF}.how_before": "bleed-down", f"stated.{REF}.u_before": 60.0, f"reading.{REF}.before": 700.0}
    was = appraised(value=900.0, how="log", u=27.2, phase="after", **more)
    begun, _, _ = next_round(was)
    told = begun.stated[REF]
    assert (begun.readings[REF].before, told.of("before"), told.of("after")) == (900.0, ("log", 27.2), ("", ""))


def test_ways_are_those_that_formulas_know():
    ways = {way for check in checks() for way in check.read_by}
    assert {BLEED_DOWN, FIRST_CHARGE, LOG} < ways and ways - {BLEED_DOWN, FIRST_CHARGE, LOG} == {
        "gas valve",
        "gauge",
        "bench certificate",
    }
    assert all(check.measured and check.quantity == "pressure" for check in checks() if check.read_by)


def test_the_sheet_finds_the_same_uncertainties(tmp_path: Path):
    """Ways and uncertainties of every kind, junk too, worked out by another engine; then others typed over them."""
    ways = zip((1, 1, 2, 2), ("before", "after") * 2, ("gas valve", "bleed-down", "first charge", "log"), strict=True)
    more = {f"stated.precharge.accumulator-{number}.how_{phase}": way for number, phase, way in ways}
    job = WholeJob(RECORD, entries_of(RECORD, "good twice", Random("ways")) | more, "good twice")
    draft = drafted(job, tmp_path / "ways.xlsx")
    book = Ironcalc(draft.path)
    wrong = disagreements(draft, book.stored, book.values(), "ironcalc")
    told = {item.phases[phase].said for item in draft.appraisal.judged for phase in ("before", "after")}
    assert len({one.method_u for one in told}) == 4  # 0, by hand twice, first charge
    other = WholeJob(RECORD, entries_of(RECORD, "junk", Random("others")), "junk")
    typed = typed_over(draft, other, book)
    wrong += disagreements(typed, None, book.values(), "ironcalc, typed into")
    assert wrong == []
