"""`estimator log` as people use it: what is printed, entries that `fill` takes, pictures, refusals."""

import json
import re
import struct
import zlib

import numpy as np
import pytest
from boxes_by_key import appraise_boxes, first_boxes
from cli_runs import ROOT
from lxml import etree
from simulated_logs import PSI, Bleed, applications, bleed, charging, hold, written
from strategies import demo_record

from estimator.cli.app import main
from estimator.errors import InputError
from estimator.intake.entries_csv import load_entries
from estimator.letters.log_pictures import log_pictures
from estimator.letters.render import letter_html
from estimator.readback.apply_entries import apply_entries
from estimator.workbook.compose import compose

DEMO = ROOT / "estimator" / "demo" / "files"
CAR = DEMO / "car.toml"
SAMPLE = DEMO / "bleed_down.csv"
ON_IT = ("log", SAMPLE, "--car", CAR, "--system", "1")


@pytest.fixture
def told(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)

    def tell(*words):
        status = main([str(word) for word in words])
        result, said = capsys.readouterr()
        assert "Traceback" not in result + said
        return status, result, said

    return tell


def test_the_sample_log_gives_the_precharge_of_the_demo(told):
    """Simulated with a precharge of 739 psi, which is what the demo's mechanic reads at the gas valve."""
    assert "reading.precharge.accumulator-1.before,739,psi" in (DEMO / "before.csv").read_text(encoding="utf-8")
    status, result, said = told(*ON_IT)
    assert status == 0 and "precharge: 739 psi" in result and "bleed-down (guessed" in result
    assert "gauge 18 psi" in result and "port closing early" in result and "cold gas" in result
    assert "both gauges at zero" in " ".join(said.split()) and max(map(len, result.splitlines())) <= 80


def test_json_holds_every_figure_with_its_uncertainty(told):
    status, result, _ = told(*ON_IT, "--json", "--kind", "bleed-down")
    data = json.loads(result)
    assert status == 0 and (data["schema"], data["kind"], data["guessed"], data["system"]) == (
        1,
        "bleed-down",
        False,
        "system-1",
    )
    for figure in data["figures"]:
        parts = figure["parts_si"].values()
        assert figure["standard_uncertainty_si"] == pytest.approx(np.sqrt(sum(part**2 for part in parts)))
        assert figure["rests_on"]
    assert re.fullmatch("[0-9a-f]{64}", data["sha256"])


def test_without_a_shop_the_gauge_is_said_to_be_missing(told, tmp_path):
    (tmp_path / "car.toml").write_bytes(CAR.read_bytes())
    _, result, _ = told("log", SAMPLE, "--car", "car.toml", "--system", "1")
    assert "no gauge known" in result and "gauge 0.0 psi" not in result


def test_the_shop_says_how_fast_gas_settles(told, tmp_path):
    (tmp_path / "car.toml").write_bytes(CAR.read_bytes())
    text = (DEMO / "shop.toml").read_text(encoding="utf-8")
    (tmp_path / "shop.toml").write_text(
        text.replace('time_constant = "3 min"', 'time_constant = "10 min"'), encoding="utf-8"
    )
    status, result, _ = told("log", SAMPLE, "--car", "car.toml", "--system", "1")
    assert (
        status == 1 and "precharge: indication" in result and "5 h or more is slow enough" in " ".join(result.split())
    )
    assert told("log", SAMPLE, "--car", "car.toml", "--system", "1", "--settling", "180 s")[0] == 0


def test_a_coarser_gauge_passes_one_to_one(told):
    gauges = ("precharge-1500", "pressure-5000")
    fine, coarse = (json.loads(told(*ON_IT, "--json", "--gauge", gauge)[1])["figures"][0] for gauge in gauges)
    assert fine["value_si"] == coarse["value_si"]
    grown = coarse["standard_uncertainty_si"] ** 2 - fine["standard_uncertainty_si"] ** 2
    assert grown == pytest.approx(coarse["parts_si"]["gauge"] ** 2 - fine["parts_si"]["gauge"] ** 2)
    assert coarse["parts_si"]["gauge"] / PSI == pytest.approx(np.hypot(5000 * 0.025, 25) / np.sqrt(3))


