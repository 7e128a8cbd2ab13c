"""Every case of the sample through draft, fill and check. About half a minute.

python -m pytest tests/long/test_long_by_workbook.py
"""

import pytest

from tests.never_clear.by_workbook import check, drafted, fill, run, typed
from tests.never_clear.good_car import good_car
from tests.never_clear.test_by_workbook import SAMPLE, says_the_same


@pytest.fixture(scope="module")
def blank(tmp_path_factory):
    return drafted(tmp_path_factory.mktemp("never-clear") / "job")


@pytest.mark.parametrize("case", SAMPLE, ids=lambda case: case.id)
def test_the_workbook_says_the_same(case, blank, tmp_path, capsys):
    says_the_same(case, blank, tmp_path, capsys)


def test_a_second_round_is_the_next_revision(blank, tmp_path, capsys):
    """The readings after work become those before work, with their gauges; what is done stays done and billed; a limit that
    changed between the revisions is told."""
    visit = good_car()
    visit.done("front-pads.front-axle")
    for ref in visit.voided("front-pads.front-axle"):
        visit.read_again(ref)
    visit.read("pad-thickness.front-left", 10.6, "after", "micrometer")
    first = fill(blank, typed(visit), tmp_path / "first.xlsx")
    was = check(first, capsys)
    assert was["car"] == "no-do-not-drive-finding"
    car = blank.parent / "car.toml"
    before = car.read_text(encoding="utf-8")
    car.write_text(before.replace('service_low = "3.0 mm"', 'service_low = "4.5 mm"'), encoding="utf-8")
    try:
        capsys.readouterr()
        assert run("redraft", first, "-o", tmp_path / "second.xlsx", "--job", blank.parent / "job.toml") in (0, 1)
    finally:
        car.write_text(before, encoding="utf-8")
    told = capsys.readouterr().err
    assert "thinnest pad" in told and "3" in told and "4.5" in told
    now = check(tmp_path / "second.xlsx", capsys)
    boxes = {box["key"]: box.get("value") for box in now["boxes"]}
    assert now["revision"] == was["revision"] + 1 and now["car"] == was["car"]
    assert now["totals"] == was["totals"]
    assert boxes["reading.pad-thickness.front-left.before"] == 10.6
    assert boxes["reading.pad-thickness.front-left.gauge_before"] == "micrometer"
    assert not boxes["reading.pad-thickness.front-left.after"]
    assert boxes["line.front-pads.front-axle.done"] == "completed"
