"""Optimal design: which experiments to make, for what they teach and cost. It knows nothing of jets."""
