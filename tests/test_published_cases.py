"""What sources outside the project printed, against what the program answers: every case of published_cases/."""

import re
from collections import Counter

import pytest
from published import FOLDER, OPTIONAL, REQUIRED, STATUSES, Case, cases, last_digit, run

from estimator.facts.load_facts import sources

CASES = cases()
GAS_LEFT = {
    "row": "accumulator_rows:charged",
    "volume": "10 gallon",
    "cold": "1000 psi",
    "system:cut-out-abs": "1200 psi",
}
EXPLAINED = (FOLDER / "differences_explained.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_answers_as_printed(case):
    outcome = run(case)
    assert outcome.agrees(), (
        f"{case.file}, {case.name}: answered {outcome.answered}, {case.raw['source']} printed {outcome.printed} "
        f"(allowed {outcome.below} below, {outcome.above} above)"
    )


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_case_is_complete(case):
    assert set(case.raw) >= REQUIRED and set(case.raw) <= REQUIRED | OPTIONAL, f"{case.file}, {case.name}"
    assert all(str(case.raw[key]).strip() for key in REQUIRED), f"{case.file}, {case.name}: an empty field"
    assert case.raw["status"] in STATUSES
    assert case.raw["source"] in sources() or " " in case.raw["source"], "a key of sources.toml, or words"


def test_names_stand_once():
    doubled = [name for name, count in Counter(case.name for case in CASES).items() if count > 1]
    assert not doubled


def test_there_are_enough_cases():
    statuses = Counter(case.raw["status"] for case in CASES)
    assert len(CASES) >= 60, statuses
    assert statuses["read"] >= 25, statuses


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_difference_is_explained(case):
    """An answer that isn't the printed one to half its last digit has its reason in differences_explained.md."""
    outcome = run(case)
    printed = case.raw["expected"] if isinstance(case.raw["expected"], list) else [case.raw["expected"]]
    differs = any(
        not isinstance(want, str) and abs(got - want) > max(last_digit(written), 1e-9 * abs(want)) * (1 + 1e-9)
        for got, want, written in zip(outcome.answered, outcome.printed, printed, strict=True)
    )
    explained = f"| {case.name} |" in EXPLAINED
    assert differs == explained, f"{case.file}, {case.name}: answered {outcome.answered}, printed {printed}"


def test_no_explanation_of_a_case_that_is_gone():
    rows = [line.split("|")[1].strip() for line in EXPLAINED.splitlines() if line.startswith("| ")][2:]
    assert set(rows) <= {case.name for case in CASES}


@pytest.mark.parametrize(
    "change",
    [
        {"expected": "8.40 gallon"},
        {"expected": 8.33},
        {"inputs": {**GAS_LEFT, "volume": "10 L"}},
        {"inputs": {**GAS_LEFT, "cold": "1000 psi gauge", "system:cut-out-abs": "1200 psi gauge"}},
    ],
)
def test_a_wrong_case_is_caught(change):
    good = next(case for case in CASES if case.name == "closing unit, gas volume at 1200 psi")
    assert run(good).agrees()
    assert not run(Case(good.file, {**good.raw, **change})).agrees()


def test_every_case_of_a_physical_function_names_a_known_source():
    own = [
        case
        for case in CASES
        if re.match(r"estimator\.hydraulics|row_road|judging_road|tests\.|real_nitrogen", case.raw["function"])
    ]
    assert len(own) >= 50
    unknown = [case.name for case in own if case.raw["source"] not in sources()]
    assert not unknown
