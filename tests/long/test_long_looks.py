"""2,000 changes of look drawn at random, one a workbook: about half an hour on two cores.

python -m pytest tests/long/test_long_looks.py -n 2
"""

import random
import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

from looks_changed import BAD, HARMLESS  # noqa: E402
from test_look_changes import changed, sound  # noqa: E402, F401

BATCHES, SIZE = 40, 50


@pytest.mark.parametrize("batch", range(BATCHES))
def test_what_reads_otherwise_is_a_stop_and_nothing_else_is(batch: int, sound: Path, tmp_path: Path) -> None:  # noqa: F811
    rng = random.Random(batch)
    for number in range(SIZE):
        kinds, bad = (BAD, True) if number % 5 else (HARMLESS, False)
        name = rng.choice(list(kinds))
        said = changed(sound, tmp_path / "a.xlsx", {name: kinds[name]}, rng)
        assert bool(said) is bad, (batch, number, name, said)
        assert all(item.rule == "look-changed" for item in said), (batch, number, name, said)
