"""Simulated shops whose physics is not ours: the honest test of trials, fit and plan."""
