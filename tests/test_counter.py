"""The counter: from the phone call to a printed quote, the boxes that matter, and who must act next.

Commands and edits are counted, not seconds.
"""

import csv
import datetime as dt
import io
import json
import os
import re
import select
import shutil
import subprocess
import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from boxes_by_key import appraise_boxes, first_boxes
from cli_runs import COMMAND, copied_demo, environment, shared_demo

from estimator.appraise import appraise
from estimator.boxes.keys import decision
from estimator.cli.app import main
from estimator.findings import appraisal_findings
from estimator.intake.labor_tables import load_tables_and_packages, packaged_tables
from estimator.intake.load_job import JobFile, load_job, load_written
from estimator.intake.new_job import Order, job_text
from estimator.intake.toml_files import load_toml, parsed_text, validated
from estimator.pricing.first_entries import first_entries
from estimator.quote_notes import quote_notes
from estimator.readback.check import check_workbook
from estimator.records import Car

GLYCOL = ["--car", "longcourt"]
MINERAL = ["--car", "highcourt"]
FOUR_DATA = ["--new-car", "Vardowe Farcourt", "--variant", "B", "--fluid", "mineral", "--systems", "2"]
WHO = ["--customer", "Wren Castellow"]


@pytest.fixture
def told(capsys, monkeypatch, tmp_path):
    """Run a command in a folder of its own. Returns status, standard output, standard error."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ESTIMATOR_SEAL_KEY", raising=False)
    capsys.readouterr()

    def tell(*words):
        status = main([str(word) for word in words])
        result, said = capsys.readouterr()
        assert "Traceback" not in result + said
        return status, result, " ".join(said.split())

    return tell


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    return shared_demo(tmp_path_factory) / "demo"


@pytest.fixture
def shop(told, tmp_path):
    """The files of a new shop, without the workbooks of the demo."""
    assert told("start", "shop")[0] == 0
    return tmp_path / "shop"


def asked_in(job):
    return [(item["job"], item.get("at", "car")) for item in tomllib.loads(job.read_text(encoding="utf-8"))["jobs"]]


def record_of(path):
    checked = check_workbook(path)
    assert checked.state == "sound"
    return checked.appraisal


# --- the whole flow, commands and edits counted -----------------------------------------------------------------------


@pytest.mark.parametrize("car", [GLYCOL, MINERAL, FOUR_DATA], ids=["glycol", "mineral", "four-data"])
def test_from_the_phone_call_to_a_printed_quote(told, tmp_path, car):
    """A new shop: two commands and no edit make the quote of an overhaul; three more print what was measured."""
    commands = []

    def run(*words):
        commands.append(words[0])
        return told(*words)

    assert run("start", "shop")[0] == 0
    concern = ["--concern", "Lamp comes on early, long pedal"]
    status, result, said = run("new", "shop", *WHO, *car, *concern, "--job", "brake system overhaul")
    assert status == 0 and "do not drive it here: bring it on a trailer" in said
    book = Path(result.split()[-1])
    made = record_of(book)
    assert commands == ["start", "new"]
    for job in ("front-caliper-overhaul", "rear-caliper-overhaul", "accumulator-exchange", "complete-fluid-renewal"):
        lines = [line for line in made.labor.lines if line.line.job.job_id == job]
        assert lines and all(line.line.asked and line.alone > 0 for line in lines), job
    assert made.proposed["total"] > 5000 and made.proposed["disposal"] > 0
    assert made.driving.state == "NOTHING MEASURED: DO NOT DRIVE"
    assert run("letter", book)[0] == 0
    # what is measured: one file, in which a person fills in one column
    assert run("boxes", book, "-o", "entries.csv")[0] == 0
    edits = fill_in(Path("entries.csv"), {"precharge.accumulator-1": "20", "fluid-level": "no fault found"})
    assert edits <= 6
    assert run("fill", book, "entries.csv", "-o", "shop/measured.xlsx")[0] == 0
    assert run("check", "shop/measured.xlsx")[0] == 1
    status, result, _ = run("jobs", "shop", "--today", "2026-12-24")
    assert status == 0 and "1 open car" in result and "Wren Castellow" in result and "mechanic: measure" in result
    assert commands == ["start", "new", "letter", "boxes", "fill", "check", "jobs"]


def fill_in(path, values):
    """Type values into the rows whose key holds these words. Returns how many cells were typed in."""
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    edits = 0
    for row in rows[1:]:
        for words, value in values.items():
            if words in row[0] and row[0].endswith(".before"):
                row[1], edits = value, edits + 1
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    return edits


# --- new --------------------------------------------------------------------------------------------------------------


def test_places_in_plain_words(told, shop):
    jobs = [
        "front caliper overhaul, all",
        "Replace brake hoses at one wheel, front left",
        "pump res, system 2",
        "rear pads",
    ]
    words = [word for job in jobs for word in ("--job", job)]
    status, result, said = told("new", shop, *WHO, *GLYCOL, "--concern", "Annual visit", *words, "--date", "2026-11-25")
    assert status == 0 and "trailer" not in said
    job = Path(result.split()[0])
    assert asked_in(job) == [
        ("front-caliper-overhaul", "all"),
        ("wheel-hose-renewal", "front-left"),
        ("pump-reseal", "system-2"),
        ("rear-pads", "rear-axle"),
    ]
    held = tomllib.loads(job.read_text(encoding="utf-8"))
    assert (held["customer"], held["complaint"], held["car"]) == (
        {"name": "Wren Castellow"},
        "Annual visit",
        "car.toml",
    )
    asked = [line.ref for line in record_of(result.split()[-1]).labor.lines if line.line.asked]
    assert len(asked) == 5 and "front-caliper-overhaul.front-right-caliper" in asked
    assert told("draft", job, "-o", "again.xlsx")[0] == 0
    assert Path("again.xlsx").read_bytes() == Path(result.split()[-1]).read_bytes()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--job", "front wing"], ["is not a job or package"]),
        (["--job", "caliper overhaul, all"], ["may be several", "front caliper overhaul", "rear caliper overhaul"]),
        (["--job", "pump reseal"], ["no place is given", '"all"', '"system 1"']),
        (["--job", "pump reseal, front left"], ["none of its places", '"system 2"']),
        (["--job", "rear pads", "--check", "hub"], ["is not a check made on request"]),
        (["--job", "rear pads", "--document", "ly-311-a"], ["in use: job.toml", "the next free one is LY-313-A"]),
        (["--job", "elastomer buffer"], ["is not a job or package"]),
    ],
)
def test_what_is_not_understood_is_told_and_nothing_is_written(told, shop, more, words):
    before = sorted(shop.rglob("*"))
    status, result, said = told("new", shop, *WHO, *GLYCOL, "--concern", "Stops badly", *more)
    assert (status, result) == (65, "") and [word for word in words if word not in said] == []
    assert sorted(shop.rglob("*")) == before


def test_what_is_missing_is_named_where_nobody_can_be_asked(told, shop):
    status, _, said = told("new", shop, "--car", "longcourt")
    assert status == 2 and "missing: --customer, --concern, --job" in said
    status, _, said = told("new", shop, *WHO, "--new-car", "Farcourt", "--concern", "x", "--job", "road test")
    assert status == 2 and "missing: --fluid" in said
    status, _, said = told("new", shop, *WHO, "--car", "vardowe", "--concern", "x", "--job", "road test")
    assert status == 65 and "may be several" in said


def test_a_failing_draft_takes_its_files_back(told, shop, monkeypatch):
    def fails(*_, **__):
        raise KeyError("nobody thought of this")

    monkeypatch.setattr("estimator.cli.new.write_draft", fails)
    before = sorted(shop.rglob("*"))
    assert told("new", shop, *WHO, *FOUR_DATA, "--concern", "x", "--job", "road test")[0] == 70
    assert sorted(shop.rglob("*")) == before


def test_numbers_of_folder_and_books_are_taken(told, demo, tmp_path):
    folder = copied_demo(demo.parent, tmp_path) / "demo"
    for name in ("job.toml", "job_mineral.toml"):
        (folder / name).unlink()
    for path in folder.glob("*.xlsx"):
        path.unlink()
    said = told("new", folder, *WHO, *GLYCOL, "--concern", "x", "--job", "road test", "--document", "LY-311-A")[2]
    assert "in use: posted in" in said and "the next free one is LY-312-A" in said
    status, result, _ = told("new", folder, *WHO, *GLYCOL, "--concern", "x", "--job", "road test")
    assert status == 0 and Path(result.split()[0]).name == "LY-312-A.toml"
    assert (
        told("new", folder, *WHO, *GLYCOL, "--concern", "x", "--job", "road test")[1]
        .split()[0]
        .endswith("LY-313-A.toml")
    )


def test_a_folder_of_cars_is_where_cars_are_kept(told, shop):
    (shop / "cars").mkdir()
    shutil.move(shop / "car.toml", shop / "cars" / "longcourt.toml")
    status, result, _ = told("new", shop, *WHO, "--car", "TAR 5127", "--concern", "x", "--job", "road test")
    assert status == 0
    assert tomllib.loads(Path(result.split()[0]).read_text())["car"] == "cars/longcourt.toml"
    status, result, _ = told("new", shop, *WHO, *FOUR_DATA, "--concern", "x", "--job", "road test")
    assert status == 0 and (shop / "cars" / "vardowe-farcourt.toml").is_file()
    assert told("limits", shop / "cars" / "vardowe-farcourt.toml")[1].count("Missing from vardowe-farcourt.toml") == 1


def appraised(shop, file, *asked):
    """What a job asks for that is said in these words, appraised without a workbook; and what the car can't have of it."""
    tables, packages = load_tables_and_packages(packaged_tables())
    order = Order(tables, packages, load_toml(shop / file, Car))
    for words in asked:
        order.ask(words)
    said = {"document": "X-1", "date": dt.date(2026, 11, 25), "shop": "shop.toml", "car": file, "complaint": "x"}
    said |= {"checks": order.asked.checks, "customer": {"name": "Ida Moss"}}
    path = shop / "X-1.toml"
    text = job_text(said, order.jobs_asked(), {job_id: row.title for job_id, row in order.jobs.items()})
    record, _ = load_written(validated(parsed_text(text, path), JobFile, path), path)
    return appraise(record, first_entries(record)), order.asked.left_out


