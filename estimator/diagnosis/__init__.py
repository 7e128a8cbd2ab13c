"""Causes that explain the readings."""
