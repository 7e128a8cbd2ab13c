"""Logs as loggers write them, each read alike; and damaged ones, refused in words with the line."""

import random
import re

import numpy as np
import pytest
from simulated_logs import ATMOSPHERE, PSI, Bleed, bleed

from estimator.errors import InputError
from estimator.pressure_logs import samples
from estimator.pressure_logs.columns import Wanted
from estimator.pressure_logs.log_file import read_log

TIME, PRESSURE = np.arange(40) * 0.5, np.round(2050.0 - 7 * np.arange(40), 1)
BAR = PSI / 1e5


def rows(form, times=TIME, pressures=PRESSURE):
    return "".join(form.format(time, value) + "\n" for time, value in zip(times, pressures, strict=True))


def comma(text):
    return text.replace(".", ",")


def clock(seconds, form="{:02d}:{:02d}:{:06.3f}"):
    return form.format(int(seconds // 3600) % 24, int(seconds // 60) % 60, seconds % 60)


def each(form, **more):
    """A row a sample by a format that takes t, p and what else is given for each."""
    columns = {"t": TIME, "p": PRESSURE, **more}
    return "".join(
        form.format(**dict(zip(columns, row, strict=True))) + "\n" for row in zip(*columns.values(), strict=True)
    )


NOON = [clock(seconds + 43_190) for seconds in TIME]
SHAPES = {
    "plain": "Time (s),Pressure (psi)\n" + each("{t:.1f},{p:.1f}"),
    "decimal comma": "t;p\ns;bar\n" + comma(each("{t:.1f};{bar:.4f}", bar=PRESSURE * BAR)),
    "header lines": "Recorder 7\nSerial,12\n\n# exported\nTime [ms],System 1 [kPa]\n"
    + each("{ms:.0f},{kpa:.2f}", ms=TIME * 1e3, kpa=PRESSURE * PSI / 1e3),
    "tabs": "No.\tElapsed s\tp1/MPa\n" + each("{n}\t{t:.2f}\t{mpa:.5f}", n=range(40), mpa=PRESSURE * PSI / 1e6),
    "blanks": "time[s]   pressure[psi]\n" + each("{t:8.1f}   {p:9.1f}"),
    "quoted": '"Time, s","Pressure, psi"\n' + each('"{t:.1f}","{p:.1f}"'),
    "absolute": "Time (s),Pressure (bara)\n" + each("{t:.1f},{a:.5f}", a=(PRESSURE * PSI + ATMOSPHERE) / 1e5),
    "clock": "Date;Time;P (psi)\n" + each("25.11.2026;{c};{p:.1f}", c=[clock(seconds + 86_390) for seconds in TIME]),
    "date and clock": "Timestamp,psi\n" + each("2026-11-25 {c},{p}", c=NOON),
    "am and pm": "Time,psig\n"
    + each("11/25/2026 {c} {m}M,{p}", c=NOON, m=["A" if text < "12" else "P" for text in NOON]),
    "several channels": "Time (s),System 2 (psi),System 1 (psi),Shell (°C)\n" + each("{t:.1f},1.0,{p:.1f},21.5"),
    "minutes": "Minutes,psi\n" + each("{m:.6f},{p:.1f}", m=TIME / 60),
    "line ends of Windows": ("Time (s),Pressure (psi)\n" + each("{t:.1f},{p:.1f}")).replace("\n", "\r\n"),
}
DROPPED = SHAPES["plain"].replace("\n2.0,2022.0\n", "\n1.6,\n1.7,---\n1.8,OL\n2.0,2022.0\n")


def read(path, text, system="1", encoding="utf-8", **wanted):
    path.write_bytes(text.encode(encoding))
    return read_log(path, Wanted(**wanted), system)


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_is_read_alike(shape, tmp_path):
    found = read(tmp_path / "log.csv", SHAPES[shape])
    assert found.time == pytest.approx(TIME, abs=2e-3)
    assert found.pressure / PSI == pytest.approx(PRESSURE, abs=0.02)
    assert (found.temperature is not None) == (shape == "several channels")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_encodings(encoding, tmp_path):
    found = read(tmp_path / "log.csv", SHAPES["several channels"], encoding=encoding)
    assert found.pressure / PSI == pytest.approx(PRESSURE, abs=0.02)
    assert found.temperature == pytest.approx(294.65)


def test_units_and_columns_by_option(tmp_path):
    text = rows("{:.1f},{:.1f}")
    found = read(tmp_path / "log.csv", text, time_unit="s", pressure_unit="psi")
    assert found.pressure / PSI == pytest.approx(PRESSURE)
    other = read(tmp_path / "log.csv", SHAPES["several channels"], pressure="system 2")
    assert other.pressure / PSI == pytest.approx(1.0) and '"System 1 (psi)"' in other.remarks[0]
    named = {"time": "x", "time_unit": "s", "pressure": "3", "pressure_unit": "psi"}
    third = read(tmp_path / "log.csv", "x,a,b\n" + rows("{0:.1f},9,{1:.1f}"), **named)
    assert third.pressure / PSI == pytest.approx(PRESSURE)


def test_dropped_samples_spikes_and_shared_times_are_said(tmp_path):
    found = read(tmp_path / "log.csv", DROPPED)
    assert len(found.time) == 40 and found.remarks == ("samples without a reading, not used: 3",)
    spiked = PRESSURE.copy()
    spiked[[7, 20]] = 0.0
    found = read(tmp_path / "log.csv", "s,psi\n" + rows("{:.1f},{:.1f}", pressures=spiked))
    assert found.pressure / PSI == pytest.approx(PRESSURE, abs=0.1) and "not used: 2" in found.remarks[0]
    found = read(tmp_path / "log.csv", "s,psi\n" + rows("{:.0f},{:.1f}", np.floor(TIME)))
    assert found.time == pytest.approx(TIME) and "share a time" in found.remarks[0]


def test_a_last_line_without_an_end_is_left_out(tmp_path):
    """It may be cut: 2050.0 as "205" would look like the knee."""
    found = read(tmp_path / "log.csv", SHAPES["plain"] + "20.0,17")
    assert len(found.time) == 40 and "not used" in found.remarks[-1]


def test_a_long_log_is_thinned_and_memory_stays(tmp_path, monkeypatch):
    monkeypatch.setattr(samples, "MOST_SAMPLES", 1000)
    monkeypatch.setattr("estimator.pressure_logs.log_file.CHUNK_ROWS", 700)
    time, pressure = np.arange(9000) * 0.1, 2000 - np.arange(9000) * 0.1
    found = read(tmp_path / "log.csv", "s,psi\n" + rows("{:.1f},{:.1f}", time, pressure))
    assert 500 <= len(found.time) <= 1000 and "mean of 16" in found.remarks[0]
    assert found.pressure / PSI == pytest.approx(np.interp(found.time + 0.75, time, pressure), abs=1e-6)


# --- what is refused ---------------------------------------------------------------------------------------------------

REFUSED = {
    "empty": ("", "line 1", "the file is empty"),
    "words alone": ("to whom it may concern\n" * 30, "line 31", "no row of a time and a pressure"),
    "no unit of pressure": ("Time (s),p\n" + rows("{},{}"), "line 1", "no unit of pressure"),
    "no unit of time": ("Time,p (psi)\n" + rows("{},{}"), "line 1", "no unit of time"),
    "two channels": ("Time (s),a (psi),b (psi)\n" + rows("{0},{1},{1}"),  "line 1", '2 columns may be the pressure: "a (psi)"'),
    "no pressure": ("Time (s),Flow (L)\n" + rows("{},{}"), "line 1", "no column of pressure"),
    "a letter in a number": (SHAPES["plain"].replace("1924.0", "19O4.0"), "line 20", '"19O4.0"'),
    "another decimal mark": (SHAPES["decimal comma"].replace("9,5;", "9.5;"), "line 22", '"9.5"'),
    "a header again": (SHAPES["plain"] + SHAPES["plain"], "line 42", '"Time (s)"'),
    "time runs back": (SHAPES["plain"].replace("10.0,", "1.0,"), "line 22", "a time before"),
    "a field too many": (SHAPES["plain"].replace("10.0,", "10.0,1,"), "line 22", "3 fields"),
    "endless": (SHAPES["plain"].replace("1924.0", "1e999"), "line 20", "a number without end"),
    "below a vacuum": (SHAPES["plain"].replace("1924.0", "-1924.0"), "line 20", "a pressure of"),
    "above belief": (SHAPES["plain"].replace("1924.0", "192400"), "line 20", "a pressure of"),
    "a quote not closed": (SHAPES["quoted"].replace('"9.5"', '"9.5'), "line 21", '"9.5'),
    "a zero byte": (SHAPES["plain"].replace("1924.0", "19\x0024"), "line 20", "a zero byte"),
    "no such hour": (SHAPES["clock"].replace("23:59:55.000", "29:59:55.000"), "line 12", '"29:59:55.000"'),
    "one sample": ("s,psi\n0,2050\n", "the file", "1 samples"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_damage_is_refused_with_the_line(name, tmp_path):
    text, place, found = REFUSED[name]
    with pytest.raises(InputError) as refused:
        read(tmp_path / "log.csv", text)
    (problem,) = refused.value.problems
    assert problem.place.startswith(place) and found in problem.found, problem
    assert problem.allowed and problem.fix


def damaged(rng):
    """A bleed's log with one damage that no reading of it could be right with: the text, and the line of the damage."""
    time, pressure = bleed(Bleed(knee=30.0, noise=2.0), np.random.default_rng(rng.randrange(1 << 30)))
    mark, point = rng.choice([(",", "."), (";", ","), (";", "."), ("\t", ".")])
    lines = [f"{t:.1f}{mark}{p:.2f}".replace(".", point) for t, p in zip(time, pressure, strict=True)]
    header = ["Gauge"] * rng.randrange(3) + [f"Time (s){mark}Pressure (psi)"]
    at = rng.randrange(3, len(lines) - 1)
    first, second = lines[at].split(mark)
    lines[at] = rng.choice(
        [
            f"{first[:-1]}{rng.choice('abxyzO!?')}{mark}{second}",
            f"{first}{mark}{second[:2]}{rng.choice('eEl#§')}{second[2:]}x",
            f"{first}{mark}{second}{mark}{mark}17{mark}4",
            f"-1{point}0{mark}{second}",
            f"{first}{mark}999999999",
            f"{first}{mark}-99999",
            f"{first}{mark}inf",
            header[-1],
            f"{first}{mark}{second[:2]}\0",
            f"{first}{mark}1{point}2{point}3",
            "�" * 7,
            f"{first} {second}",
        ]
    )
    return "\n".join([*header, *lines, ""]), len(header) + at + 1


def refuse_damaged(seeds, path):
    for seed in seeds:
        text, line = damaged(random.Random(seed))
        with pytest.raises(InputError) as refused:
            read(path, text)
        (problem,) = refused.value.problems
        assert problem.place == f"line {line}", (seed, problem, text.split("\n")[line - 1])
        assert re.search(r"\w", problem.found) and problem.allowed and problem.fix


def test_damaged_logs_are_refused_in_words_with_the_line(tmp_path):
    refuse_damaged(range(60), tmp_path / "log.csv")
