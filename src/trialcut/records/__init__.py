"""The shop's book: what was cut, read, fitted and issued, kept for good."""
