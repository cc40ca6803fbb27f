"""The solid kernel in a process of its own, because a damaged file can bring it down.

What goes in is a line of JSON on standard input; what comes out is a pickle of our own types.
"""

from __future__ import annotations

import json
import os
import pickle
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from trialcut.errors import DrawingError
from trialcut.geometry.findings import Finding
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.pieces import Piece

TIME_LIMIT = 120.0
"""Longest that a file may take. [s]"""

_RUN = "from trialcut.geometry.importers.step_child import main; main()"


@dataclass(frozen=True, slots=True)
class Read:
    """What the kernel found in a file.

    Parameters
    ----------
    pieces : list of Piece
        Outline and openings. [m]
    thickness : float
        [m]
    findings : list of Finding
        What is not square through.
    """

    pieces: list[Piece]
    thickness: float
    findings: list[Finding]


def read_apart(path: Path, *, factor: float, assembly: bool, strict: bool) -> Read:
    """
    Read the plate in a STEP file, in another process.

    Parameters
    ----------
    path : Path
        Of the file.
    factor : float
        Length to take for each length in the file. [-]
    assembly : bool
        Whether the file says that it is one.
    strict : bool
        Raise on the first thing that is not square through.

    Returns
    -------
    Read
        The plate.

    Raises
    ------
    DrawingError
        If the file does not hold one plate, is damaged, or takes too long.
    """
    given = json.dumps(
        {"path": str(path.resolve()), "factor": factor, "assembly": assembly, "strict": strict}
    )
    places = [each for each in sys.path if each]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(places)}
    try:
        done = subprocess.run(
            [sys.executable, "-c", _RUN],
            input=given.encode(),
            capture_output=True,
            timeout=TIME_LIMIT,
            env=environment,
            check=False,
        )
        found = pickle.loads(done.stdout) if done.returncode == 0 else None
    except subprocess.TimeoutExpired:
        raise DrawingError(
            f"{path.name} takes longer than {TIME_LIMIT:.0f} s to read; export the plate alone, or a flat "
            "view as DXF",
            code="takes-too-long",
        ) from None
    except (pickle.UnpicklingError, EOFError):
        found = None
    if isinstance(found, Read):
        return found
    if isinstance(found, tuple):
        message, case, facts = found
        raise DrawingError(message, code=case, **facts)
    raise DrawingError(
        f"{path.name} is damaged so that the solid kernel gives up; export it again", code="damaged-file"
    )


def main() -> None:
    """Read one file as told on standard input."""
    answer = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what the kernel prints is no answer
    given = json.load(sys.stdin)
    try:
        result: object = _read(
            Path(given["path"]), factor=given["factor"], assembly=given["assembly"], strict=given["strict"]
        )
    except DrawingError as error:
        result = (error.message, error.case, error.facts)
    pickle.dump(result, answer)
    answer.flush()
    os._exit(0)  # the kernel may still trip over its own ends


def _read(path: Path, *, factor: float, assembly: bool, strict: bool) -> Read:
    from trialcut.geometry.importers.step_plate import plate_of  # noqa: PLC0415
    from trialcut.geometry.importers.step_shape import read_shape, scaled, solids_of  # noqa: PLC0415

    solids = solids_of(read_shape(path))
    if len(solids) != 1:
        raise _not_one(path.name, len(solids), assembly=assembly)
    notes = Gatherer(strict=strict)
    plate = plate_of(scaled(solids[0], factor), path.name, notes)
    return Read(plate.pieces, plate.thickness, notes.findings)


def _not_one(name: str, solids: int, *, assembly: bool) -> DrawingError:
    if solids == 0:
        return DrawingError(
            f"{name} holds no solid, surfaces or lines at most; export the solid, or a flat view as DXF",
            code="no-solid",
        )
    what = "an assembly of " if assembly else ""
    return DrawingError(
        f"{name} holds {what}{plural(solids, 'solid')}; export the one plate alone",
        code="several-solids",
        solids=solids,
    )
