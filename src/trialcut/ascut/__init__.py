"""The forecast part: its as-cut surface layer by layer, and the virtual gauge that measures it."""
