"""Path and time: contours in order, starts and leads, speed along the path under the machine's limits."""
