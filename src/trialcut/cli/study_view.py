"""A study, its drawing and what was found in it, on the terminal."""

from __future__ import annotations

from collections.abc import Iterable
from math import degrees

from rich.console import Console
from rich.text import Text

from trialcut.cli.output import BAD, bullets, facts, heading, put, table
from trialcut.geometry.contours import ContourRole, Drawing, Edge, EdgeKind, Part
from trialcut.geometry.findings import Finding, FindingStatus
from trialcut.papers.figures import exact, unit_of
from trialcut.planning.results import EdgeForecast
from trialcut.planning.study import Study
from trialcut.sources import Note
from trialcut.units import Kind, format_value

UNIT_WORDS = {"in": "inches", "mm": "millimetres", "cm": "centimetres", "m": "metres", "ft": "feet"}


def show_head(out: Console, study: Study) -> None:
    """What the study is about, in a few lines."""
    setup, names, system, machine = study.setup, study.setup_names, study.system, study.machine

    def length(value: float) -> str:
        return format_value(value, Kind.LENGTH, system)

    stance = f"tilts to {degrees(machine.tilt_travel):.0f}°" if machine.can_tilt else "head upright"
    out.print(
        Text(
            f"{study.name}: {length(setup.thickness)} {names['material']}, {study.quantity} off", style="bold"
        )
    )
    rows = [
        ("drawing", f"{study.drawing.name}, part {study.part.id}: {count_edges(study.part, system)}"),
        ("machine", f"{names['machine']} ({stance}), pump {names['pump']}, head {names['head']}"),
        (
            "jet",
            f"{format_value(setup.pressure, Kind.PRESSURE, system)}, orifice {length(setup.orifice)}, "
            f"tube {length(setup.tube_bore)}, {setup.abrasive} at "
            f"{format_value(setup.abrasive_rate, Kind.MASS_FLOW, system)}",
        ),
        ("shop", names["shop"]),
    ]
    put(out, facts(rows))


def count_edges(part: Part, system: str) -> str:
    """How many edges and openings a part has, and its length of cut."""
    edges, openings = sum(1 for _ in part.edges), len(part.openings)
    return (
        f"{edges} edge{'s' if edges != 1 else ''}, {openings} opening{'s' if openings != 1 else ''}, "
        f"{format_value(part.length, Kind.LENGTH, system)} of cut"
    )


def show_urgent(out: Console, findings: Iterable[Finding]) -> None:
    """What needs a person, before anything else."""
    urgent = [finding for finding in findings if finding.status is FindingStatus.NEEDS_PERSON]
    if urgent:
        heading(out, "Needs a person")
        bullets(out, map(finding_text, urgent), mark="!", style=BAD)


def show_other_findings(
    out: Console, findings: Iterable[Finding], *, title: str = "Noticed in the drawing"
) -> None:
    """What was mended, or left as it is."""
    others = [finding for finding in findings if finding.status is not FindingStatus.NEEDS_PERSON]
    if others:
        heading(out, title)
        bullets(out, map(finding_text, others))


def finding_text(finding: Finding) -> str:
    """One finding as a sentence."""
    subjects = f"{', '.join(finding.subjects)}: " if finding.subjects else ""
    text = f"{subjects}{finding.message}"
    if finding.count > 1 and str(finding.count) not in finding.message:
        text += f" ({finding.count} places)"
    if finding.status is FindingStatus.FIXED:
        return f"{text}; mended"
    return f"{text}; {finding.remedy}" if finding.remedy else text


def show_notes(out: Console, notes: Iterable[Note], edges: Iterable[EdgeForecast] = ()) -> None:
    """What a reader must know to use a result: of the whole, then of edges, each sentence once."""
    texts = list(dict.fromkeys(note.message for note in notes))
    about: dict[str, list[str]] = {}
    for edge in edges:
        for note in edge.notes:
            if note.message not in texts:
                about.setdefault(note.message, []).append(edge.id)
    texts += [f"{', '.join(ids)}: {message}" for message, ids in about.items()]
    if texts:
        heading(out, "Notes")
        bullets(out, texts)


def show_drawing(out: Console, drawing: Drawing, *, system: str) -> None:
    """Every part with its edges, its features and the findings."""
    what = f"{drawing.name}, drawn in {UNIT_WORDS.get(drawing.unit, drawing.unit)}"
    if drawing.thickness is not None:
        what += f", a plate {format_value(drawing.thickness, Kind.LENGTH, system)} thick"
    out.print(Text(what, style="bold"))
    show_urgent(out, drawing.findings)
    for part in drawing.parts:
        heading(out, f"Part {part.id}: {count_edges(part, system)}")
        length = unit_of(Kind.LENGTH, system)
        put(
            out,
            table(
                ["edge", "of", "shape", f"length\n{length}", f"radius\n{length}"],
                [
                    (
                        edge.id,
                        "outline" if contour.role is ContourRole.OUTLINE else "opening",
                        edge.kind.value,
                        *exact([edge.length], Kind.LENGTH, system),
                        _radius(edge, system),
                    )
                    for contour in part.contours
                    for edge in contour.edges
                ],
                left=3,
            ),
        )
        if part.features:
            out.print()
            put(
                out,
                table(
                    ["feature", "edges", f"measure\n{length}"],
                    [
                        (
                            feature.kind.value,
                            ", ".join(feature.edges),
                            *exact([feature.measure], Kind.LENGTH, system),
                        )
                        for feature in part.features
                    ],
                    left=2,
                ),
            )
    show_other_findings(out, drawing.findings)


def _radius(edge: Edge, system: str) -> str:
    if edge.kind is EdgeKind.STRAIGHT:
        return ""
    text = exact([edge.radius], Kind.LENGTH, system)[0]
    return text if edge.kind in (EdgeKind.CIRCLE, EdgeKind.ARC) else f"≥ {text}"
