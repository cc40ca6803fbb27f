"""Reads programs back: the subset of ISO 6983 that `writing` uses, and its usual neighbours.

Known: N, G0 to G4, G17, G20, G21, G40, G49, G54 to G59, G61, G64, G80, G90, G91, G94, X, Y, I, J, R, F, the
tilt axes, comments, M0, M1, M2, M30, and the shop's own lines. Anything else is an error that names its
block: a program is replayed whole or not at all.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import atan2, hypot, pi, sqrt

from trialcut.errors import FileFormatError
from trialcut.geometry.curves import Arc, Line, Point, Segment
from trialcut.papers.program.form import INCH, MILLIMETRE, ProgramForm
from trialcut.papers.program.moves import Move, Run

_WORD = re.compile(r"([A-Z])([+-]?(?:\d+\.?\d*|\.\d+))")
_NUMBER = re.compile(r"N(\d+)\s*")
_MOTION = {0, 1, 2, 3}
_NOTHING_TO_DO = {17, 40, 49, 54, 55, 56, 57, 58, 59, 61, 64, 80, 94}
_M_NOTHING = {0, 1, 2, 30}
_ARC_DIGITS = 4.0
"""By how many units of the last digit the two radii of an arc may differ."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """A program as read.

    Parameters
    ----------
    runs : tuple of Run
        As `moves.jet_moves` makes them; labels are what comments say.
    traverses : tuple of float
        Way before each run, jet off; that of the first from the origin. [m]
    dwells : tuple of float
        After each jet on. [s]
    """

    runs: tuple[Run, ...]
    traverses: tuple[float, ...]
    dwells: tuple[float, ...]


def read_program(text: str, form: ProgramForm) -> Program:
    """
    Read a program.

    Parameters
    ----------
    text : str
        Of it.
    form : ProgramForm
        The shop's, with unit and digits.

    Returns
    -------
    Program
        Its runs, from jet on to jet off.

    Raises
    ------
    FileFormatError
        At the first block that is not understood; names it.
    """
    reader = _Reader(form)
    for number, line in enumerate(text.splitlines(), start=1):
        reader.line(line, number)
    return reader.program()


@dataclass(slots=True)
class _Reader:
    form: ProgramForm
    block: str = ""
    on: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    own: frozenset[str] = frozenset()
    unit: float = 0.0
    incremental: bool = False
    motion: int | None = None
    feed: float | None = None
    at: Point = (0.0, 0.0)
    known: set[str] = field(default_factory=set)
    angles: dict[str, float] = field(default_factory=dict)
    jet: bool = False
    pending: tuple[str, ...] = ()
    title: str = ""
    label: str = ""
    start: Point = (0.0, 0.0)
    start_lean: complex = 0j
    way: float = 0.0
    dwell: float = 0.0
    ended: bool = False
    moves: list[Move] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    traverses: list[float] = field(default_factory=list)
    dwells: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.unit = INCH if self.form.unit == "in" else MILLIMETRE
        self.on, self.off = (tuple(map(str.upper, each)) for each in (self.form.jet_on, self.form.jet_off))
        self.own = frozenset(map(str.upper, (*self.form.header, *self.form.footer)))
        self.angles = {axis.name: 0.0 for axis in self.form.axes}

    def fail(self, message: str) -> FileFormatError:
        return FileFormatError(f"program {self.block}: {message}", code="program", block=self.block)

    def line(self, line: str, number: int) -> None:
        self.block = f"line {number}"
        plain, comment = self.without_comment(line)
        if comment:
            self.note(comment)
        plain = plain.strip().upper()
        numbered = _NUMBER.match(plain)
        if numbered:
            self.block = f"block N{numbered[1]}"
            plain = plain[numbered.end() :]
        if not plain or plain == "%" or (plain[0] in "O:" and re.fullmatch(r"[O:]\d+", plain)):
            return
        if self.ended:
            raise self.fail(f"'{plain}' stands after the end of the program: take it out")
        if self.switched(plain) or plain in self.own:
            if plain in ("M2", "M30", "M02"):
                self.end()
            return
        self.words(plain)

    def without_comment(self, line: str) -> tuple[str, str]:
        if "(" not in line and ";" not in line and ")" not in line:
            return line, ""
        comments = re.findall(r"\(([^()]*)\)", line)
        plain = re.sub(r"\([^()]*\)", " ", line)
        if ";" in plain:
            plain, _, rest = plain.partition(";")
            comments.append(rest)
        if "(" in plain or ")" in plain:
            raise self.fail("a comment's bracket is not closed: close it in the same line")
        return plain, " ".join(comments).strip()

    def note(self, comment: str) -> None:
        if comment.startswith("contour "):
            self.title = comment.removeprefix("contour ").strip()
        elif self.jet:
            self.label = comment

    def switched(self, plain: str) -> bool:
        """Whether the line belongs to switching the jet on or off; the last line of those does it."""
        wanted = self.off if self.jet else self.on
        if plain not in wanted:
            return False
        self.pending = (*self.pending, plain)
        if self.pending != wanted[: len(self.pending)]:
            raise self.fail(f"'{plain}' is out of turn: the shop file has {', '.join(wanted)}")
        if self.pending == wanted:
            self.pending = ()
            self.jet_off() if self.jet else self.jet_on()
        return True

    def jet_on(self) -> None:
        if not {"X", "Y"} <= self.known:
            raise self.fail("the jet is on before X and Y are known: go to the pierce first")
        self.jet = True
        self.start, self.start_lean = self.at, self.lean()
        self.traverses.append(self.way)
        self.way = self.dwell = 0.0
        self.moves, self.label = [], ""

    def jet_off(self) -> None:
        if not self.moves:
            raise self.fail("the jet is switched off before it has cut anything: take the run out")
        self.jet = False
        self.runs.append(Run(self.title, self.start, self.start_lean, tuple(self.moves)))
        self.dwells.append(self.dwell)

    def lean(self) -> complex:
        return self.form.lean_of(tuple(self.angles[axis.name] for axis in self.form.axes))

    def words(self, plain: str) -> None:
        squeezed = "".join(plain.split())
        found = _WORD.findall(squeezed)
        if "".join(letter + value for letter, value in found) != squeezed:
            rest = _WORD.sub("", squeezed)
            raise self.fail(f"'{rest[:20]}' is not understood: write words of a letter and a number")
        if self.pending:
            raise self.fail("stands amid the lines that switch the jet: keep those together")
        values: dict[str, float] = {}
        dwell = False
        motion = False
        for letter, text in found:
            value = float(text)
            if letter == "G":
                motion |= value in _MOTION
                dwell |= value == 4
                self.g_code(value, text)
            elif letter == "M":
                if value not in _M_NOTHING:
                    raise self.fail(f"M{text} is not known: name it in [program] of the shop file")
                if value in (2, 30):
                    self.end()
            elif letter in values:
                raise self.fail(f"has two words {letter}: leave one")
            else:
                values[letter] = value
        if dwell:
            self.wait(values, motion=motion)
        else:
            self.move(values)

    def g_code(self, value: float, text: str) -> None:
        if value in _MOTION:
            self.motion = int(value)
        elif value in (20, 21):
            self.unit = INCH if value == 20 else MILLIMETRE
        elif value in (90, 91):
            self.incremental = value == 91
        elif value in (41, 42):
            raise self.fail(
                f"G{text} shifts the path by a radius: offsets are in the path already, take it out"
            )
        elif value != 4 and value not in _NOTHING_TO_DO:
            raise self.fail(f"G{text} is not known to this reader: take it out")

    def wait(self, values: dict[str, float], *, motion: bool) -> None:
        if motion or set(values) != {self.form.dwell_word}:
            raise self.fail(f"G4 needs its seconds as {self.form.dwell_word} and no other word")
        if values[self.form.dwell_word] < 0.0:
            raise self.fail("G4 waits for less than no time: give seconds of zero or more")
        self.dwell += values[self.form.dwell_word]

    def move(self, values: dict[str, float]) -> None:
        axes = set(self.angles)
        unknown = sorted(set(values) - {"X", "Y", "I", "J", "R", "F"} - axes)
        if unknown:
            raise self.fail(
                f"word {unknown[0]} is not known: a program has X, Y, I, J, R, F and the tilt axes of the "
                "shop file"
            )
        if "F" in values:
            if values["F"] <= 0.0:
                raise self.fail(f"F{values['F']:g} is no feed: give one above zero")
            self.feed = values["F"] * self.unit / (60.0 if self.form.feed_per == "min" else 1.0)
        for name in axes & set(values):
            angle = self.form.read_angle(values[name])
            self.angles[name] = angle + (self.angles[name] if self.incremental else 0.0)
            if not abs(self.angles[name]) < 0.5 * pi:
                raise self.fail(f"{name}{values[name]:g} lays the head flat: give an angle below a right one")
        if not axes & set(values) and not set(values) & {"X", "Y", "I", "J", "R"}:
            return
        if self.motion is None:
            raise self.fail("moves before any of G0, G1, G2 and G3: say which")
        end = self.end_point(values)
        self.known |= {"X", "Y"} & set(values)
        if self.jet:
            self.cut(end, values)
        elif self.motion:
            raise self.fail(f"G{self.motion} with the jet off: go there with G0, or switch the jet on")
        else:
            self.way += hypot(end[0] - self.at[0], end[1] - self.at[1])
        self.at = end

    def end_point(self, values: dict[str, float]) -> Point:
        place = list(self.at)
        for axis, letter in enumerate("XY"):
            if letter in values:
                value = values[letter] * self.unit
                place[axis] = value + (place[axis] if self.incremental else 0.0)
        return (place[0], place[1])

    def cut(self, end: Point, values: dict[str, float]) -> None:
        if self.motion == 0:
            raise self.fail("G0 with the jet on: cut with G1, or switch the jet off")
        if self.feed is None:
            raise self.fail("cuts before any F: give a feed")
        segment: Segment
        if self.motion == 1:
            if set(values) & {"I", "J", "R"}:
                raise self.fail("G1 has a centre or a radius: give G2 or G3, or take it out")
            segment = Line(self.at, end)
            if segment.length == 0.0:
                raise self.fail("turns the head or stands still with the jet on: move X or Y too")
        else:
            segment = self.arc(end, values)
        self.moves.append(Move(segment, self.feed, self.lean(), self.label))

    def arc(self, end: Point, values: dict[str, float]) -> Arc:
        way = 1.0 if self.motion == 3 else -1.0
        digit = self.form.digit
        (x0, y0), (x1, y1) = self.at, end
        chord = hypot(x1 - x0, y1 - y0)
        if "R" in values:
            if set(values) & {"I", "J"}:
                raise self.fail("has R and a centre: give one of them")
            radius = abs(values["R"]) * self.unit
            if chord == 0.0:
                raise self.fail("R cannot tell a whole circle: give I and J")
            if 0.5 * chord > radius + _ARC_DIGITS * digit:
                raise self.fail(f"R{values['R']:g} does not reach from start to end: give a larger one")
            height = sqrt(max(radius**2 - 0.25 * chord**2, 0.0))
            side = way if values["R"] > 0.0 else -way
        else:
            if not set(values) & {"I", "J"}:
                raise self.fail(f"G{self.motion} needs I and J, or R")
            i, j = (values.get(letter, 0.0) * self.unit for letter in "IJ")
            radius, far = hypot(i, j), hypot(x0 + i - x1, y0 + j - y1)
            if radius == 0.0 or abs(radius - far) > _ARC_DIGITS * digit:
                raise self.fail(
                    f"its ends are {radius / self.unit:g} and {far / self.unit:g} from the centre: "
                    "both must be one radius"
                )
            if chord == 0.0:
                return Arc((x0 + i, y0 + j), radius, atan2(-j, -i), way * 2.0 * pi)
            # The printed centre stands: a short arc's ends tell its direction far less well.
            return _arc((x0 + i, y0 + j), 0.5 * (radius + far), self.at, end, way)
        nx, ny = -(y1 - y0) / chord, (x1 - x0) / chord
        centre = (0.5 * (x0 + x1) + side * height * nx, 0.5 * (y0 + y1) + side * height * ny)
        return _arc(centre, radius, self.at, end, way)

    def end(self) -> None:
        if self.jet or self.pending:
            raise self.fail("the program ends with the jet on: switch it off first")
        self.ended = True

    def program(self) -> Program:
        if not self.ended:
            self.block = "end"
            self.end()
        if not self.runs:
            raise self.fail("the jet is never on: there is nothing to replay")
        return Program(runs=tuple(self.runs), traverses=tuple(self.traverses), dwells=tuple(self.dwells))


def _arc(centre: Point, radius: float, start: Point, end: Point, way: float) -> Arc:
    """Arc between two points seen from a centre."""
    begin = atan2(start[1] - centre[1], start[0] - centre[0])
    sweep = way * (atan2(end[1] - centre[1], end[0] - centre[0]) - begin) % (2.0 * pi)
    return Arc(centre, radius, begin, way * sweep)
