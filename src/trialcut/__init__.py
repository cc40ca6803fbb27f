"""Decide and prove how to cut a part by abrasive waterjet."""

__version__ = "0.1.0"