PACKAGES = list(dict.fromkeys(row.package for row in load_tables_and_packages(packaged_tables())[1]))


@pytest.mark.parametrize("package", PACKAGES)
@pytest.mark.parametrize("file", ["car.toml", "car_mineral.toml", "car_little.toml"])
def test_each_package_can_be_asked_for_and_its_checks_are_asked(shop, package, file):
    rows = [row for row in load_tables_and_packages(packaged_tables())[1] if row.package == package]
    made, left_out = appraised(shop, file, package)
    asked = {line.line.job.job_id for line in made.labor.lines if line.line.asked}
    can = {line.line.job.job_id for line in made.labor.lines}
    assert asked == {row.job_id for row in rows if row.job_id in can}
    assert len(left_out) == len({row.job_id for row in rows if row.job_id} - can)
    wanted, there = {row.check_id for row in rows if row.check_id}, {item.row.check.id for item in made.standings}
    assert {item.row.check.id for item in made.standings if item.asked} >= wanted & there
    assert made.proposed["total"] > 0


@pytest.mark.skipif(os.name == "nt", reason="wants a terminal")
def test_it_asks_for_what_is_missing_at_a_terminal(shop):
    """Answers typed one after the other; what isn't understood is asked again."""
    answers = [
        "Wren Castellow",
        "vardowe",
        "longcourt",
        "Lamp comes on",
        "?",
        "caliper",
        "front pads",
        "pump reseal",
        "all",
    ]
    status, shown = typed_on_a_terminal(["new", shop], [*answers, "", ""], shop)
    assert status == 0, shown
    assert "may be several" in shown and "bring it on a trailer" in shown and "LY-313-A" in shown
    assert asked_in(shop / "LY-313-A.toml") == [("front-pads", "front-axle"), ("pump-reseal", "all")]


