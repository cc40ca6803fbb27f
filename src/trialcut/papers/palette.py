"""The colours of every paper: an ink, three greys, two accents, in a light and a dark form."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """One set of colours, as ``#rrggbb``.

    Parameters
    ----------
    paper, ink : str
        Ground, and what is read.
    grey, soft, hair : str
        Secondary text; thin lines that must be followed; thin lines that only part.
    fill : str
        Material of the part.
    accent : str
        Deep teal: what one can act on, what holds.
    warm : str
        Clay: jet entries, findings, what does not hold.
    """

    paper: str
    ink: str
    grey: str
    soft: str
    hair: str
    fill: str
    accent: str
    warm: str


LIGHT = Palette(
    paper="#ffffff",
    ink="#1d2529",
    grey="#5e6a70",
    soft="#9aa5aa",
    hair="#dde2e4",
    fill="#f4f6f5",
    accent="#14606a",
    warm="#ae5634",
)
DARK = Palette(
    paper="#14191b",
    ink="#e6eaea",
    grey="#a0abaf",
    soft="#6c797e",
    hair="#2e383c",
    fill="#1d2528",
    accent="#6dbcc4",
    warm="#e0916c",
)


def css_variables(palette: Palette) -> str:
    """Declarations ``--tc-ink:#1d2529;`` and so on, for a style rule."""
    return "".join(f"--tc-{name}:{getattr(palette, name)};" for name in Palette.__slots__)
