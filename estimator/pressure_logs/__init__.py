"""Figures from recorded gauges: precharge, leak, cut-in, cut-out, hold and applications, each with its uncertainty."""
