"""The next revision of a workbook: entries carried over, present rates and tables, what changed in price and why."""

import json
import shutil
from decimal import Decimal

import openpyxl
import pytest
from boxes_by_key import appraise_boxes, first_boxes
from cli_runs import SMALL
from fewer_jobs import keep_jobs
from plain_writing import write_workbook

from estimator.errors import InputError, Refused
from estimator.intake.current_job import FOUND_OUTSIDE, present_record
from estimator.intake.load_job import load_job
from estimator.readback.check import check_workbook
from estimator.readback.price_changes import price_changes
from estimator.readback.rebuild import record_of, redrafted
from estimator.workbook.compose import compose

TYPED = {
    "line.front-pads.front-axle.decision": "authorized",
    "reading.cut-out.system-1.1.before": 152.0,
    "reading.cut-out.system-1.1.note": "gauge tapped",
    "consent.1.who": "Wren Castellow",
    "extra_work.1.description": "Free a seized wheel bolt",
    "extra_work.1.hours": 0.5,
    "extra_part.1.description": "Dust cap",
    "extra_part.1.quantity": 2.0,
    "extra_part.1.cost": 3.1,
}


@pytest.fixture(scope="module")
def drafted(tmp_path_factory):
    """The files of a small job and its workbook with entries; not to be changed."""
    folder = tmp_path_factory.mktemp("redraft") / "job"
    shutil.copytree(SMALL, folder)
    record = load_job(folder / "job.toml")
    entries = first_boxes(record) | TYPED | {"extra_work.1.rate_id": record.shop.labor.rates[0].id}
    write_workbook(compose(appraise_boxes(record, entries)), folder / "quote.xlsx")
    return folder, check_workbook(folder / "quote.xlsx")


@pytest.fixture
def files(drafted, tmp_path):
    """Present files of the job, to be changed."""
    folder = tmp_path / "present"
    shutil.copytree(SMALL, folder)
    return folder


