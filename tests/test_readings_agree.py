"""Readings that can't all be true are named; those that can aren't."""

import re
from pathlib import Path

import pytest
from boxes_by_key import appraise_boxes, first_boxes

import estimator.demo
from estimator.findings import appraisal_findings
from estimator.hydraulics import gas
from estimator.hydraulics.accumulator import fast_usable_volume
from estimator.hydraulics.charge import charge_volume
from estimator.intake.labor_tables import packaged_tables
from estimator.intake.load_job import load_job
from estimator.quantities import PSI, Quantity
from tests.limit_cars import changed, si, worked_out
from tests.second_answers.nitrogen import gas_volume

JOB = Path(estimator.demo.__file__).parent / "files" / "job.toml"


def plain(words: str) -> str:
    """Words with their numbers without commas."""
    return re.sub(r"(?<=\d),(?=\d{3})", "", words)


@pytest.fixture(scope="module")
def record():
    return load_job(JOB, packaged_tables())


def entered(record, readings, phase="before"):
    """Entries of a fresh workbook with readings given as check__place=value."""
    entries = first_boxes(record)
    for name, value in readings.items():
        check, place = name.replace("_", "-").split("--")[:2]
        number = ".".join(name.replace("_", "-").split("--")[2:])
        entries[f"reading.{check}.{place}{'.' + number if number else ''}.{phase}"] = float(value)
    return entries


def said(record, phase="before", /, **readings):
    """What is said of such readings that can't all be true."""
    found = appraisal_findings(appraise_boxes(record, entered(record, readings, phase)))
    return [finding for finding in found if finding.rule == "readings-disagree"]


GAS = {"precharge__accumulator_1": 1000, "gas_temperature__accumulator_1": 20}


def test_few_applications_with_a_good_precharge_disagree(record):
    (finding,) = said(record, **GAS, applications__system_1=2)
    assert finding.severity == "stop"
    assert finding.key == "reading.applications.system-1.before"
    assert "applications counted: 2" in finding.what and "1,000 psi" in finding.what
    assert "repeat reading" in finding.fix


def test_what_a_count_and_a_time_fit_is_what_foretells_them(record):
    """28 applications and 62 s are what 1,000 psi gives (the tests below); two are what hardly any gas gives."""
    low = {"precharge__accumulator_1": 300, "gas_temperature__accumulator_1": 20}
    for reading, number, holds in (
        ("applications__system_1", 28, 1000),
        ("charge_time__system_1", 62, 1000),
        ("charge_time__system_1", 5, 1970),
    ):
        (finding,) = said(record, **(GAS if number == 5 else low), **{reading: number})
        ends = re.search(r"fits a precharge of (\d+) to (\d+) psi", plain(finding.what))
        assert int(ends[1]) < holds < int(ends[2])
    (finding,) = said(record, **GAS, applications__system_1=2)
    ends = re.search(r"of (\d+) to (\d+) psi or, far too high, of (\d+) to (\d+) psi", plain(finding.what))
    assert int(ends[1]) < 50 and int(ends[2]) < 200 and int(ends[3]) > 1800 and int(ends[4]) <= 2050


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


# --- what is foretold, against a fine grid over the same bands --------------------------------------------------------


READ = {"cut_out__system_1__1": 2150, "cut_out__system_1__2": 2230, "cut_out__system_1__3": 2190}
LAST_LOWEST = {"cut_out__system_1__1": 2190, "cut_out__system_1__2": 2230, "cut_out__system_1__3": 2150}
LAMP = {"lamp_pressure__system_1": 1300}


