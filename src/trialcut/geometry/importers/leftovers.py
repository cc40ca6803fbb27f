"""Findings on what of a drawing was left out, with exact counts."""

from __future__ import annotations

from collections import Counter

from trialcut.geometry.gather import Gatherer, plural
from trialcut.geometry.importers.entities import SOLIDS, TEXTS, Harvest

_DRAW_AGAIN = "draw them again, or export the drawing again"
_FLAT_VIEW = "export a flat view of the part"


def _listing(counter: Counter[str]) -> str:
    """Return ``"2 HATCH, 1 POINT"``."""
    return ", ".join(f"{count} {name}" for name, count in sorted(counter.items()))


def _entities(counter: Counter[str]) -> str:
    return plural(counter.total(), "entity", "entities")


def report_leftovers(harvest: Harvest, notes: Gatherer) -> None:
    """Turn the counts of a harvest into findings.

    Parameters
    ----------
    harvest : Harvest
        What was taken, and what was not.
    notes : Gatherer
        Takes the findings.
    """
    _report_kinds(harvest.left_out, notes)
    if harvest.layers_left_out:
        layers = harvest.layers_left_out
        notes.fixed(
            "layer-left-out",
            f"{_entities(layers)} left out on {plural(len(layers), 'layer')} ({', '.join(sorted(layers))}): "
            "off, frozen, hidden or for construction",
            count=layers.total(),
        )
    if harvest.not_flat:
        notes.needs_person(
            "not-flat",
            f"{_entities(harvest.not_flat)} off the drawing plane left out ({_listing(harvest.not_flat)})",
            remedy=_FLAT_VIEW,
            count=harvest.not_flat.total(),
        )
    if harvest.not_numbers:
        what = plural(harvest.not_numbers, "entity", "entities")
        notes.needs_person(
            "not-a-number",
            f"{what} with a coordinate that is no number, or absurdly large, left out",
            remedy=_DRAW_AGAIN,
            count=harvest.not_numbers,
        )
    if harvest.broken:
        notes.needs_person(
            "broken-entity",
            f"{_entities(harvest.broken)} that cannot be understood left out ({_listing(harvest.broken)})",
            remedy=_DRAW_AGAIN,
            count=harvest.broken.total(),
        )
    if harvest.missing_blocks:
        missing = harvest.missing_blocks
        notes.needs_person(
            "missing-block",
            f"{plural(missing.total(), 'insert')} of blocks that the file does not hold left out "
            f"({', '.join(sorted(missing))})",
            remedy="bind the blocks into the file and export it again",
            count=missing.total(),
        )
    if harvest.empty:
        text = f"{plural(harvest.empty, 'entity', 'entities')} without length removed"
        notes.fixed("zero-length", text, count=harvest.empty)
    _report_heights(harvest.heights, notes)


def _report_kinds(left_out: Counter[str], notes: Gatherer) -> None:
    """Report entities that are no lines to cut: texts, solids, and the rest."""
    texts = sum(count for kind, count in left_out.items() if kind in TEXTS)
    solids = Counter({kind: count for kind, count in left_out.items() if kind in SOLIDS})
    others = Counter({kind: count for kind, count in left_out.items() if kind not in SOLIDS | TEXTS})
    if texts:
        what = plural(texts, "text or dimension", "texts and dimensions")
        notes.fixed("text-left-out", f"{what} left out", count=texts)
    if solids:
        what = plural(solids.total(), "solid or surface", "solids and surfaces")
        notes.needs_person(
            "solid-left-out", f"{what} left out ({_listing(solids)})", remedy=_FLAT_VIEW, count=solids.total()
        )
    if others:
        what = plural(others.total(), "entity that draws", "entities that draw")
        notes.fixed(
            "other-left-out", f"{what} no contour left out ({_listing(others)})", count=others.total()
        )


def _report_heights(heights: Counter[float], notes: Gatherer) -> None:
    if len(heights) > 1:
        low, high = min(heights) * 1e3, max(heights) * 1e3
        notes.not_fixed(
            "several-heights",
            f"drawn at {len(heights)} heights from {low:g} to {high:g} mm and put on one plane",
            remedy="check that only one face of the part is drawn",
            count=len(heights),
        )
    elif heights:
        (height,) = heights
        if height != 0.0:
            notes.fixed("raised", f"drawn at a height of {height * 1e3:g} mm and put on the plane")