def logs(folder):
    """A log of each kind, and the keys that its entries fill."""
    rng = np.random.default_rng(1)
    at, pressure, warm = hold(rng)
    shell = "Time (s),Pressure (psi),Shell (°C)"
    yield written(folder / "hold.csv", at, pressure, header=shell, form="{},{:.1f},{:.1f}", more=(warm - 273.15,)), {
        "hold-start.system-1", "hold-start-temperature.system-1", "hold.system-1", "hold-end-temperature.system-1",
    }  # fmt: skip
    at, pressure, *_, lamp = applications(rng, count=40)
    lit = "Time (s),Pressure (psi),Lamp"
    yield written(folder / "strokes.csv", at, pressure, header=lit, form="{:.1f},{:.1f},{:.0f}", more=(lamp,)), {
        "applications.system-1", "lamp-pressure.system-1",
    }  # fmt: skip
    at, pressure, _ = charging(rng, cycles=5)
    yield written(folder / "pump.csv", at, pressure), {
        "charge-time.system-1", *(f"cut-{way}.system-1.{count}" for way in ("in", "out") for count in (1, 2, 3)),
    }  # fmt: skip
    yield SAMPLE, {"precharge.accumulator-1"}


@pytest.fixture(scope="module")
def workbook():
    """The boxes of the demo's workbook, and what stands in them before anyone types."""
    record = demo_record("job.toml")
    first = first_boxes(record)
    return [cell for cell in compose(appraise_boxes(record, first)).cells() if cell.box], first


def test_entries_of_each_kind_fill_boxes_with_a_note_that_names_the_log(told, tmp_path, workbook):
    boxes, entries = workbook
    for count, (log, expected) in enumerate(logs(tmp_path)):
        status, _, said = told("log", log, "--car", CAR, "--system", "1", "--entries", f"{count}.csv")
        assert status == 0 and f"entries: {count}.csv" in said
        text = (tmp_path / f"{count}.csv").read_text(encoding="utf-8")
        digest = re.search(r"# SHA-256 ([0-9a-f]{64})", text)[1]
        rows = [line for line in text.splitlines() if ".before," in line]
        assert {line.split(",")[0].removeprefix("reading.").removesuffix(".before") for line in rows} == expected
        for line in rows:
            assert "temperature" in line or (f"log {log.name}" in line and digest[:16] in line)
        entries = apply_entries(load_entries(tmp_path / f"{count}.csv"), boxes, entries)
    assert entries["reading.precharge.accumulator-1.before"] == 739
    assert entries["reading.precharge.accumulator-1.gauge_before"] == "pressure-3000-a"
    assert entries["stated.precharge.accumulator-1.how_before"] == "log"
    found = appraise_boxes(demo_record("job.toml"), entries)
    judged = next(item for item in found.judged if item.ref == "precharge.accumulator-1").phases["before"]
    own = json.loads(told(*ON_IT, "--json")[1])["figures"][0]["standard_uncertainty_si"]
    assert 0 <= judged.gauge_u - own <= 0.1 * PSI
    assert SAMPLE.name in entries["reading.precharge.accumulator-1.note"]