class Bands:
    """The readings of system 1 with their tolerances of ours, absolute, and what follows from them, on a fine grid."""

    def __init__(self, record, readings, phase="before"):
        self.car, self.limits = record.car, worked_out(record, entered(record, readings, phase))
        system = next(item for item in self.car.systems if item.id == "system-1")
        self.tank = next(item for item in self.car.accumulators if item.id == "accumulator-1")
        read = (readings["precharge__accumulator_1"] * PSI + gas.ATMOSPHERE_PA) * 1.0
        self.precharge = 0.97 * read, 1.03 * read
        cuts = [readings.get(f"cut_out__system_1__{n}") for n in (1, 2, 3)]
        cuts = [cut * PSI for cut in cuts if cut] or [system.cut_out.si]
        self.cut_out = min(cuts) + gas.ATMOSPHERE_PA, max(cuts) + gas.ATMOSPHERE_PA
        self.settled = 0.92 * self.cut_out[0]
        lamps = [system.lamp.si, readings.get("lamp_pressure__system_1", system.lamp.si / PSI) * PSI]
        self.late, self.lamp = (end(lamps) + gas.ATMOSPHERE_PA for end in (min, max))

    def grid(self, low, high):
        return [low + (high - low) * n / 200 for n in range(201)]

    def counts(self):
        kelvin, volume, warm = 293.15, self.tank.volume.si, self.grid(*self.precharge)
        least = min(fast_usable_volume(volume, p, self.lamp, self.settled, kelvin) for p in warm)
        most = max(gas_volume(volume, p, self.late) - gas_volume(volume, p, self.cut_out[1]) for p in warm)
        one = si(self.limits, "system-1.application")
        return int(least / (1.15 * one)), int(most / (0.85 * one)) + 1

    def seconds(self):
        volume, kelvin, flow = self.tank.volume.si, 293.15, si(self.limits, "system-1.net-flow")
        ends = [
            [charge_volume(volume, min(p, upper), upper, kelvin) for p in self.grid(*self.precharge)]
            for upper in self.cut_out
        ]
        return min(v.low for v in ends[0]) / (1.25 * flow), max(v.high for v in ends[1]) / (0.75 * flow)

    def holds_count(self, words, counted):
        """The precharges that the count is said to fit, each from what it drew: by the gas law, slowly; fast, or with
        room for that much at all; and where the fluid ran out, 95 % of it and all (the formulas of `reserve`)."""
        volume, kelvin, one = self.tank.volume.si, 293.15, si(self.limits, "system-1.application")
        few, many = counted * one * 0.85 / volume, counted * one * 1.15 / volume
        lamp, lamp_high, cut, cut_high = self.late, self.lamp, self.settled, self.cut_out[1]
        found = re.search(r"a precharge of (\d+) to (\d+) psi or, far too high, of (\d+) to (\d+) psi", plain(words))
        if found is None:
            assert many > 0.3, "more than any precharge gives between these pressures"
            return
        fast = many * cut / ((cut / lamp_high) ** (1 / gas.fast_exponent(lamp_high, cut, kelvin)) - 1)
        ends = (
            few / (1 / lamp - 1 / cut_high),
            min(fast, cut * (1 - many)),
            max(cut * (1 - many / 0.95), lamp),
            cut_high * (1 - few),
        )
        for end, absolute in zip(found.groups(), ends, strict=True):
            assert int(end) == pytest.approx(max(0.0, (absolute - gas.ATMOSPHERE_PA) / PSI), abs=0.6), words

    def holds_time(self, words, seconds):
        """The precharges that the time is said to fit leave room for what the pump delivers in it, quickly and slowly."""
        flow, volume = si(self.limits, "system-1.net-flow"), self.tank.volume.si
        (cut, cut_high), kelvin = self.cut_out, 293.15
        room = 1 - seconds * 1.25 * flow / volume
        ends = re.search(r"the time fits a precharge of (\d+) to (\d+) psi", plain(words))
        if room <= 0:
            assert ends is None, "more than the accumulator holds"
            return
        low = cut * room ** gas.charging_exponent(cut * room, cut, kelvin)
        high = cut_high * (1 - seconds * 0.75 * flow / volume)
        for end, absolute in zip(ends.groups(), (low, high), strict=True):
            assert int(end) == pytest.approx(max(0.0, (absolute - gas.ATMOSPHERE_PA) / PSI), abs=0.6), words


