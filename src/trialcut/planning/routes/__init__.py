"""Whole routes to the finished part: the jet, operations after it or in its place, and buying elsewhere."""
