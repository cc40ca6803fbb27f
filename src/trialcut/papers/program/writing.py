"""Moves into the text of an ISO 6983 program, laid out by the shop's template."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from unicodedata import normalize

from trialcut.errors import DataError
from trialcut.geometry.curves import Arc, Point
from trialcut.papers.program.form import ProgramForm
from trialcut.papers.program.moves import Move, Run
from trialcut.papers.words import say_all

SHORT_ARC = 8.0
"""An arc of fewer digits than this is written as a straight."""

_LEFT_OUT = set("()\r\n;%")


@dataclass(frozen=True, slots=True)
class RunLines:
    """Lines of one run, as a template gets them."""

    title: str
    position: tuple[str, ...]
    on: tuple[str, ...]
    cut: tuple[str, ...]
    off: tuple[str, ...]


def program_text(runs: Sequence[Run], form: ProgramForm, *, facts: Sequence[str], pierce_dwell: float) -> str:
    """
    Text of a program.

    Parameters
    ----------
    runs : sequence of Run
        In cutting order.
    form : ProgramForm
        With unit and digits, see `ProgramForm.in_unit`.
    facts : sequence of str
        Lines of its head, after the warnings.
    pierce_dwell : float
        After jet on, where the form has none of its own. [s]

    Returns
    -------
    str
        The same for the same input. Its head says that it is to be proved and released.

    Raises
    ------
    UsageError
        If the plan tilts the head and the form has no axes.
    DataError
        If the template does not work, or leaves the warnings out.
    """
    writer = _Writer(form)
    warnings = [writer.comment(text) for text in say_all("program_warning")]
    dwell = pierce_dwell if form.pierce_dwell is None else form.pierce_dwell
    values = {
        "head": [*warnings, *(writer.comment(text) for text in facts)],
        "setup": ["G17", "G20" if form.unit == "in" else "G21", "G90", "G94", *form.header],
        "runs": [writer.run(run, dwell) for run in runs],
        "foot": list(form.footer),
    }
    lines = [line for line in _rendered(form.template, values).splitlines() if line.strip()]
    missing = [line for line in warnings if line not in lines]
    if missing:
        raise DataError(
            f"the template leaves out {missing[0]!r}: print all lines of 'head' as they are",
            code="program-template",
        )
    return "\n".join(_numbered(lines, form)) + "\n"


def _rendered(template: str, values: dict[str, object]) -> str:
    from jinja2 import StrictUndefined, TemplateError  # noqa: PLC0415  slow to import
    from jinja2.sandbox import SandboxedEnvironment  # noqa: PLC0415  likewise

    house = SandboxedEnvironment(
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True, autoescape=False
    )
    try:
        return house.from_string(template).render(values)
    except (TemplateError, TypeError, ValueError, LookupError, ArithmeticError) as error:
        line = getattr(error, "lineno", None)
        where = f" line {line}" if line else ""
        raise DataError(
            f"the program template{where}: {' '.join(str(error).split())}: it may use head, setup, runs "
            "and foot alone",
            code="program-template",
        ) from None


def _numbered(lines: Sequence[str], form: ProgramForm) -> Iterator[str]:
    number = 0
    for line in lines:
        if not form.block_numbers or line[0] in "%(;O:":
            yield line
        else:
            number += form.block_numbers
            yield f"N{number} {line}"


class _Writer:
    """Writes blocks, leaving out words that have not changed."""

    def __init__(self, form: ProgramForm) -> None:
        self.form = form
        self.last: dict[str, str] = {}
        self.here: list[str] = []

    def comment(self, text: str) -> str:
        letters = normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
        plain = "".join("/" if letter in _LEFT_OUT else letter for letter in letters)
        return f"({plain})" if self.form.comment == "()" else f"; {plain}"

    def run(self, run: Run, dwell: float) -> RunLines:
        form = self.form
        self.last = {}
        self.here = [*self.place(run.start)]
        position = [" ".join(["G0", *self.here])]
        if form.axes or run.lean:
            position.append(" ".join(["G0", *self.angles(run.lean)]))
        on = list(form.jet_on)
        if dwell > 0.0:
            on.append(f"G4 {form.dwell_word}{_number(dwell, 2)}")
        cut = []
        label = ""
        here = run.start
        for move in run.moves:
            block = self.move(move, here)
            if block is None:
                continue
            here = move.segment.end
            if move.label != label:
                label = move.label
                cut.append(self.comment(label))
            cut.append(block)
        return RunLines(
            self.comment(f"contour {run.title}"), tuple(position), tuple(on), tuple(cut), form.jet_off
        )

    def move(self, move: Move, here: Point) -> str | None:
        """Block of a move from where the axes stand; None where they would not move by a digit."""
        segment, form = move.segment, self.form
        words = [*self.place(segment.end)]
        if words == self.here:
            return None
        self.here = list(words)
        code = "G1"
        if isinstance(segment, Arc) and self.bends(segment):
            code = "G3" if segment.sweep > 0.0 else "G2"
            if form.arcs == "centre":
                # From where the axes really are: the printed place.
                words += [
                    self.word(letter, centre - self.round(start))
                    for letter, centre, start in zip("IJ", segment.centre, here, strict=True)
                ]
            else:
                words.append(self.word("R", segment.radius))
        words += [*self.angles(move.lean)]
        words += self.changed("F", _number(move.feed / form.feed_unit, form.feed_decimals or 0))
        return " ".join([code, *words])

    def bends(self, arc: Arc) -> bool:
        """Whether an arc is long enough against a printed digit for its ends to tell its bend."""
        return arc.length >= SHORT_ARC * self.form.digit

    def place(self, point: Point) -> Iterator[str]:
        for letter, value in zip("XY", point, strict=True):
            yield self.word(letter, value)

    def angles(self, lean: complex) -> Iterator[str]:
        form = self.form
        for axis, angle in zip(form.axes, form.angles_of(lean), strict=True):
            text = _number(form.printed_angle(angle), form.angle_decimals or 0)
            yield from self.changed(axis.name, text)

    def word(self, letter: str, value: float) -> str:
        return letter + _number(value / self.form.length_unit, self.form.length_decimals or 0)

    def round(self, value: float) -> float:
        unit, digits = self.form.length_unit, self.form.length_decimals or 0
        return round(value / unit, digits) * unit

    def changed(self, letter: str, text: str) -> list[str]:
        if self.last.get(letter) == text:
            return []
        self.last[letter] = text
        return [letter + text]


def _number(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0")
    # The point stays: without it some controls take the number for steps of the axis.
    if "." not in text:
        text += "."
    return text.removeprefix("-") if float(text) == 0.0 else text
