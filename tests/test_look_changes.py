"""A look that makes a number or word read otherwise is a stop; one that doesn't is none.

Each change once here; 2,000 drawn at random under tests/long/.
"""

import random
from collections.abc import Mapping
from pathlib import Path

import pytest
from looks_changed import BAD, HARMLESS, Change, Markup
from returned_workbooks import check, write

from estimator.errors import Finding
from estimator.readback.look_changes import same_reading

TABS = (
    *("Summary", "Inspection", "After work", "Estimate", "Work", "Journal"),
    *("Limits", "Basis", "Workings", "Causes"),
)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(tmp_path_factory.mktemp("sound") / "sound.xlsx", seed=1)


def changed(sound: Path, to: Path, changes: Mapping[str, Change], rng: random.Random) -> list[Finding]:
    """What stops a workbook with these changes."""
    markup = Markup(sound)
    for change in changes.values():
        change(markup, rng.choice(TABS), rng)
    checked = check(markup.write(to))
    return [item for item in checked.integrity if item.severity == "stop"]


@pytest.mark.parametrize("part", range(3))
def test_each_change_that_reads_otherwise_is_a_stop(part: int, sound: Path, tmp_path: Path) -> None:
    """A third of the kinds in one workbook, each on a tab of its own kind: so many stops at least."""
    kinds = dict(list(BAD.items())[part::3])
    said = changed(sound, tmp_path / "a.xlsx", kinds, random.Random(part))
    assert len(said) >= len(kinds) and all(item.rule == "look-changed" for item in said), said


def test_what_is_nobodys_business_is_not_said(sound: Path, tmp_path: Path) -> None:
    assert changed(sound, tmp_path / "a.xlsx", {}, random.Random(0)) == []
    assert changed(sound, tmp_path / "b.xlsx", HARMLESS, random.Random(0)) == []


@pytest.mark.parametrize(
    ("expected", "code", "value", "same"),
    [
        ("0.00", "0.00", 1.5, True),
        ("0.00", "0.000", 1.5, True),
        ("0.00", "0.0", 1.5, False),
        ("#,##0.00", '#,##0.00\\ "USD"', 1.5, False),
        ("0.00%", "0.00", 0.5, False),
        ("0.00%", "0.000%", 0.5, True),
        ("0;-0;", '0;\\-0;""', 0, True),
        ("0;-0;", "0;\\-0;;", 5, True),
        ("0;-0;", "0", 0, False),
        ("yyyy-mm-dd", "yyyy\\-mm\\-dd", 46351, True),
        ("yyyy-mm-dd", "[$-409]yyyy\\-mm\\-dd;@", 46351, True),
        ("yyyy-mm-dd", "dd/mm/yyyy", 46351, False),
        ("General", "0.00", 1.234, False),
        ("@", "General", "words", True),
        ("General", "@", "words", True),
        ("@", '0;0;0;"good"', "words", False),
        ("@", '@" (good)"', "words", False),
        ("0.00", "General", 1.234, True),
    ],
)
def test_number_formats_are_compared_by_what_they_show(expected: str, code: str, value: object, same: bool) -> None:
    assert same_reading(expected, code, value) is same
