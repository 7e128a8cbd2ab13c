"""`estimator history` as people use it: bands and dues in words, JSON, pictures, refusals; `draft` with a last visit."""

import datetime as dt
import json
import re
import shutil
import sys
from pathlib import Path

import pytest
from lxml import etree

sys.path.insert(0, str(Path(__file__).parent / "books"))

from book_samples import posting
from cli_runs import ROOT, SMALL
from gas_history import REF, past
from test_series import PSI, measured_visit

from estimator.books.post import post
from estimator.cli.app import main

CAR = ROOT / "estimator" / "demo" / "files" / "car.toml"
DAY = dt.date(2026, 11, 25)


@pytest.fixture
def told(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)

    def tell(*words):
        status = main([str(word) for word in words])
        result, said = capsys.readouterr()
        assert "Traceback" not in result + said
        return status, result, said

    return tell


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    """Ten posted visits with a known loss of gas, and one of another car."""
    folder = tmp_path_factory.mktemp("history") / "books"
    visits = [
        *past(3).visits,
        measured_visit("LY-99", DAY, {REF: (500 * PSI, 5 * PSI)}, chassis="ZZ-1", car_id="other"),
    ]
    sold = [posting(visit.document, date=visit.after) for visit in visits]
    done = post(sold, folder, "T. Quill", today=DAY, reports=False, visits=visits)
    assert {item.status for item in done.documents} == {"posted"}
    return folder


def test_the_books_give_a_trend_a_band_and_what_is_due(told, books):
    status, result, said = told("history", CAR, "--books", books)
    words = " ".join(result.split())
    assert status == 0 and "10 visits" in result and "LY-99" not in result
    found = past(3).trend.crossing("service", past(3).level)
    band = rf"service limit 741 psi: {found.earliest:%Y-%m} (to \d{{4}}-\d\d|or later)"
    assert re.search(band, words), words
    assert "a year" in result and "do-not-drive limit 458 psi" in words
    assert "These dates are not permission to drive until then: gas can be lost at once" in words
    assert re.search(r"Due .*Replace brake hoses: every 10 years", words)
    assert re.search(r"no date\s+replace accumulator 1", result)
    assert "both gauges at zero" in " ".join(said.split()) and max(map(len, result.splitlines())) <= 80


def test_json_holds_points_and_crossings(told, books):
    status, result, _ = told("history", CAR, "--books", books, "--json")
    data = json.loads(result)
    quantity = next(item for item in data["quantities"] if item["ref"] == REF)
    assert status == 0 and data["schema"] == 1 and len(data["visits"]) == 10
    assert len(quantity["points"][0]) == 10 and quantity["trend"]["visits"] == 10
    assert {item["limit"] for item in quantity["trend"]["crossings"]} >= {"service limit"}
    assert quantity["trend"]["per_year_si"] < 0 < quantity["trend"]["standard_uncertainty_si"]


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_the_picture_is_the_same_each_time(told, books, tmp_path, kind):
    one, two = tmp_path / f"one.{kind}", tmp_path / f"two.{kind}"
    for path in (one, two):
        assert told("history", CAR, "--books", books, "-o", path)[0] == 0
    assert one.read_bytes() == two.read_bytes() and len(one.read_bytes()) > 5000
    if kind == "svg":
        words = " ".join(etree.fromstring(one.read_bytes()).itertext())
        assert "precharge" in words and "service limit" in words and "Vardowe Longcourt: 10 visits" in words
    assert told("history", CAR, "--books", books, "-o", one)[0] == 73
    assert told("history", CAR, "--books", books, "-o", one, "--force")[0] == 0


def test_what_it_refuses(told, books, tmp_path):
    status, _, said = told("history", CAR)
    assert status == 65 and "--books" in said and "--from" in said
    status, _, said = told("history", CAR, "--books", books, "-o", "history.jpg")
    assert status == 73 and "SVG or PNG" in said
    assert told("history", CAR, "--books", tmp_path / "none")[0] == 66
    stranger = tmp_path / "car.toml"
    stranger.write_text(
        CAR.read_text(encoding="utf-8").replace("VLC-0268", "VLC-9999").replace('id = "vardowe', 'id = "x-vardowe')
    )
    status, _, said = told("history", stranger, "--books", books)
    assert status == 66 and 'no visit of "VLC-9999" on file' in said


def test_a_draft_takes_the_last_visit_along_and_redraft_and_fill_keep_it(told, tmp_path):
    """Of a small job: from the books, with what another job of the same number read left aside."""
    from estimator.readback.check import check_workbook

    shutil.copytree(SMALL, tmp_path / "job")
    car = (tmp_path / "job" / "car.toml").read_text(encoding="utf-8")
    chassis = "C6-004417"
    car = car.replace('name = "Vardowe Two"', f'name = "Vardowe Two", chassis_number = "{chassis}"')
    (tmp_path / "job" / "car.toml").write_text(car, encoding="utf-8")
    job = (tmp_path / "job" / "job.toml").read_text(encoding="utf-8")
    document = re.search(r'^document = "(.*)"', job, re.M)[1]
    read = {REF: (700 * PSI, 5 * PSI)}
    visits = [
        measured_visit(name, day, read, chassis=chassis, car_id="")
        for name, day in (
            ("LY-1", dt.date(2020, 5, 1)),
            ("LY-2", dt.date(2021, 5, 1)),
            (document, dt.date(2021, 9, 1)),
            ("LY-3", DAY.replace(year=2099)),
        )
    ]
    post([posting(item.document) for item in visits], "books", "T. Quill", today=DAY, reports=False, visits=visits)
    status, _, said = told("draft", "job/job.toml", "--books", "books", "-o", "quote.xlsx")
    assert status == 0 and "last visit: 2021-05-01 (LY-2)" in said, said
    carried = check_workbook(Path("quote.xlsx"))
    assert carried.state == "sound" and [item.document for item in carried.carried.record.visits] == ["LY-1", "LY-2"]
    (tmp_path / "rows.csv").write_text("key,value,unit,note\nvisit.before.by,Tam Orrick,,\n", encoding="utf-8")
    assert told("fill", "quote.xlsx", "rows.csv", "-o", "filled.xlsx")[0] == 0
    assert told("redraft", "filled.xlsx", "--job", "job/job.toml", "-o", "next.xlsx")[0] == 0
    assert len(check_workbook(Path("next.xlsx")).carried.record.visits) == 2
    status, _, said = told("draft", "job/job.toml", "-o", "bare.xlsx")
    assert status == 0 and "last visit" not in said
    assert check_workbook(Path("bare.xlsx")).carried.record.visits == ()


def test_a_workbook_that_is_not_intact_is_named_and_skipped(told, tmp_path):
    (tmp_path / "files").mkdir()
    (tmp_path / "files" / "broken.xlsx").write_bytes(b"PK no workbook")
    status, _, said = told("history", CAR, "--from", "files")
    assert status == 66 and "broken.xlsx skipped" in said and "no visit of" in said
