"""Hypothesis as the tests of physical laws use it."""

from hypothesis import given as given_by_hypothesis
from hypothesis import settings


def given(*strategies):
    """Hypothesis without a deadline: a busy machine is no counterexample."""
    return lambda test: settings(deadline=None)(given_by_hypothesis(*strategies)(test))
