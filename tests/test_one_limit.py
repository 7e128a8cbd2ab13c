"""`limits FILE --check --place`: one limit on one page, redone from it; what is said of a wrong check or place."""

import json
import math
import re

import pytest
from cli_runs import shared_demo

from estimator.cli.app import main

ROOM = (60, 80)  # lines, columns


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return shared_demo(tmp_path_factory) / "demo"


@pytest.fixture
def told(capsys):
    def tell(*words):
        status = main(["limits", *map(str, words)])
        return status, *capsys.readouterr()

    return tell


def test_every_limit_has_its_page(demo, told):
    _, listed, _ = told(demo / "car.toml", "--json")
    refs = [item["ref"] for item in json.loads(listed)["limits"] if item["sides"]]
    assert len(refs) > 40
    for ref in refs:
        check, _, place = ref.partition(".")
        status, page, _ = told(demo / "car.toml", "--check", check, "--place", place)
        lines = page.splitlines()
        assert status == 0 and len(lines) <= ROOM[0] and max(map(len, lines)) <= ROOM[1], (ref, len(lines))


def test_the_steps_can_be_redone(demo, told):
    """16° less and more 1° of tolerance (the demo's car file), from the numbers on the page."""
    _, page, _ = told(demo / "car.toml", "--check", "valve-tilt")
    sums = [sum(map(float, re.findall(r"[+-]?[\d.]+", text))) for text in re.findall(r"= ([\d.+-]+) \(SI\)", page)]
    assert [round(math.degrees(one), 3) for one in sums] == [15, 17]
    assert "tilt least = 15 °" in page and "tilt most = 17 °" in page and "tolerance [valve] = 1 °" in page


def test_a_workbook_shows_what_was_read(demo, told):
    _, page, _ = told(demo / "LY-311-A-r1-road.xlsx", "--check", "precharge", "--place", "accumulator-2")
    assert re.search(r"before work: [\d.]+ ± [\d.]+ psi, out of limits", page)
    assert re.search(r"after work: [\d,.]+ ± [\d.]+ psi, within limits", page)
    assert {"Data", "Sources"} < set(page.splitlines())


@pytest.mark.parametrize(
    "words, said",
    [
        (("--check", "precharg"), ("precharg", "precharge, road-balance")),
        (("--check", "precharge"), ("several places", "accumulator-1, accumulator-2")),
        (("--check", "precharge", "--place", "roof"), ("roof", "accumulator-1, accumulator-2")),
        (("--place", "accumulator-1"), ("needs a check",)),
    ],
)
def test_a_wrong_check_or_place_is_told_with_what_is_allowed(demo, told, words, said):
    status, page, message = told(demo / "car.toml", *words)
    assert status == 2 and not page
    assert all(part in " ".join(message.split()) for part in said)


def test_json_holds_one_limit_alone(demo, told):
    _, whole, _ = told(demo / "car.toml", "--json")
    _, one, _ = told(demo / "car.toml", "--json", "--check", "valve-tilt")
    whole, one = json.loads(whole), json.loads(one)
    assert [item["ref"] for item in one["limits"]] == ["valve-tilt.car"] and len(one["workings"]) == 4
    assert all(row in whole["workings"] for row in one["workings"])