def typed_on_a_terminal(words, answers, cwd):
    """Run a command whose questions are answered from a terminal, each line once it was asked for."""
    import pty

    master, slave = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, *map(str, words)], stdin=slave, stdout=slave, stderr=slave, cwd=cwd, env=environment(TERM="dumb")
    )
    os.close(slave)
    os.write(master, ("\n".join(answers) + "\n").encode())
    shown = io.BytesIO()
    while True:
        if not select.select([master], [], [], 240)[0]:
            process.kill()  # a question that nobody answers
            break
        try:
            piece = os.read(master, 65536)
        except OSError:
            break
        if not piece:
            break
        shown.write(piece)
    os.close(master)
    return process.wait(), shown.getvalue().decode("utf-8", "replace")


def test_names_are_completed(shop):
    env = environment(_ESTIMATOR_COMPLETE="complete_zsh", _TYPER_COMPLETE_ARGS="estimator new --job front")
    done = subprocess.run(COMMAND, capture_output=True, text=True, cwd=shop, env=env)
    assert "front caliper overhaul" in done.stdout and "rear" not in done.stdout
    assert (
        "--install-completion"
        in subprocess.run([*COMMAND, "-h"], capture_output=True, text=True, env=environment()).stdout
    )


# --- boxes ------------------------------------------------------------------------------------------------------------

