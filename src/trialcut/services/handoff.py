"""Hand-off of a plan to the shop's own toolpath program, and plain programs for trial coupons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

import numpy as np

from trialcut import __version__
from trialcut.errors import ComputationError
from trialcut.papers.exports.edge_dxf import edge_dxf
from trialcut.papers.exports.edge_plan import edge_plan_csv
from trialcut.papers.exports.stl import stl_bytes
from trialcut.papers.exports.three_mf import three_mf_bytes
from trialcut.papers.program.form import ProgramForm
from trialcut.papers.program.moves import jet_moves
from trialcut.papers.program.reading import read_program
from trialcut.papers.program.replay import Agreement, agreement
from trialcut.papers.program.writing import program_text
from trialcut.papers.solid_still import deviation_scale
from trialcut.papers.words import say
from trialcut.physics.piercing import piercing_time
from trialcut.planning.as_cut import cut_in_full
from trialcut.planning.cut_part import CutPart, cut_in_thought, cuts_of
from trialcut.planning.plan import study_of_option
from trialcut.planning.prepared import prepare
from trialcut.planning.results import Option
from trialcut.planning.study import Study
from trialcut.services.as_cut import cut_forecast
from trialcut.services.documents import document_text
from trialcut.services.files import plain_name, write_files
from trialcut.services.handoff_document import handoff_document
from trialcut.units import Kind, format_value


class HandoffForm(StrEnum):
    """What can be handed off."""

    DXF = "dxf"
    CSV = "csv"
    JSON = "json"
    PROGRAM = "program"
    SOLID = "solid"


FOR_TOOLPATHS = (HandoffForm.DXF, HandoffForm.CSV, HandoffForm.JSON)
"""What the shop's own toolpath program needs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedProgram:
    """A plain program, read back and replayed.

    Parameters
    ----------
    text : str
        Of it.
    agreement : Agreement
        How its replay differs from the plan.
    """

    text: str
    agreement: Agreement


def issue_handoff(
    study: Study,
    option: Option,
    folder: Path | str,
    *,
    forms: Sequence[HandoffForm | str] = FOR_TOOLPATHS,
    program: ProgramForm | None = None,
) -> list[Path]:
    """
    Write what the shop's toolpath program is told, and, where asked for, a plain program or the solid.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        One of its plan.
    folder : Path or str
        Made if it does not exist.
    forms : sequence of HandoffForm or str
        What to write.
    program : ProgramForm, optional
        The shop's; a plain one unless given.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written; then none is.
    UsageError
        If a program is wanted of a plan that tilts, and the shop's form has no tilt axes.
    ComputationError
        If the replay of the program does not give the plan's part; then nothing is written.
    """
    name = f"{plain_name(study.name)}-{option.name}"
    wanted = [HandoffForm(form) for form in dict.fromkeys(forms)]
    files: dict[str, bytes | str] = {}
    for form in wanted:
        if form is HandoffForm.DXF:
            files[f"{name}-edges.dxf"] = edge_dxf(study.part, option.forecast, system=study.system)
        elif form is HandoffForm.CSV:
            files[f"{name}-edges.csv"] = edge_plan_csv(option.forecast, system=study.system)
        elif form is HandoffForm.JSON:
            files[f"{name}-edges.json"] = document_text(handoff_document(study, option))
        elif form is HandoffForm.PROGRAM:
            files[f"{name}.nc"] = plain_program(study, option, program=program).text
        else:
            files |= _solid(study, option, name)
    return write_files(Path(folder), files)


def plain_program(study: Study, option: Option, *, program: ProgramForm | None = None) -> CheckedProgram:
    """
    A plain ISO 6983 program of an option, read back and replayed through the as-cut part.

    Parameters
    ----------
    study : Study
        The study.
    option : Option
        One of its plan.
    program : ProgramForm, optional
        The shop's; a plain one unless given.

    Returns
    -------
    CheckedProgram
        Its walls, readings and cutting time are the plan's.

    Raises
    ------
    UsageError
        If the plan tilts, and the form has no tilt axes.
    ComputationError
        If its replay does not give the plan's part.
    """
    form = (program or ProgramForm()).in_unit(study.system)
    own = study_of_option(study, option.name)
    part = cut_in_thought(prepare(own), cuts_of(option.forecast.edges))
    moves = jet_moves(part)
    if moves.not_cut:
        raise ComputationError(
            f"the jet does not fit into contour {', '.join(moves.not_cut)}: a program would leave it out; "
            "use a smaller mixing tube, or take it off the drawing",
            code="program-not-cut",
        )
    text = program_text(
        moves.runs,
        form,
        facts=_facts(own, option, form, moves.cutting),
        pierce_dwell=_pierce_time(part),
    )
    found = agreement(read_program(text, form), part, cut_in_full(part), planned=moves.cutting, form=form)
    return CheckedProgram(text=text, agreement=found)


def _facts(study: Study, option: Option, form: ProgramForm, cutting: float) -> list[str]:
    system = study.system
    facts = [
        say(
            "program.part",
            study=study.name,
            part=study.part.id,
            option=option.name,
            version=__version__,
        ),
        say(
            "program.plate",
            material=study.setup.material.name,
            thickness=format_value(study.setup.thickness, Kind.LENGTH, system),
            machine=study.machine.name,
        ),
        say("program.path", unit=form.unit, feed=f"{form.unit}/{form.feed_per}"),
        say("program.time", time=format_value(cutting, Kind.TIME, system)),
    ]
    if form.axes:
        names = (axis.name for axis in form.axes)
        facts.append(say("program.head", axes=" ".join(names), unit=form.angle_unit))
    return facts


def _pierce_time(part: CutPart) -> float:
    """Median time of a pierce. [s]"""
    setup, draws = part.prepared.study.setup, part.prepared.parameters
    return float(
        np.median(
            piercing_time(
                thickness=setup.thickness,
                machinability=setup.material.machinability,
                pierce_time=draws.pierce_time,
                pierce_exponent=draws.pierce_exponent,
            )
        )
    )


def _solid(study: Study, option: Option, name: str) -> dict[str, bytes | str]:
    as_cut = cut_forecast(study, option.forecast, option=option.name)
    if (solid := as_cut.solid) is None:
        why = next(each.message for each in as_cut.findings if each.code == "no-solid")
        raise ComputationError(f"{why}: leave the solid out of the hand-off", code="no-solid")
    return {
        f"{name}.stl": stl_bytes(solid.mesh, name=study.name),
        f"{name}.3mf": three_mf_bytes(solid.mesh, name=study.name, scale=deviation_scale(solid)),
    }
