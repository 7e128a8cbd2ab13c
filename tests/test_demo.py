"""The demo tells the story that it promises, on files that a workshop can begin with."""

import csv
import hashlib
import json
import re
import unicodedata
from decimal import Decimal

import pytest
from boxes_by_key import appraise_boxes, first_boxes
from cli_runs import run, shared_demo
from plain_writing import write_workbook

from estimator.cli.app import main
from estimator.intake.load_job import load_job_and_prices
from estimator.readback.check import check_workbook
from estimator.workbook.compose import compose
from estimator.workbook.tabs.offers import reasons

# Real makers of cars: the first 8 digits of the SHA-256 of each name, so that none of them stands here either.
MAKERS = frozenset(
    re.findall(
        "[0-9a-f]{8}",
        "01a301a7 09b7b4be 10ac8885 1573a511 16103dd0 1c319d59 1c39a011 1ed60b84 27df9ed9 2b584134 337b8d2c 36236add "
        "36b53ead 37268bb0 40fc6718 44e8dd36 4c719cc3 4d13e1db 55905469 573abb3c 61058a8b 690fa78d 6c414a1c 72c15cf7 "
        "7358bd4e 83dd9b6d 8417659f 8d1630d4 917ebb33 93d65b44 94baebcb 9a046660 9ae87507 9c15e816 9c456937 9e48bad6 "
        "a4a04fef a744d93f aa59343f aaa02d58 ac858922 b0fbddb4 b2808c94 b51026e4 b5bced84 b8510932 bc5bee2c bccae4ce "
        "be95b1e9 c239b29d c40677cf c5626fc8 c798ceef d222a18d d5e34819 d76df9f0 d9170e0c dd6c5828 df0340b2 e462aa65 "
        "e714b7d3 e7867363 f081f7b8 f4527da2 f534f9a1 fa5bf879 fcb61cf2 ",
    )
)
STEPS = ("", "-before", "-decisions", "-after", "-road")


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    return shared_demo(tmp_path_factory)


@pytest.fixture(scope="module")
def checked(demo):
    return {step: check_workbook(demo / "demo" / f"LY-311-A-r1{step}.xlsx") for step in STEPS}


def test_every_workbook_is_sound_and_nothing_differs(checked):
    assert {step: (item.state, item.integrity) for step, item in checked.items()} == dict.fromkeys(STEPS, ("sound", ()))


def test_what_may_be_done_with_the_car_follows_the_work(checked):
    assert [item.appraisal.driving.state for item in checked.values()] == [
        "NOTHING MEASURED: DO NOT DRIVE",
        "DO NOT DRIVE",
        "DO NOT DRIVE",
        "SHOP ROAD TEST ONLY",
        "no finding prohibits driving",
    ]
    road = checked["-road"].appraisal.driving
    assert road.made == road.asked and road.behind == road.road_open == 0


def test_readings_before_work_are_of_every_kind(checked):
    words = [item.before.verdict for item in checked["-before"].appraisal.standings if item.asked]
    assert words.count("within limits") > 20 and words.count("no fault found") > 10
    assert words.count("too close to limit") == 1
    assert words.count("out of limits") >= 3 and "fault found" in words
    assert words.count("unable to measure") == 1
    missing = [item.label for item in checked["-before"].appraisal.standings if item.latest == "not measured"]
    assert "wheel bearing play, rear right" in missing


def test_the_lost_gas_is_what_the_story_is_about(checked):
    """Cut-out is still reached, and the usable volume is nil."""
    before = {item.ref: item.before.verdict for item in checked["-before"].appraisal.standings}
    assert {before[f"cut-out.system-2.{number}"] for number in (1, 2, 3)} == {"within limits"}
    assert before["precharge.accumulator-2"] == before["applications.system-2"] == "out of limits"
    after = {item.ref: item.after.verdict for item in checked["-after"].appraisal.standings}
    assert after["precharge.accumulator-2"] == after["applications.system-2"] == "within limits"


def test_readings_keep_clear_of_their_limits(checked):
    """No verdict of the story hangs on the last digit of a limit, but the one that is too close to limit."""
    for step, phase in (("-before", "before"), ("-after", "after")):
        for item in checked[step].appraisal.judged:
            judged = item.phases[phase]
            margin = judged.service.margin
            if isinstance(margin, str) or isinstance(judged.u_shown, str) or judged.verdict == "too close to limit":
                continue
            assert abs(margin) > 1.02 * judged.u_shown, (item.label, margin, judged.u_shown)


def test_the_quote_follows_the_findings_and_the_decisions(checked):
    totals = [item.appraisal.proposed["total"] for item in checked.values()]
    assert totals[1] > totals[0] and totals[2] != totals[1] and totals[2] == totals[3] == totals[4]
    before = {line.ref: line.decided.called_by for line in checked["-before"].appraisal.labor.lines if line.proposed}
    assert before["accumulator-exchange.accumulator-2"] == "readings point to lost gas in accumulator 2"
    (item,) = (
        item for item in checked["-before"].appraisal.offers if item.title == "Replace accumulator, accumulator 2"
    )
    assert reasons(checked["-before"].appraisal)[item.ref] == "Reason: readings point to lost gas in accumulator 2"
    # The lost gas explains hold, charge time, count and lamp: nothing is isolated, traced or measured anew on their account.
    assert sorted(line for line, why in before.items() if why and "accumulator-2" not in line) == [
        "complete-fluid-renewal.car",
        "front-pads.front-axle",
        "precharge-measurement.accumulator-1",
        "seized-bolt.rear-axle",
        "wheel-measurement.rear-right",
    ]
    assert [line for line in before if "accumulator-2" in line] == ["accumulator-exchange.accumulator-2"]
    agreed = checked["-road"].appraisal.agreed
    assert agreed == checked["-road"].appraisal.proposed and agreed["core"] > 0