def test_bounds_and_indications_are_no_entries(told, tmp_path):
    fast = written(tmp_path / "fast.csv", *bleed(Bleed(knee=60.0), np.random.default_rng(1)))
    status, result, _ = told("log", fast, "--car", CAR, "--system", "1", "--entries", "e.csv")
    assert (
        status == 1
        and "precharge: indication" in result
        and "90 min or more is slow enough" in " ".join(result.split())
    )
    text = (tmp_path / "e.csv").read_text(encoding="utf-8")
    assert "reading." not in text and "# no entry: precharge, indication" in text
    above = written(tmp_path / "above.csv", *bleed(Bleed(knee=9000.0, after=-0.3), np.random.default_rng(1)))
    status, result, _ = told("log", above, "--car", CAR, "--system", "1", "--entries", "e2.csv")
    assert status == 1 and "precharge: at most" in result
    assert "reading." not in (tmp_path / "e2.csv").read_text(encoding="utf-8")


def test_a_system_of_several_accumulators_asks_which(told, tmp_path):
    text = CAR.read_text(encoding="utf-8")
    second = text[text.index('[[accumulators]]\nid = "accumulator-2"') : text.index("# Other circuits")]
    (tmp_path / "car.toml").write_text(
        text.replace(second, second + second.replace("accumulator-2", "accumulator-3").replace("system-2", "system-1")),
        encoding="utf-8",
    )
    on_it = ("log", SAMPLE, "--car", "car.toml", "--shop", DEMO / "shop.toml", "--system", "1")
    told(*on_it, "--entries", "both.csv")
    assert "isolate all but one" in (tmp_path / "both.csv").read_text(encoding="utf-8")
    told(*on_it, "--entries", "third.csv", "--accumulator", "accumulator-3")
    assert "reading.precharge.accumulator-3.before,739" in (tmp_path / "third.csv").read_text(encoding="utf-8")


def test_pictures_are_the_same_each_time_and_have_axes_with_units(told, tmp_path):
    for name in ("one.svg", "two.svg", "one.png", "two.png"):
        assert told(*ON_IT, "-o", name)[0] == 0
    for kind in ("svg", "png"):
        assert (tmp_path / f"one.{kind}").read_bytes() == (tmp_path / f"two.{kind}").read_bytes()
    tree = etree.parse(tmp_path / "one.svg")
    words = ["".join(item.itertext()).strip() for item in tree.iter("{*}text")]
    for needed in ("time, min", "pressure on the gauge, psi", "precharge: 739", "recorded", "fitted", "precharge ± 2u"):
        assert needed in words
    colors = set(re.findall(r"#[0-9a-fA-F]{6}", (tmp_path / "one.svg").read_text(encoding="utf-8")))
    assert all(color[1:3] == color[3:5] == color[5:7] for color in colors), colors
    assert gray(tmp_path / "one.png")


def gray(path):
    """Whether every point of a PNG has three equal channels, read with the standard library."""
    data, found, at = path.read_bytes(), b"", 8
    width, height, depth, color = struct.unpack(">IIBB", data[16:26])
    assert depth == 8 and color in (2, 6)
    while at < len(data):
        (size,) = struct.unpack(">I", data[at : at + 4])
        found += data[at + 8 : at + 8 + size] if data[at + 4 : at + 8] == b"IDAT" else b""
        at += 12 + size
    channels = {2: 3, 6: 4}[color]
    rows = np.frombuffer(zlib.decompress(found), np.uint8).reshape(height, 1 + width * channels)
    # A filter of PNG works on each channel alone: equal channels stay equal in what is stored.
    points = rows[:, 1:].reshape(height, width, channels)
    return bool((points[..., 0] == points[..., 1]).all() and (points[..., 1] == points[..., 2]).all())


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("--system", "3"), 65, 'no system "3"'),
        (("--gauge", "presure-5000"), 65, 'did you mean "pressure-5000"?'),
        (("--kind", "guess"), 65, "Allowed: bleed-down, charging"),
        (("--settling", "3"), 65, "has no unit"),
        (("--settling", "1 ms"), 65, "1 s to 10 h"),
        (("--accumulator", "accumulator-2"), 65, "Allowed: accumulator-1"),
        (("--pressure-unit", "furlong"), 65, "no unit of pressure"),
        (("--time-column", "when"), 65, 'columns are "Elapsed (s)", "System 1 (psi)"'),
        (("-o", "log.pdf"), 73, "SVG or PNG"),
        (("-o", "there.svg", "--shop", "shop.toml"), 66, "shop.toml"),
        (("-o", "no/such/there.svg"), 73, "no such folder"),
    ],
)
def test_what_is_wrong_is_said_in_words(told, words, status, said):
    found, _, message = told(*ON_IT, *words)
    assert found == status and said in message


