"""Over 200 points at which draft, fill and redraft are killed, and each of them on a full disk: about ten minutes.

python -m pytest tests/long/test_long_kills.py -n auto
"""

import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

import test_killed_writing as kills  # noqa: E402
from test_killed_writing import OLD, words  # noqa: E402, F401

COMMANDS = ("draft", "fill", "redraft")
pytestmark = kills.pytestmark


@pytest.mark.parametrize("seed", range(1, 8))
def test_the_old_file_or_the_new_one(seed: int, tmp_path: Path) -> None:
    found = kills.kill(tmp_path / "killed", 16, seed)
    assert found["killed"] >= 30 and found["new file"] >= 1 and found["old file"] >= 10


@pytest.mark.parametrize("command", COMMANDS)
def test_a_full_disk_keeps_the_old_file(command: str, words: dict[str, list[str]], tmp_path: Path) -> None:  # noqa: F811
    kills.test_a_full_disk_keeps_the_old_file(command, words, tmp_path)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_folder_that_takes_no_file(command: str, words: dict[str, list[str]], tmp_path: Path) -> None:  # noqa: F811
    kills.test_a_folder_that_takes_no_file(command, words, tmp_path)


def test_a_file_that_is_there_is_kept(words: dict[str, list[str]], tmp_path: Path) -> None:  # noqa: F811
    """In processes of their own; the default run has it within one (test_command_line.py)."""
    out = tmp_path / "kept.xlsx"
    out.write_bytes(OLD)
    for command in COMMANDS:
        done = kills.told([*words[command], "-o", str(out)])
        assert done.returncode == 73 and "--force" in done.stderr and out.read_bytes() == OLD