def test_consents_come_in_stages_and_cover_what_was_agreed(checked):
    appraisal = checked["-decisions"].appraisal
    given = [item for item in appraisal.consents if item.counted]
    assert [item.stage for item in given] == ["diagnosis", "repair", "additional work"]
    assert appraisal.consented.over == 0
    declined = [finding for finding in checked["-road"].findings if finding.rule == "safety-job-declined"]
    assert declined and {finding.severity for finding in declined} == {"note"}  # recorded with date and name
    others = [finding for finding in checked["-road"].findings if finding.rule != "limit-conflict"]
    assert {finding.severity for finding in others} == {"note"}


def test_the_books_hold_the_document_once_and_agree_with_the_paper(demo, checked):
    with (demo / "demo" / "books" / "journal-000001.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    debit, credit = (sum(Decimal(row[side]) for row in rows) for side in ("debit", "credit"))
    assert debit == credit == checked["-road"].appraisal.agreed["total"]
    listed = run("books", demo / "demo" / "books", "--json", "--verify", cwd=demo)
    assert listed.returncode == 0
    assert [item["document"] for item in json.loads(listed.stdout)["documents"]] == ["LY-311-A"]


def test_the_tour_names_each_file_who_opens_it_and_what_to_look_for(demo):
    tour = (demo / "tour.txt").read_text(encoding="utf-8")
    stops = re.findall(r"^(demo/\S+)$", tour, re.M)
    assert len(stops) == 9 and all((demo / stop).is_file() for stop in stops)
    assert tour.count("  for: ") == tour.count("  look at: ") == len(stops)
    assert max(map(len, tour.split("\n"))) <= 80
    said = (demo / "said.txt").read_text(encoding="utf-8")
    assert "invented for the demo" in said and "both gauges at zero" in " ".join(said.split())


def test_the_demo_writes_over_nothing(demo, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "job.toml").write_text("mine")
    assert main(["demo"]) == 73
    assert [path.name for path in (tmp_path / "demo").iterdir()] == ["job.toml"]
    assert (tmp_path / "demo" / "job.toml").read_text() == "mine" and "--force" in capsys.readouterr().err


# --- the folder to begin with -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    folder = tmp_path_factory.mktemp("start") / "workshop"
    assert main(["start", str(folder)]) == 0
    return folder


def test_start_leaves_all_that_a_workshop_begins_with(workshop):
    names = {path.relative_to(workshop).as_posix() for path in workshop.rglob("*") if path.is_file()}
    assert {"shop.toml", "car.toml", "job.toml", "entries.csv", "car_mineral.toml", "job_mineral.toml"} <= names
    assert {"labor_tables/README.md", "labor_tables/jobs.csv", "labor_tables/parts.csv"} <= names
    for name in names:
        text = (workshop / name).read_text(encoding="utf-8")
        assert "#" in text or name.startswith("labor_tables/") or name == "supplier_prices.csv", name
    assert main(["start", str(workshop)]) == 73


@pytest.mark.parametrize(("job", "entries"), [("job.toml", "entries.csv"), ("job_mineral.toml", None)])
def test_both_jobs_of_the_folder_draft_and_check(workshop, tmp_path, job, entries):
    record, prices = load_job_and_prices(workshop / job)
    assert record.tables_name == "labor_tables"
    assert (prices is None) == (entries is not None)
    path = tmp_path / "quote.xlsx"
    write_workbook(compose(appraise_boxes(record, first_boxes(record))), path)
    checked = check_workbook(path)
    assert (checked.state, checked.integrity) == ("sound", ())
    if entries:
        assert main(["fill", str(path), str(workshop / entries), "-o", str(tmp_path / "filled.xlsx")]) == 0
        assert check_workbook(tmp_path / "filled.xlsx").state == "sound"


def test_the_folder_is_free_of_what_was_not_invented(workshop):
    """What is invented says so in every file that a person edits."""
    for name in ("shop.toml", "car.toml", "job.toml", "car_mineral.toml", "entries.csv", "supplier_prices.csv"):
        assert "invented" in (workshop / name).read_text(encoding="utf-8"), name


def makers_in(text):
    plain = unicodedata.normalize("NFD", text.lower()).encode("ascii", "ignore").decode()
    words = set(re.findall("[a-z]{3,}", plain))
    return {word for word in words if hashlib.sha256(word.encode()).hexdigest()[:8] in MAKERS}


def test_no_real_maker_is_named(demo, checked):
    texts = [
        cell.value
        for sheet in checked["-road"].workbook.sheets.values()
        if sheet.name != "Record"  # letters of its packed text spell anything; what it packs is in the other tabs
        for cell in sheet.cells.values()
        if isinstance(cell.value, str)
    ]
    files = [item for item in (demo / "demo").rglob("*") if item.suffix in (".toml", ".csv", ".md", ".xml", ".json")]
    assert len(texts) > 1000 and len(files) > 15
    assert makers_in("\n".join([*texts, *(item.read_text(encoding="utf-8") for item in files)])) == set()
    assert makers_in(bytes([84, 111, 89, 111, 84, 65]).decode()) and not makers_in("Vardowe Longcourt")