def test_each_source_that_a_formula_names_is_listed():
    from estimator.facts.load_facts import sources

    texts = [path.read_text(encoding="utf-8") for path in (ROOT / "estimator" / "pressure_logs").glob("*.py")]
    named = [
        key
        for text in texts
        for found in re.findall(r"\[Source: ([^\]]+)\]", text)
        for key in re.findall(r"^[\w-]+|(?<=, )[\w-]+$", found)
    ]
    assert len(named) >= 7 and set(named) <= set(sources())


def test_missing_and_existing_files(told, tmp_path):
    assert told("log", "none.csv", "--car", CAR, "--system", "1")[0] == 66
    (tmp_path / "there.svg").write_text("kept", encoding="utf-8")
    assert told(*ON_IT, "-o", "there.svg")[0] == 73 and (tmp_path / "there.svg").read_text(encoding="utf-8") == "kept"
    assert told(*ON_IT, "-o", "there.svg", "--force")[0] == 0
    low = written(tmp_path / "low.csv", np.arange(50.0), np.full(50, 3.0))
    status, _, said = told("log", low, "--car", CAR, "--system", "1")
    assert status == 65 and "a charged system" in said


def test_progress_is_shown_after_two_seconds_to_a_person_who_watches(monkeypatch, capsys):
    import sys

    from estimator.cli.log import _Progress

    progress = _Progress()
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    progress.show(0.3)
    progress.began -= 2.5
    progress.show(0.5)
    progress.show(1.0)
    assert "30%" not in (said := capsys.readouterr().err) and "50%" in said and said.endswith("100% \n")


# --- the letter's pictures ---------------------------------------------------------------------------------------------


def with_sample(workbook, tmp_path, told):
    """The demo's appraisal with the sample log's reading entered."""
    boxes, entries = workbook
    assert told(*ON_IT, "--entries", "sample.csv", "--force")[0] == 0
    typed = apply_entries(load_entries(tmp_path / "sample.csv"), boxes, entries)
    return appraise_boxes(demo_record("job.toml"), typed)


def test_the_letter_draws_a_log_that_a_reading_names(told, tmp_path, workbook):
    appraisal = with_sample(workbook, tmp_path, told)
    (drawn,) = log_pictures(appraisal, [SAMPLE], tmp_path / "quote.xlsx")
    page = letter_html(appraisal, (drawn,))
    assert page.count('aria-labelledby="log-1-title log-1-words"') == 1 and "Read off it: precharge 739" in page
    assert "Recorded by a gauge at your car" in page and "Recorded by a gauge" not in letter_html(appraisal)
    assert "<script" not in page and letter_html(appraisal, log_pictures(appraisal, [SAMPLE], tmp_path)) == page


def test_the_letter_draws_no_log_that_no_reading_names(told, tmp_path, workbook):
    """A single changed sample is another log."""
    appraisal = with_sample(workbook, tmp_path, told)
    other = tmp_path / "bleed_down.csv"
    other.write_text(SAMPLE.read_text(encoding="utf-8").replace("\n0,", "\n1,", 1), encoding="utf-8")
    with pytest.raises(InputError, match="no reading of the workbook names this log"):
        log_pictures(appraisal, [other], tmp_path / "quote.xlsx")
    with pytest.raises(InputError, match="not found"):
        log_pictures(appraisal, [tmp_path / "none.csv"], tmp_path / "quote.xlsx")
