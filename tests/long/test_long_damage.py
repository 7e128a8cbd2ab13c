"""20,000 damaged workbooks and 10,000 changed formulas: about four hours on two cores.

    python -m pytest tests/long/test_long_damage.py -n auto

The default run has a fixed sample of each.
"""

import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

from damage import content_of  # noqa: E402
from returned_workbooks import small_record, write  # noqa: E402
from test_damaged_workbooks import SAMPLES, SEED, run  # noqa: E402
from test_formula_mutants import WORKBOOKS, test_a_changed_formula_is_found_at_its_cell  # noqa: E402

DAMAGED, EACH = 20_000, 100
MUTATED = 100


@pytest.mark.parametrize("first", range(SAMPLES, DAMAGED + SAMPLES, EACH))
def test_damage_is_refused_or_read_as_it_is(first: int, tmp_path: Path) -> None:
    content = content_of(write(tmp_path / "sound.xlsx", small_record, SEED))
    found = run(range(first, first + EACH), tmp_path, content)
    assert found["unreadable"] >= 20 and found["judged"] >= 20, found


@pytest.mark.parametrize("number", range(WORKBOOKS, WORKBOOKS + MUTATED))
def test_a_changed_formula_is_found(number: int, tmp_path: Path) -> None:
    test_a_changed_formula_is_found_at_its_cell(number, tmp_path)
