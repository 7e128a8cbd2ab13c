"""After a kill at any point, register and files agree or are repaired by the next run, with words.

A sample here; over 200 points under tests/long/.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("killed_posting.py")
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process")


def kill(folder, lines, times):
    run = subprocess.run([sys.executable, SCRIPT, folder, str(lines), str(times)], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def test_nothing_is_lost_or_doubled(tmp_path):
    found = kill(tmp_path, 24, 8)
    assert found["killed"] >= 24
    assert found["whole batch was kept"] and found["nothing was kept"] and found["files made again, and said so"]


def slips(folder, times, seed):
    script = SCRIPT.with_name("killed_slips.py")
    run = subprocess.run([sys.executable, script, folder, str(times), str(seed)], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def test_every_slip_under_kill_leaves_what_calm_books_hold(tmp_path):
    """A sample; 300 under tests/long/."""
    found = slips(tmp_path, 40, 1)
    assert found["killed"] > 10 and found["refused"] > 5 and found["posted"] > 3