STEPS = ("", "-before", "-decisions", "-after", "-road")


@pytest.mark.parametrize("step", ["-before", "-road"])
def test_what_boxes_writes_can_be_filled_in_unchanged(told, demo, step):
    book = demo / f"LY-311-A-r1{step}.xlsx"
    assert told("boxes", book, "--stage", "all", "-o", "all.csv")[0] == 0
    assert told("fill", book, "all.csv", "-o", "same.xlsx")[0] == 0
    before, after = check_workbook(book), check_workbook(Path("same.xlsx"))
    assert before.entries.values == after.entries.values
    assert before.appraisal.agreed == after.appraisal.agreed


@pytest.mark.parametrize(
    ("step", "stage", "first"),
    [
        ("", "before", "reading.fluid-family.car.before"),
        ("-decisions", "work", "line.pressure-test-diagnostic.car.done"),
        ("-after", "road", "reading.road-stop.car.after"),
    ],
)
def test_without_a_stage_it_is_the_next(told, demo, step, stage, first):
    book = demo / f"LY-311-A-r1{step}.xlsx"
    status, result, _ = told("boxes", book)
    assert status == 0 and result == told("boxes", book, "--stage", stage)[1]
    rows = list(
        csv.DictReader(io.StringIO("\n".join(x for x in result.splitlines() if not x.lstrip('"').startswith("#"))))
    )
    keys = [row["key"] for row in rows]
    assert first in keys and len(keys) == len(set(keys))
    boxes = {box.key: box for box in check_workbook(book).entries.boxes}
    assert set(keys) <= set(boxes)
    for row in rows:
        box = boxes[row["key"]].box
        assert row["what"] and (box.kind != "list" or row["allowed"].split(" | ") == list(box.allowed))


def test_decisions_and_authorization_are_boxes_of_one_stage(told, demo):
    keys = [
        line.split(",")[0]
        for line in told("boxes", demo / "LY-311-A-r1-before.xlsx", "--stage", "decisions")[1].split()
    ]
    assert {"line.accumulator-exchange.accumulator-2.decision", "consent.1.amount", "extra_part.1.decision"} <= set(
        keys
    )
    assert not [key for key in keys if key.startswith("reading")]
    assert told("boxes", demo / "LY-311-A-r1.xlsx", "--stage", "tomorrow")[0] == 2


# --- jobs, check ------------------------------------------------------------------------------------------------------


def test_jobs_lists_the_latest_of_each_open_car(told, demo, tmp_path):
    folder = tmp_path / "all"
    folder.mkdir()
    for number, step in enumerate(STEPS[:3]):
        shutil.copy(demo / f"LY-311-A-r1{step}.xlsx", folder / f"a{step}.xlsx")
        os.utime(folder / f"a{step}.xlsx", (number, number))
    (folder / "bad.xlsx").write_bytes(b"no workbook")
    status, result, said = told("jobs", folder, "--today", "2026-11-27")
    assert status == 0 and "bad.xlsx: not listed" in said
    lines = result.splitlines()
    assert lines[0] == "1 open car; 0 posted documents not listed" and max(map(len, lines)) <= 80
    assert "2 days" in result and "DO NOT DRIVE · work" in result and "a-decisions.xlsx" in result
    lines = record_of(demo / "LY-311-A-r1-decisions.xlsx").labor.lines
    agreed = [item for item in lines if item.agreed and item.line.job.job_id != "road-test"]
    assert f"mechanic: complete {len(agreed)} authorized jobs and mark them" in result
    data = json.loads(told("jobs", folder, "--json", "--today", "2026-11-27")[1])
    [job] = data["jobs"]
    assert (job["stage"], job["who"], job["state"], job["days"]) == ("work", "mechanic", "do-not-drive", 2)
    assert job["open"] == "0.00" and float(job["authorized"]) > 2000
    assert "0 open cars; 1 posted document not listed" in told("jobs", folder, "--books", demo / "books")[1]