def change(path, old, new):
    text = path.read_text(encoding="utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new), encoding="utf-8")


def again(drafted, files, accepted=()):
    _, checked = drafted
    present = present_record(record_of(checked), files, files / "job.toml")
    return redrafted(checked, present.record, accepted)


def test_nothing_changed_changes_nothing_but_the_revision(drafted, files):
    made = again(drafted, files)
    assert made.appraisal.record.job.revision == 2
    assert made.appraisal.entries.as_boxes() == made.before.entries.as_boxes()
    assert (made.appraisal.proposed, made.appraisal.agreed) == (made.before.proposed, made.before.agreed)
    assert price_changes(made.before, made.appraisal) == () and made.left_behind == ()


def test_a_rate_that_rose_is_named_at_each_line_it_moves(drafted, files):
    rate = next(rate for rate in drafted[1].carried.record.shop.labor.rates)
    change(files / "shop.toml", f'per_hour = "{rate.per_hour}"', 'per_hour = "131.00"')
    made = again(drafted, files)
    changes = price_changes(made.before, made.appraisal)
    named = [item for item in changes if f"rate {rate.per_hour} an hour → 131.00 an hour" in item.why]
    assert named and all(item.after > item.before for item in named)
    difference = made.appraisal.proposed["total"] - made.before.proposed["total"]
    assert sum((item.difference for item in changes), Decimal(0)) == difference > 0


def test_a_cost_that_rose_and_a_step_that_takes_longer_are_named(drafted, files):
    change(files / "labor_tables" / "steps.csv", "0.10,0.20,0.30", "0.10,0.40,0.60")
    parts = (files / "labor_tables" / "parts.csv").read_text(encoding="utf-8").split("\n")
    fluid = next(row for row in parts[1:] if row and not row.startswith("front-pad-set")).split(",")
    dearer = [*fluid[:3], "99.00", *fluid[4:]]
    change(files / "labor_tables" / "parts.csv", ",".join(fluid), ",".join(dearer))
    made = again(drafted, files)
    changes = price_changes(made.before, made.appraisal)
    assert any("0.1/0.2/0.3 hr → 0.1/0.4/0.6 hr" in item.why for item in changes)
    difference = made.appraisal.proposed["total"] - made.before.proposed["total"]
    assert sum((item.difference for item in changes), Decimal(0)) == difference


def test_readings_keep_their_pressure_where_the_shop_shows_another_unit(drafted, files):
    change(files / "shop.toml", 'pressure = "bar"', 'pressure = "psi"')
    made = again(drafted, files)
    psi = made.appraisal.entries.as_boxes()["reading.cut-out.system-1.1.before"]
    assert psi == pytest.approx(152 * 1e5 / (0.45359237 * 9.80665 / 0.0254**2), rel=1e-11)
    assert made.appraisal.entries.as_boxes()["reading.cut-out.system-1.1.note"] == "gauge tapped"
    words = [[item.latest for item in appraisal.standings] for appraisal in (made.before, made.appraisal)]
    assert words[0] == words[1] and "within limits" in words[0]


def test_a_default_that_nobody_touched_gives_way_and_what_was_typed_stays(drafted, files):
    record = drafted[1].carried.record
    row = next(row for row in record.tables.job_parts)
    change(
        files / "labor_tables" / "job_parts.csv",
        f"{row.job_id},{row.part_id},{row.quantity}",
        f"{row.job_id},{row.part_id},7",
    )
    made = again(drafted, files)
    assert {part.quantity for part in made.appraisal.parts if part.listed.part_id == row.part_id} == {7.0}
    assert {key: made.appraisal.entries.as_boxes().get(key) for key in TYPED} == TYPED


def test_a_decision_on_a_job_that_the_tables_lost_stops_it_unless_the_loss_is_accepted(drafted, files):
    keep_jobs(files / "labor_tables", lambda job: job != "front-pads")
    job = (files / "job.toml").read_text(encoding="utf-8")
    job = job.replace('[[jobs]]\njob = "front-pads"\nat = "front-axle"\n', "").partition("[[substitutes]]")[0]
    (files / "job.toml").write_text(job, encoding="utf-8")
    key = "line.front-pads.front-axle.decision"
    with pytest.raises(Refused, match="would be lost; not redrafted") as refusal:
        again(drafted, files, ["reading.*"])
    lost = {item.key: item for item in refusal.value.findings}
    assert lost[key].what == f'"authorized" would be lost: there is no entry box {key} any more'
    assert f"--accept-loss {key}" in lost[key].fix and lost[key].cell
    made = again(drafted, files, lost)
    left = {item.what: item.why for item in made.left_behind}
    assert "line.front-pads.front-axle.decision" in left["authorized"]
    changes = {item.title: item for item in price_changes(made.before, made.appraisal)}
    gone = changes["Front pads, both sides, front axle"]
    assert gone.after == 0 and "no longer have this job" in gone.why


def written_in(path, to, **cells):
    book = openpyxl.load_workbook(path)
    for place, value in cells.items():
        tab, cell = place.split("__")
        book[tab][cell] = value
    book.save(to)
    return to


def test_what_was_written_outside_the_boxes_is_kept_as_a_note(drafted, files, tmp_path, monkeypatch, capsys):
    from estimator.cli.app import main

    monkeypatch.chdir(tmp_path)
    folder, _ = drafted
    scribbled = written_in(folder / "quote.xlsx", tmp_path / "scribbled.xlsx", Inspection__AZ3="call Wren before noon")
    # openpyxl stores no values: a spreadsheet program would; the road from here on takes the program's own file.
    checked = check_workbook(scribbled)
    assert any(item.rule == "text-added" and item.found == "call Wren before noon" for item in checked.findings)
    status = main(["redraft", str(scribbled), "-o", "next.xlsx", "--job", str(files / "job.toml")])
    assert status == 0, capsys.readouterr().err
    capsys.readouterr()
    assert main(["check", "next.xlsx", "--json"]) == 1
    (book,) = json.loads(capsys.readouterr().out)["workbooks"]
    assert (book["state"], book["revision"]) == ("sound", 2)
    record = check_workbook(tmp_path / "next.xlsx").carried.record
    assert [note for note in record.job.shop_notes if note.startswith(FOUND_OUTSIDE)] == [
        f"{FOUND_OUTSIDE} Inspection: AZ3 call Wren before noon"
    ]
    assert main(["redraft", "next.xlsx", "-o", "third.xlsx", "--job", str(files / "job.toml")]) == 0
    assert check_workbook(tmp_path / "third.xlsx").carried.record.job.shop_notes == record.job.shop_notes


def test_a_number_typed_over_a_formula_is_undone_and_said(drafted, files, tmp_path):
    folder, checked = drafted
    tab, cell = next((box.tab, box.cell) for box in checked.entries.boxes if box.key.startswith("line."))
    row = "".join(filter(str.isdecimal, cell))
    book = openpyxl.load_workbook(folder / "quote.xlsx")
    formula = next(cell for cell in book[tab][row] if str(cell.value).startswith("=Workings!"))
    formula.value = 1.0
    book.save(tmp_path / "typed-over.xlsx")
    wrong = check_workbook(tmp_path / "typed-over.xlsx")
    made = redrafted(wrong, present_record(record_of(wrong), files, files / "job.toml").record)
    assert [(item.place, item.why) for item in made.left_behind] == [
        (f"{tab}!{formula.coordinate}", "a change outside the boxes")
    ]


def test_a_text_in_a_number_box_is_not_carried_over_by_guessing(drafted, tmp_path):
    folder, checked = drafted
    box = next(box for box in checked.entries.boxes if box.key == "reading.cut-out.system-1.1.before")
    wrong = check_workbook(
        written_in(folder / "quote.xlsx", tmp_path / "w.xlsx", **{f"{box.tab}__{box.cell}": "148,5 bar"})
    )
    with pytest.raises(Refused, match="not redrafted") as refusal:
        record_of(wrong)
    assert {finding.rule for finding in refusal.value.findings} == {"entry-not-understood"}


def test_the_job_file_is_found_beside_the_workbook_and_must_be_of_the_document(drafted, files):
    _, checked = drafted
    old = record_of(checked)
    assert present_record(old, files).origin.startswith(str(files / "job.toml"))
    carried = present_record(old, files.parent)
    assert carried.origin.startswith("all as the workbook carries them") and carried.record.tables == old.tables
    elsewhere = present_record(old, files.parent, tables=files / "labor_tables")
    assert elsewhere.origin == f"shop, car and job as the workbook carries them, labor tables {files / 'labor_tables'}"
    shutil.copy(files / "job.toml", files / "job_copy.toml")
    with pytest.raises(InputError, match=r"job\.toml and job_copy\.toml have this document's number"):
        present_record(old, files)
    change(files / "job.toml", old.job.document, "LY-999-Z")
    with pytest.raises(InputError, match='The workbook is of the document "LY-101-A"'):
        present_record(old, files, files / "job.toml")


def test_a_revision_that_the_job_file_gives_stands_if_it_is_later(drafted, files):
    job = (files / "job.toml").read_text(encoding="utf-8")
    (files / "job.toml").write_text(f"revision = 5\n{job}", encoding="utf-8")
    assert again(drafted, files).appraisal.record.job.revision == 5
