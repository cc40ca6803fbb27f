"""Trials on the page: which cuts are worth making, the grid of readings, the fit, the gauges."""
