"""Logs, at length: 64 configurations by 40 draws, 200 kinds, 500 damaged files; two minutes on two cores.

    python -m pytest tests/long/test_long_logs.py

The default run has a fixed sample of each.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
import pytest
from test_log_bleeds import CONFIGURATIONS, allowed_bias, misses
from test_log_files import refuse_damaged
from test_log_kinds import told_apart

DRAWS = 40


@pytest.mark.parametrize("it", CONFIGURATIONS, ids=str)
def test_bias_and_coverage_of_each_configuration(it):
    error, u, flow = misses(it, range(DRAWS))
    scatter = error.std(ddof=1)
    assert abs(error.mean()) <= allowed_bias(it) + 3 * scatter / np.sqrt(DRAWS)
    assert (np.abs(error) <= 2 * u).mean() >= 0.85
    assert (np.abs(flow) <= 3).mean() >= 0.95


def test_200_kinds_are_told_apart():
    told_apart(range(1000, 1200))


def test_500_damaged_logs_are_refused_in_words_with_the_line(tmp_path):
    refuse_damaged(range(1000, 1500), tmp_path / "log.csv")
