"""The commands. Anything heavy is imported inside the command that needs it."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line and leave with its exit status."""
    from trialcut.cli.entry import run

    sys.exit(run(sys.argv[1:]))
