"""Where everything stands on the pages of a PDF: text by the widths of its font."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import ContentStream

MILLIMETRE = 72.0 / 25.4
Matrix = tuple[float, float, float, float, float, float]
_BLANK = "\u200b \u00a0"
UNIT: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def times(one: Matrix, other: Matrix) -> Matrix:
    """First `one`, then `other`."""
    a, b, c, d, e, f = one
    p, q, r, s, t, u = other
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def at(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    """Point of the page."""
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


@dataclass(frozen=True, slots=True)
class Run:
    """Glyphs set in one go: text, baseline from start to end, height of a letter. [pt]"""

    text: str
    start: tuple[float, float]
    end: tuple[float, float]
    size: float

    @property
    def upright(self) -> bool:
        return abs(self.end[1] - self.start[1]) < 1e-6 and self.end[0] > self.start[0]


class _Font:
    """Widths and characters of a composite font."""

    def __init__(self, font) -> None:
        self.inner = font["/DescendantFonts"][0].get_object()
        self.map = _letters(font["/ToUnicode"].get_object().get_data().decode("ascii"))
        self.widths: dict[int, float] = {}
        listed = list(self.inner.get("/W", ()))
        while listed:
            first, second = int(listed.pop(0)), listed.pop(0).get_object()
            if isinstance(second, list):
                self.widths |= {first + k: float(width) for k, width in enumerate(second)}
            else:
                width = float(listed.pop(0))
                self.widths |= dict.fromkeys(range(first, int(second) + 1), width)
        self.usual = float(self.inner.get("/DW", 1000.0))

    def read(self, raw: bytes) -> Iterator[tuple[str, float]]:
        """Characters, each with its advance in thousandths of the size."""
        for k in range(0, len(raw), 2):
            code = int.from_bytes(raw[k : k + 2], "big")
            yield self.map.get(code, ""), self.widths.get(code, self.usual)


def _letters(table: str) -> dict[int, str]:
    """Characters of the codes of a font, from its table (ISO 32000-1, 9.10.3)."""
    found = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
        for code, text in re.findall(r"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            found[int(code, 16)] = bytes.fromhex(text).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", table, re.DOTALL):
        for first, last, text in re.findall(r"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
            for k in range(int(last, 16) - int(first, 16) + 1):
                found[int(first, 16) + k] = chr(int(text, 16) + k)
    return found


class Page:
    """Everything on a page: `runs` of text, and the `points` that its lines and fills go through. [pt]"""

    def __init__(self, page) -> None:
        self.width, self.height = float(page.mediabox.width), float(page.mediabox.height)
        self.runs: list[Run] = []
        self.points: list[tuple[float, float]] = []
        self._fonts: dict[int, _Font] = {}
        self._run(ContentStream(page.get_contents(), page.pdf), page["/Resources"], UNIT)

    def _run(self, stream, resources, outer: Matrix, clip=None) -> None:
        stack, now, path = [], outer, []
        clip = _EVERYWHERE if clip is None else clip
        cut = False
        font, size, text_matrix, line = None, 0.0, UNIT, UNIT
        for operands, name in stream.operations:
            numbers = tuple(float(each) for each in operands) if name in _NUMBERS else ()
            match name:
                case b"q":
                    stack.append((now, font, size, clip))
                case b"Q":
                    now, font, size, clip = stack.pop()
                case b"cm":
                    now = times(numbers, now)
                case b"m" | b"l":
                    path.append(at(now, *numbers))
                case b"c":
                    path += [at(now, *numbers[k : k + 2]) for k in (0, 2, 4)]
                case b"re":
                    x, y, wide, high = numbers
                    path += [at(now, x + i * wide, y + k * high) for i in (0, 1) for k in (0, 1)]
                case b"W" | b"W*":
                    cut = True
                case b"n":
                    if cut and path:
                        clip = _shared(clip, path)
                    path, cut = [], False
                case b"f" | b"f*" | b"S" | b"s" | b"B" | b"B*":
                    self.points += [_held(clip, *point) for point in path]
                    path = []
                case b"BT":
                    text_matrix = line = UNIT
                case b"Tf":
                    font, size = self._font(resources["/Font"].raw_get(operands[0])), float(operands[1])
                case b"Tm":
                    text_matrix = line = numbers
                case b"Td":
                    text_matrix = line = times((1.0, 0.0, 0.0, 1.0, *numbers), line)
                case b"Tj" | b"TJ":
                    parts = operands[0] if name == b"TJ" else operands
                    text_matrix = self._show(parts, font, size, text_matrix, now)
                case b"Do":
                    form = resources["/XObject"][operands[0]].get_object()
                    if form["/Subtype"] == "/Form":
                        inner = tuple(float(each) for each in form.get("/Matrix", UNIT))
                        self._run(
                            ContentStream(form, form.indirect_reference.pdf),
                            form.get("/Resources", resources),
                            times(inner, now),
                            clip,
                        )

    def _font(self, reference) -> _Font:
        key = reference.idnum
        if key not in self._fonts:
            self._fonts[key] = _Font(reference.get_object())
        return self._fonts[key]

    def _show(self, parts, font: _Font, size: float, text_matrix: Matrix, now: Matrix) -> Matrix:
        text, advance, inked = "", 0.0, 0.0
        for part in parts:
            if isinstance(part, (int, float)):
                advance -= float(part)
            else:
                raw = part if isinstance(part, bytes) else part.original_bytes
                for letter, wide in font.read(raw):
                    text, advance = text + letter, advance + wide
                    inked = advance if letter.strip(_BLANK) else inked
        along, inked = advance / 1000.0 * size, inked / 1000.0 * size
        whole = times(text_matrix, now)
        height = abs(size) * (whole[2] ** 2 + whole[3] ** 2) ** 0.5
        if text.strip(_BLANK):
            self.runs.append(Run(text, at(whole, 0.0, 0.0), at(whole, inked, 0.0), height))
        return times((1.0, 0.0, 0.0, 1.0, along, 0.0), text_matrix)

    @cached_property
    def text(self) -> str:
        return "".join(run.text for run in self.runs)

    def outside(self, left: float, top: float, bottom: float) -> list:
        """Texts and points that are nearer to the paper's edge than these margins, right as left. [pt]"""

        def within(x: float, y: float) -> bool:
            return left <= x <= self.width - left and bottom <= y <= self.height - top

        runs = [run for run in self.runs if not (within(*run.start) and within(*run.end))]
        return [*runs, *(point for point in self.points if not within(*point))]

    def collisions(self) -> Iterator[tuple[Run, Run]]:
        """Pairs of upright texts that run into each other."""
        runs = sorted((run for run in self.runs if run.upright), key=lambda run: run.start[1])
        for k, one in enumerate(runs):
            for other in runs[k + 1 :]:
                if other.start[1] - one.start[1] > 0.6 * one.size:
                    break
                near = other.start[1] - one.start[1] < 0.5 * min(one.size, other.size)
                shared = min(one.end[0], other.end[0]) - max(one.start[0], other.start[0])
                twice = one.text == other.text and abs(one.start[0] - other.start[0]) < 1e-3
                if near and shared > 0.2 * min(one.size, other.size) and not twice:
                    yield one, other


def _shared(clip, path):
    """What a box and the box about a path have in common."""
    xs, ys = zip(*path, strict=True)
    return max(clip[0], min(xs)), max(clip[1], min(ys)), min(clip[2], max(xs)), min(clip[3], max(ys))


def _held(clip, x: float, y: float) -> tuple[float, float]:
    """The nearest point that is not clipped away."""
    return min(max(x, clip[0]), clip[2]), min(max(y, clip[1]), clip[3])


_EVERYWHERE = (-1e9, -1e9, 1e9, 1e9)
_NUMBERS = {b"cm", b"m", b"l", b"c", b"re", b"Tm", b"Td"}


def pages_of(pdf: bytes) -> list[Page]:
    """All pages, run through."""
    return [Page(page) for page in PdfReader(BytesIO(pdf)).pages]
