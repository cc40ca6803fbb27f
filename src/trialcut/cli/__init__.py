"""The commands. Anything heavy is imported inside the command that needs it."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and leave with its exit status."""
    try:
        from trialcut.cli.entry import run

        status = run(sys.argv[1:])
    except KeyboardInterrupt:  # while still loading
        status = 130
    sys.exit(status)