@pytest.mark.parametrize(
    ("readings", "precharge", "phase"),
    [({}, 1000, "before"), (READ, 600, "before"), (LAMP, 1150, "before"), (LAST_LOWEST | LAMP, 1000, "after")],
    ids=["as given", "cut-outs", "lamp", "both, after work"],
)
def test_counts_and_times_foretold_are_those_of_a_fine_grid(record, readings, precharge, phase):
    other = {"cut_out": Quantity.of(2090, "psi"), "cut_in": Quantity.of(1600, "psi"), "lamp": Quantity.of(1210, "psi")}
    record = changed(record, "systems", 1, **other)
    known = {**readings, "precharge__accumulator_1": precharge, "gas_temperature__accumulator_1": 20}
    bands = Bands(record, known, phase)
    least, most = bands.counts()
    assert 0 < least < most
    for counted, agrees in ((least - 1, False), (least, True), (most, True), (most + 1, False)):
        found = said(record, phase, **known, applications__system_1=counted)
        assert (found == []) == agrees, (counted, least, most)
        if found:
            assert f"counted: {counted};" in found[0].what and f"gives {least} to {most}:" in found[0].what
            assert f"{phase} work" in found[0].what
            bands.holds_count(found[0].what, counted)
    low, high = bands.seconds()
    for end, sign in ((low, -1), (high, 1)):
        for off, agrees in ((-0.02, True), (0.02, False)):
            seconds = end + sign * off
            found = said(record, phase, **known, charge_time__system_1=seconds)
            assert (found == []) == agrees, (seconds, low, high)
            if found:
                assert f"charge time {seconds:.0f} s;" in found[0].what
                assert f"gives {low:.0f} to {high:.0f} s" in found[0].what
                bands.holds_time(found[0].what, seconds)


@pytest.mark.parametrize("loss", [20, 60])
def test_the_pan_holds_no_more_than_the_holds_account_for(record, loss):
    """The volume of an ideal gas between the settled pressure and what is left, less 3 % of cut-out."""
    known = {}
    for system, accumulator in (("system_1", "accumulator_1"), ("system_2", "accumulator_2")):
        known |= {f"precharge__{accumulator}": 1000, f"gas_temperature__{accumulator}": 20}
        known |= {f"hold_start_temperature__{system}": 20, f"hold_end_temperature__{system}": 20}
        known |= {f"hold_start__{system}": 2100, f"hold__{system}": 2100 - loss}
    lost = 0.0
    for accumulator in record.car.accumulators:
        top = 2100 * PSI + gas.ATMOSPHERE_PA
        cut_out = next(item for item in record.car.systems if item.id == accumulator.system).cut_out.si
        bottom = top - loss * PSI - 0.03 * cut_out
        volume, precharge = accumulator.volume.si, 1000 * PSI + gas.ATMOSPHERE_PA
        lost += gas_volume(volume, precharge, bottom) - gas_volume(volume, precharge, top)
    for off, agrees in ((-0.05, True), (0.05, False)):
        found = said(record, **known, collected_leakage__car=lost * 1e6 + off)
        assert (found == []) == agrees
        assert agrees or f"at most {lost * 1e6:.3g} mL" in found[0].what
    for missing in ("hold_start__system_2", "hold__system_1"):
        left = {key: value for key, value in known.items() if key != missing}
        assert said(record, **left, collected_leakage__car=400) == []


# --- a number typed in the unit of another gauge ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "value", "gauge", "words"),
    [
        ("cut-out.system-1.1", 141.0, "pressure-3000-a", "if 141 was read in bar, it is 2,045 psi"),
        ("cut-out.system-1.1", 14.1, "pressure-3000-a", "if 14.1 was read in MPa, it is 2,045 psi"),
        ("precharge.accumulator-1", 68.9, "precharge-1500", "if 68.9 was read in bar, it is 999 psi"),
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
    (finding,) = [item for item in appraisal_findings(appraise_boxes(record, entries)) if item.rule == "outside-limit"]
    assert finding.severity == "stop" and finding.key == f"reading.{key}.before"
    assert words in finding.fix if words else "was read in" not in finding.fix
