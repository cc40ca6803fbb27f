"""Reading of SVG drawings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trialcut.errors import DrawingError
from trialcut.geometry.contours import Drawing
from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.importers.document import SIZE_LIMIT, file_ends
from trialcut.geometry.importers.finish import finished, no_unit
from trialcut.geometry.importers.svg_words import METRES, PIXEL, Affine, fitted, length_of, numbers_of
from trialcut.geometry.importers.svg_xml import Element, read_elements
from trialcut.geometry.importers.units import METRES_PER_UNIT, unit_from_text

_TOLD = {"in": "in", "pt": "in", "pc": "in", "px": "in", "mm": "mm", "q": "mm", "cm": "cm"}
"""Unit of the page to the unit of the drawing."""

_SIZES = (1.0e-6, 1.0e9)
"""Between these a side of a page is one, in its own unit. [-]"""


@dataclass(frozen=True, slots=True)
class _Page:
    """How the outermost coordinates lie on the plate.

    Parameters
    ----------
    unit : str or None
        Of the drawing; None where the file states none.
    into : Affine
        From outermost coordinates to metres, y downwards; to outermost coordinates where there is no unit.
    height : float
        Of the page, as `into` has it.
    pixels : bool
        Whether the size hangs on 96 pixels being an inch.
    """

    unit: str | None
    into: Affine
    height: float
    pixels: bool


def read_svg(
    path: str | Path,
    *,
    unit: str | None = None,
    gap: float | None = None,
    strict: bool = False,
    size_limit: int = SIZE_LIMIT,
) -> Drawing:
    """Read an SVG drawing.

    Parameters
    ----------
    path : str or Path
        Of the file.
    unit : str, optional
        What one unit of the drawing's coordinates is, ``"mm"``, ``"in"`` and so on; needed where width and
        height of the page have no unit, and taken before them.
    gap : float, optional
        Widest gap between ends to join; tried in steps unless given. [m]
    strict : bool
        Raise on the first thing that is not clean instead of mending and reporting it.
    size_limit : int
        Largest file. [byte]

    Returns
    -------
    Drawing
        With at least one part; the page's y axis, which points down, is turned to point up.

    Raises
    ------
    DrawingError
        If the file cannot be read, states no unit and none is given, or holds nothing to cut.
    """
    from trialcut.geometry.importers.svg_entities import SvgReader  # noqa: PLC0415, slow to import

    path = Path(path)
    ends = file_ends(path, size_limit)
    if not ends.head.strip():
        raise DrawingError(f"{path.name} is empty; export the drawing again", code="empty-file")
    root = read_elements(path.read_bytes(), path.name)
    notes = Gatherer(strict=strict)
    page = _page(root, path.name)
    chosen, into = page.unit, page.into
    if unit is not None:
        chosen = unit_from_text(unit)
        into = _plain_page(root, METRES_PER_UNIT[chosen])
        if page.unit is not None and abs(into.a / page.into.a - 1.0) > 1.0e-6:
            notes.not_fixed(
                "unit-contradicts-file",
                f"read with one unit of its coordinates as 1 {chosen} as stated, although its page makes "
                f"that {page.into.a * 1e3:.6g} mm",
                remedy="check one dimension of the part",
            )
    elif page.pixels and chosen is not None:
        notes.not_fixed(
            "read-in-pixels",
            "the size of the page is in pixels, read at 96 to the inch",
            remedy="check one dimension of the part, or export with a page in mm or inches",
        )
    height = page.height * into.d / page.into.d
    reader = SvgReader(root)
    reader.read(root.children, Affine(d=-1.0, f=height) @ into)
    if chosen is None:
        raise no_unit(reader.harvest)
    if reader.clipped:
        notes.not_fixed(
            "clip-not-applied",
            f"{plural(reader.clipped, 'clip path or mask', 'clip paths and masks')} not applied: what they "
            "hide is read as if drawn",
            remedy="apply the clips in the drawing program, then export again",
            count=reader.clipped,
        )
    return finished(path.name, chosen, reader.harvest, notes, gap=gap)


def _page(root: Element, name: str) -> _Page:
    """Return what the page's width, height and view box say."""
    box = _box(root, name)
    sides: list[tuple[float, str] | None] = []
    for key in ("width", "height"):
        text = root.attributes.get(key, "auto").strip()
        if text == "auto" or text.endswith("%"):
            sides.append(None)
            continue
        try:
            side = length_of(text)
        except ValueError:
            raise _bad_page(f"{key} {text[:20]!r}", name) from None
        if not _SIZES[0] < side[0] < _SIZES[1]:
            raise _bad_page(f"{key} {text[:20]!r}", name)
        sides.append(side)
    stated = next((side[1] for side in sides if side is not None and side[1]), None)
    if stated is None:
        into = _plain_page(root, 1.0)
        own = box[3] if box is not None else 0.0 if sides[1] is None else sides[1][0]
        return _Page(None, into, own, pixels=False)
    wide, high = [None if side is None else side[0] * METRES[side[1] or "px"] for side in sides]
    pixels = any(side is not None and side[1] in ("px", "") for side in sides)
    if box is None:
        return _Page(_TOLD[stated], Affine(a=PIXEL, d=PIXEL), high or 0.0, pixels=True)
    if wide is None:
        wide = (high or 0.0) * box[2] / box[3]
    high = wide * box[3] / box[2] if high is None else high
    into = fitted(box, wide, high, root.attributes.get("preserveAspectRatio", ""))
    return _Page(_TOLD[stated], into, high, pixels=pixels)


def _plain_page(root: Element, scale: float) -> Affine:
    """The map that leaves coordinates as they are, but for the corner of the view box and a scale."""
    box = _box(root, "") or [0.0, 0.0, 1.0, 1.0]
    return Affine(scale, 0.0, 0.0, scale, -box[0] * scale, -box[1] * scale)


def _box(root: Element, name: str) -> list[float] | None:
    text = root.attributes.get("viewBox")
    if text is None:
        return None
    try:
        box = numbers_of(text)
        if (
            len(box) == 4
            and all(_SIZES[0] < each < _SIZES[1] for each in box[2:])
            and max(box[:2]) < _SIZES[1]
        ):
            return box
    except ValueError:
        pass
    raise _bad_page(f"viewBox {text[:40]!r}", name)


def _bad_page(what: str, name: str) -> DrawingError:
    return DrawingError(
        f"{name} has a page of {what}, which is no size; set the page's size and export again",
        code="bad-page",
    )
