"""From arguments to an exit status: no error leaves here as a traceback."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

import typer

from trialcut.cli.commands import app
from trialcut.errors import TrialcutError

UNEXPECTED = 1
INTERRUPTED = 130

_CommandLineError: type[Exception] = typer.BadParameter.__mro__[1]


def run(arguments: Sequence[str]) -> int:
    """
    Run a command.

    Parameters
    ----------
    arguments : sequence of str
        Without the program's name.

    Returns
    -------
    int
        0 done, 1 a fault of Trialcut's own, 2 usage, 3 data, 4 computation, 130 interrupted.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    show_traceback = os.environ.get("TRIALCUT_TRACEBACK") == "1"
    try:
        left = app(list(arguments), prog_name="trialcut", standalone_mode=False)
        status = left if isinstance(left, int) else 0
        sys.stdout.flush()
    except TrialcutError as error:
        if show_traceback:
            raise
        _say(error)
        return error.exit_status
    except (KeyboardInterrupt, typer.Abort):
        status = INTERRUPTED
    except BrokenPipeError:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115, the reader went away
        return 0
    except _CommandLineError as error:
        return _usage(error)
    except Exception as error:
        if show_traceback:
            raise
        _complain(
            f"trialcut: a fault of Trialcut's own, {type(error).__name__} {str(error)[:200]!r}: "
            "run it again with TRIALCUT_TRACEBACK=1 set, and report what that prints, with the drawing"
        )
        return UNEXPECTED
    if status == INTERRUPTED:
        _complain("trialcut: stopped")
    return status


def _say(error: TrialcutError) -> None:
    _complain(f"trialcut: {error.message}")
    for problem in error.facts.get("problems", ())[1:]:
        _complain(f"also: {problem}")


def _usage(error: Exception) -> int:
    context = getattr(error, "ctx", None)
    command = context.command_path if context is not None else "trialcut"
    message = error.format_message() if hasattr(error, "format_message") else str(error)
    _complain(f"{command}: {message.rstrip('.')}: see {command} --help")
    return 2


def _complain(text: str) -> None:
    sys.stderr.write(" ".join(text.split()) + "\n")
