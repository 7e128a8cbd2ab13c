"""Inspection, limits, hours, prices and books for stored-pressure hydraulic brakes."""

__version__ = "0.4.0"
