"""A car over the years: what its visits measured, trends with their uncertainty, and what is due when."""
