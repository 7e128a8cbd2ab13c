"""Every letter of the demo in a real browser, at each width and on both papers: a minute.

python -m pytest tests/long/test_long_letters.py

The default run shows the two with most in them.
"""

import sys
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).resolve().parents[1])]

import test_letter_in_browser as letters  # noqa: E402
from letter_samples import NAMES  # noqa: E402
from test_letter_in_browser import browser, shown  # noqa: E402, F401

pytestmark = letters.pytestmark


@pytest.mark.parametrize("name", NAMES)
def test_no_rule_of_accessibility_is_broken(shown, name):  # noqa: F811
    letters.test_no_rule_of_accessibility_is_broken(shown, name, 1000)


@pytest.mark.parametrize(("width", "percent"), [(320, 100), (360, 100), (480, 200), (1000, 200)])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_scrolled_sideways_nor_cut_off(shown, name, width, percent):  # noqa: F811
    letters.test_nothing_is_scrolled_sideways_nor_cut_off(shown, name, width, percent)


@pytest.mark.parametrize("paper", ["letter", "A4"])
@pytest.mark.parametrize(("name", "most"), [("drafted", 5), ("before", 9), ("road", 10)])
def test_it_prints_whole(shown, tmp_path, name, most, paper):  # noqa: F811
    letters.test_it_prints_whole(shown, tmp_path, name, most, paper)


def test_grey_is_enough(shown, tmp_path):  # noqa: F811
    letters.test_grey_is_enough(shown, tmp_path, "before")
