"""Over 200 points at which draft, fill and redraft are killed: about ten minutes.

python -m pytest tests/long/test_long_kills.py -n auto
"""

import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

from test_killed_writing import kill  # noqa: E402


@pytest.mark.parametrize("seed", range(2, 8))
def test_the_old_file_or_the_new_one(seed: int, tmp_path: Path) -> None:
    found = kill(tmp_path / "killed", 48, seed)
    assert found["killed"] >= 30 and found["new file"] >= 1 and found["old file"] >= 10
