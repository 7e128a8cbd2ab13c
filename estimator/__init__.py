"""Inspection, limits, hours, prices and books for stored-pressure hydraulic brakes."""

__version__ = "1.0.0"