@pytest.mark.parametrize(
    ("step", "stage"),
    [("", "before"), ("-before", "before"), ("-decisions", "work"), ("-after", "road"), ("-road", "posting")],
)
def test_the_stages_of_the_demo_in_order(demo, step, stage):
    from estimator.next_step import next_step

    assert next_step(record_of(demo / f"LY-311-A-r1{step}.xlsx")).stage == stage


@pytest.mark.parametrize("step", STEPS)
def test_the_short_form_is_one_screen_with_its_caution(told, demo, step):
    _, result, _ = told("check", demo / f"LY-311-A-r1{step}.xlsx")
    lines = result.splitlines()
    assert len(lines) <= 24 and max(map(len, lines)) <= 80
    assert "cause: " in result and "to do: " in result and "This is no estimate" in result
    words = " ".join(result.split())
    if step == "-road":
        assert "This does not mean the car is safe." in words and "not examined:" in words
    elif step != "-after":
        assert "never states that a car is safe" in words
    if step == "-before":
        assert "precharge, accumulator 2: out of limits, 30 psi" in words


def test_of_many_workbooks_the_list_comes_first(told, demo):
    _, result, _ = told("check", *(demo / f"LY-311-A-r1{step}.xlsx" for step in STEPS[:2]), "--jobs", "1")
    assert result.startswith("2 workbooks\n") and result.index("LY-311-A-r1-before.xlsx: DO NOT DRIVE") < result.index(
        "to do:"
    )


def test_an_altered_workbook_says_so_in_the_short_form(told, demo, tmp_path):
    import openpyxl

    book = openpyxl.load_workbook(demo / "LY-311-A-r1-road.xlsx")
    cell = next(c for row in book["Limits"].iter_rows() for c in row if isinstance(c.value, float))
    cell.value += 1
    book.save(tmp_path / "altered.xlsx")
    _, result, _ = told("check", "altered.xlsx")
    assert "not intact" in result and f"Limits!{cell.coordinate}" in result


# --- units, dates, disposal -------------------------------------------------------------------------------------------


def test_a_metric_shop_reads_its_own_units_and_dates(told):
    assert told("start", "shop", "--units", "metric", "--dates", "25.11.2026")[0] == 0
    status, result, _ = told("new", "shop", *WHO, *FOUR_DATA, "--concern", "x", "--job", "annual service")
    assert status == 0
    book = Path(result.split()[-1])
    made = record_of(book)
    texts = [f"{item.label} {item.row.check.how}" for item in made.standings]
    assert any("stop from 32 km/h" in text for text in texts) and any("556 N on the pedal" in text for text in texts)
    assert not [text for text in texts if re.search(r"[0-9] (mph|lbf|psi)\b", text)]
    Path("dates.csv").write_text("key,value\nvisit.before.date,27.11.2026\n", encoding="utf-8")
    assert told("fill", book, "dates.csv", "-o", "dated.xlsx", "--today", "2026-12-01")[0] == 0
    assert "visit.before.date,27.11.2026" in told("boxes", "dated.xlsx")[1]
    assert told("letter", "dated.xlsx")[0] == 0
    page = Path("dated.html").read_text(encoding="utf-8")
    assert "27 November 2026" in page and not re.search(r"November [0-9]+, 2026", page)
    Path("dates.csv").write_text("key,value\nvisit.before.date,11/27/2026\n", encoding="utf-8")
    status, _, said = told("fill", book, "dates.csv", "-o", "other.xlsx")
    assert status == 65 and "write it as 25.11.2026" in said.lower().replace("write", "write")


def test_a_shop_of_us_units_keeps_the_words_of_the_rules(told, demo):
    made = record_of(demo / "LY-311-A-r1.xlsx")
    texts = [f"{item.label} {item.row.check.how}" for item in made.standings]
    assert any("stop from 20 mph" in text for text in texts) and any("125 lbf on the pedal" in text for text in texts)
    assert told("start", "shop", "--units", "furlongs")[0] == 2


