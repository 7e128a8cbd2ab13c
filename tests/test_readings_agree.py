"""Readings that can't all be true are named; those that can aren't."""

import re
from pathlib import Path

import pytest

import estimator.demo
from estimator.appraisal import appraise
from estimator.findings import appraisal_findings
from estimator.intake.load import load_job
from estimator.pricing.first_entries import first_entries

JOB = Path(estimator.demo.__file__).parent / "files" / "job.toml"


@pytest.fixture(scope="module")
def record():
    return load_job(JOB)


def said(record, **readings):
    """What is said of readings before work, given as check__place=value."""
    entries = first_entries(record)
    for name, value in readings.items():
        check, place = name.replace("_", "-").split("--")[:2]
        number = ".".join(name.replace("_", "-").split("--")[2:])
        entries[f"reading.{check}.{place}{'.' + number if number else ''}.before"] = float(value)
    found = appraisal_findings(appraise(record, entries))
    return [finding for finding in found if finding.rule == "readings-disagree"]


GAS = {"precharge__accumulator_1": 1000, "gas_temperature__accumulator_1": 20}


def test_few_applications_with_a_good_precharge_disagree(record):
    (finding,) = said(record, **GAS, applications__system_1=2)
    assert finding.severity == "warn"
    assert finding.key == "reading.applications.system-1.before"
    assert "applications counted: 2" in finding.what and "1000 psi" in finding.what
    assert "accumulator-1" in finding.fix


def test_what_a_count_and_a_time_fit_is_what_foretells_them(record):
    """28 applications and 62 s are what 1,000 psi gives (the tests below); two are what hardly any gas gives."""
    low = {"precharge__accumulator_1": 300, "gas_temperature__accumulator_1": 20}
    for reading, number, holds in (
        ("applications__system_1", 28, 1000),
        ("charge_time__system_1", 62, 1000),
        ("charge_time__system_1", 5, 2100),
    ):
        (finding,) = said(record, **(GAS if number == 5 else low), **{reading: number})
        ends = re.search(r"fits a precharge of (\d+) to (\d+) psi", finding.what)
        assert int(ends[1]) < holds < int(ends[2])
    (finding,) = said(record, **GAS, applications__system_1=2)
    ends = re.search(r"of (\d+) to (\d+) psi or, far too high, of (\d+) to (\d+) psi", finding.what)
    assert int(ends[1]) == 0 and int(ends[2]) < 200 and int(ends[3]) > 1900 and int(ends[4]) <= 2200


def test_the_count_that_the_precharge_foretells_agrees(record):
    assert said(record, **GAS, applications__system_1=28) == []


def test_a_lost_gas_and_no_application_agree_and_many_do_not(record):
    lost = {"precharge__accumulator_1": 0, "gas_temperature__accumulator_1": 20}
    assert said(record, **lost, applications__system_1=0) == []
    assert len(said(record, **lost, applications__system_1=20)) == 1


def test_charging_in_no_time_disagrees_with_a_good_precharge(record):
    assert len(said(record, **GAS, charge_time__system_1=5)) == 1
    assert said(record, **GAS, charge_time__system_1=62) == []


def test_more_in_the_pan_than_the_hold_lost_disagrees(record):
    hold = {}
    for system, accumulator in (("system_1", "accumulator_1"), ("system_2", "accumulator_2")):
        hold |= {
            f"precharge__{accumulator}": 1000,
            f"gas_temperature__{accumulator}": 20,
            f"hold_start__{system}": 2100,
            f"hold_start_temperature__{system}": 20,
            f"hold_end_temperature__{system}": 20,
            f"hold__{system}": 2080,
        }
    assert said(record, **hold, collected_leakage__car=5) == []
    (finding,) = said(record, **hold, collected_leakage__car=400)
    assert "pan" in finding.what


def test_a_missing_reading_says_nothing(record):
    assert said(record, applications__system_1=2) == []
    assert said(record, precharge__accumulator_1=1000, applications__system_1=2) == []


# --- a number typed in the unit of another gauge ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "value", "gauge", "words"),
    [
        ("cut-out.system-1.1", 152.0, "pressure-3000-a", "if 152 was read in bar, it is 2204.6 psi"),
        ("cut-out.system-1.1", 15.2, "pressure-3000-a", "if 15.2 was read in MPa, it is 2204.6 psi"),
        ("precharge.accumulator-1", 68.9, "precharge-1500", "if 68.9 was read in bar, it is 999.3 psi"),
        ("cut-out.system-1.1", 1500.0, "pressure-3000-a", ""),
    ],
)
def test_a_number_that_fits_in_another_unit_is_asked_about(record, key, value, gauge, words):
    entries = {
        f"reading.{key}.before": value,
        f"reading.{key}.gauge_before": gauge,
        "reading.gas-temperature.accumulator-1.before": 20.0,
        "reading.gas-temperature.accumulator-1.gauge_before": "thermometer",
    }
    (finding,) = [item for item in appraisal_findings(appraise(record, entries)) if item.rule == "outside-limit"]
    assert finding.severity == "stop" and finding.key == f"reading.{key}.before"
    assert words in finding.fix if words else "was read in" not in finding.fix
