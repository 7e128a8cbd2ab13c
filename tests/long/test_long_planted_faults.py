"""All single-cell edits of a filled-in workbook: each is found, at its cell, by its rule. About five minutes.

python -m pytest tests/long/test_long_planted_faults.py
"""

import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]
from test_planted_faults import ALL, CHUNKS, all_found, sound  # noqa: E402, F401

from estimator.readback.check import Checked  # noqa: E402


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_every_planted_fault_is_found_at_its_cell(
    chunk: int,
    sound: tuple[Path, Checked],  # noqa: F811
    tmp_path: Path,
) -> None:
    all_found(sound, tmp_path, chunk, ALL)