@pytest.mark.parametrize(
    ("file", "job", "liters"),
    [
        ("car.toml", "brake system overhaul", 4.2),  # what the circuits hold
        ("car.toml", "front caliper overhaul, all", 0.8),  # two calipers at 0.4 L
        ("car.toml", "front pads", ""),
        ("car_little.toml", "brake system overhaul", 5.0),  # invented
    ],
)
def test_disposal_is_estimated_from_what_the_circuits_hold(shop, file, job, liters):
    made, _ = appraised(shop, file, job)
    assert made.entries.disposal["drained"].liters == liters
    assert made.proposed["disposal"] == (0 if liters == "" else round(Decimal(str(liters)) * Decimal("1.20"), 2))
    said = " ".join(quote_notes(made))
    assert ("invented: the car file has no [fluid] capacity" in said) == (liters == 5.0)


def test_disposal_that_nobody_entered_is_not_billed_where_no_authorized_job_takes_fluid(shop):
    record = appraised(shop, "car.toml", "front pads", "front caliper overhaul, all")[0].record
    boxes = first_boxes(record) | {decision("front-pads.front-axle"): "authorized"}

    def findings(**more):
        found = appraisal_findings(appraise_boxes(record, boxes | more))
        return [item.what for item in found if item.rule == "disposal-not-entered"]

    assert findings() == ["fluid disposal of 0.8 L is an estimate, and no authorized job takes fluid"]
    assert findings(**{"disposal.drained.liters": 0.0}) == [] == findings(**{"disposal.drained.liters": 0.3})
    assert findings(**{decision("front-caliper-overhaul.front-right-caliper"): "authorized"}) == []


def test_deposits_and_alternatives_are_named(shop):
    job = (shop / "job.toml").read_text(encoding="utf-8")
    for name, at in (
        ("accumulator-exchange", "accumulator-2"),
        ("pump-exchange", "system-2"),
        ("pump-reseal", "system-2"),
    ):
        job = job.replace("# Parts that no job", f'[[jobs]]\njob = "{name}"\nat = "{at}"\n\n# Parts that no job', 1)
    (shop / "job.toml").write_text(job, encoding="utf-8")
    record = load_job(shop / "job.toml")
    said = "; ".join(quote_notes(appraise(record, first_entries(record))))
    assert "core deposits of 60.00 USD included" in said and "Replace accumulator" not in said
    assert "alternatives: Reseal pump, system 2, or Replace pump, system 2; the total counts the first" in said


# --- files in the wrong place -----------------------------------------------------------------------------------------


def test_files_in_the_wrong_order_are_told_by_what_they_are(told, demo):
    book, entries, car, shop = (demo / name for name in ("LY-311-A-r1.xlsx", "before.csv", "car.toml", "shop.toml"))
    for words, said in (
        (("fill", entries, book), "it is a file of entries. A workbook belongs here"),
        (("fill", book, car), "it is a car file. A file of entries belongs here"),
        (("draft", book), "it is a workbook. A job file belongs here"),
        (("draft", car), "it is a car file. A job file belongs here"),
        (("draft", entries), "it is a file of entries. A job file belongs here"),
        (("limits", shop), "it is a shop file. A car file belongs here"),
    ):
        status, result, told_ = told(*words)
        assert (status, result) == (65, "") and said in told_, words


def test_an_output_in_a_folder_that_is_not_there_is_refused(told, demo, tmp_path):
    for words in (
        ("draft", demo / "job.toml"),
        ("fill", demo / "LY-311-A-r1.xlsx", demo / "before.csv"),
        ("letter", demo / "LY-311-A-r1.xlsx"),
        ("boxes", demo / "LY-311-A-r1.xlsx"),
    ):
        status, result, said = told(*words, "-o", "nowhere/x")
        assert (status, result) == (73, "") and "nowhere: no such folder" in said
    assert not (tmp_path / "nowhere").exists()


def test_a_reading_without_a_limit_is_not_called_unmeasured(told, shop):
    _, result, _ = told("new", shop, *WHO, *FOUR_DATA, "--concern", "x", "--job", "road test")
    Path("e.csv").write_text("key,value\nreading.cut-out.system-1.1.before,2050\n", encoding="utf-8")
    told("fill", result.split()[-1], "e.csv", "-o", "f.xlsx")
    data = json.loads(told("check", "f.xlsx", "--json")[1])["workbooks"][0]["findings"]
    [found] = [item for item in data if item["key"] == "reading.cut-out.system-1.1.before"]
    assert found["rule"] == "no-limit" and "measured, no limit on file" in found["what"]
