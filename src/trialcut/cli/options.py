"""Options that several commands share, each with the words of its help."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

PLATE, ASKED, SETUP, DRAWING, OUTPUT = "Plate", "What is asked", "Set-up", "Drawing", "Output"


class UnitSystem(StrEnum):
    """How results are printed."""

    INCH = "in"
    METRIC = "mm"


class UnitName(StrEnum):
    """Unit that a drawing is drawn in."""

    INCH = "in"
    MILLIMETRE = "mm"
    CENTIMETRE = "cm"
    METRE = "m"
    FOOT = "ft"


class OffsetChoice(StrEnum):
    """How the kerf offset is set."""

    TOP = "top"
    CENTRED = "centred"


class StanceChoice(StrEnum):
    """How the head stands."""

    UPRIGHT = "upright"
    TILTED = "tilted"


class OptionName(StrEnum):
    """The rival plans."""

    ACCURATE = "accurate"
    CHEAPEST = "cheapest"
    BLANK = "blank"


Source = Annotated[
    Path, typer.Argument(metavar="FILE", help="A drawing (part.dxf) or a study file (study.toml).")
]
DrawingFile = Annotated[
    Path, typer.Argument(metavar="DRAWING", help="The drawing: DXF, SVG, or the STEP file of a plate.")
]
Thickness = Annotated[
    str | None,
    typer.Option(metavar="LENGTH", help="Thickness of the plate: '1/2 in', '12 mm'.", rich_help_panel=PLATE),
]
MaterialName = Annotated[
    str | None,
    typer.Option(
        "--material", metavar="NAME", help="Material: 6061, 304, 'mild steel', ...", rich_help_panel=PLATE
    ),
]
Sentence = Annotated[
    str | None,
    typer.Option(
        "--ask",
        metavar="TEXT",
        help="All in one sentence: '1/2 in 6061, sizes ±0.005 in, 125 uin, 50 off'.",
        rich_help_panel=ASKED,
    ),
]
Size = Annotated[
    str | None,
    typer.Option(
        metavar="LIMITS",
        help="Limits for all sizes of the part: '±0.005 in', '+0.1/-0 mm'.",
        rich_help_panel=ASKED,
    ),
]
Finish = Annotated[
    str | None,
    typer.Option(
        metavar="ROUGHNESS", help="Finish of all edges: '125 uin', 'Ra 3.2 um'.", rich_help_panel=ASKED
    ),
]
Square = Annotated[
    str | None,
    typer.Option(
        metavar="LENGTH", help="Squareness of all edges over the thickness: '0.1 mm'.", rich_help_panel=ASKED
    ),
]
Demands = Annotated[
    list[str] | None,
    typer.Option(
        "--demand",
        metavar="TEXT",
        help="One more demand, on an edge or opening: 'B: 10 H11', 'A1-A3: 40 mm ±0.1'. May be repeated.",
        rich_help_panel=ASKED,
    ),
]
Quantity = Annotated[
    int | None, typer.Option(min=1, metavar="NUMBER", help="Pieces in the lot.", rich_help_panel=ASKED)
]
Odds = Annotated[
    str | None,
    typer.Option(
        metavar="NUMBER",
        help="Odds with which all demands shall hold: 0.95 or '95 %'.",
        rich_help_panel=ASKED,
    ),
]
BuyPrice = Annotated[
    str | None,
    typer.Option(
        "--buy-price",
        metavar="MONEY",
        help="Price of one piece bought elsewhere: '12.50 EUR'.",
        rich_help_panel=ASKED,
    ),
]
Guard = Annotated[
    str | None,
    typer.Option(
        "--guard",
        metavar="NUMBER",
        help="Judge by readings: limits drawn in so that a piece read at one conforms with 0.95 or '95 %'.",
        rich_help_panel=ASKED,
    ),
]
PartName = Annotated[
    str | None,
    typer.Option(
        "--part", metavar="ID", help="Which part, where the drawing has several.", rich_help_panel=DRAWING
    ),
]
DrawingUnit = Annotated[
    UnitName | None,
    typer.Option(
        "--units",
        help="Unit of the drawing, where its file does not say, or says it wrong.",
        rich_help_panel=DRAWING,
    ),
]
Gap = Annotated[
    str | None,
    typer.Option(
        metavar="LENGTH", help="Largest gap between ends taken as joined: '0.05 mm'.", rich_help_panel=DRAWING
    ),
]
PrintIn = Annotated[
    UnitSystem | None,
    typer.Option(
        "--print-in",
        help="Print in inches or millimetres; otherwise as the study is written.",
        rich_help_panel=OUTPUT,
    ),
]
ShopFile = Annotated[
    Path | None,
    typer.Option(
        "--shop", metavar="FILE", help="Shop file; the bundled demo shop without it.", rich_help_panel=SETUP
    ),
]
MachineName = Annotated[
    str | None, typer.Option("--machine", metavar="NAME", help="Machine of the shop.", rich_help_panel=SETUP)
]
PumpName = Annotated[
    str | None, typer.Option("--pump", metavar="NAME", help="Pump of the shop.", rich_help_panel=SETUP)
]
HeadName = Annotated[
    str | None, typer.Option("--head", metavar="NAME", help="Head of the shop.", rich_help_panel=SETUP)
]
AbrasiveName = Annotated[
    str | None,
    typer.Option("--abrasive", metavar="NAME", help="Abrasive of the shop.", rich_help_panel=SETUP),
]
GaugeName = Annotated[
    str | None,
    typer.Option(
        "--gauge",
        metavar="NAME",
        help="Gauge of the shop that sizes are measured with.",
        rich_help_panel=SETUP,
    ),
]
Loops = Annotated[
    bool | None,
    typer.Option(
        "--loops",
        help="Let the jet run past outside corners and loop in the scrap, where that costs less.",
        rich_help_panel=SETUP,
    ),
]
PressureText = Annotated[
    str | None,
    typer.Option(
        "--pressure", metavar="PRESSURE", help="At the orifice: '60 ksi', '4000 bar'.", rich_help_panel=SETUP
    ),
]
RateText = Annotated[
    str | None,
    typer.Option("--abrasive-rate", metavar="RATE", help="'0.8 lb/min', '350 g/min'.", rich_help_panel=SETUP),
]
TubeText = Annotated[
    str | None,
    typer.Option(
        "--tube-bore", metavar="LENGTH", help="Bore of the mixing tube as it is today.", rich_help_panel=SETUP
    ),
]
TubeName = Annotated[
    str | None,
    typer.Option("--tube", metavar="NAME", help="Mixing tube as marked on it.", rich_help_panel=SETUP),
]
LotName = Annotated[
    str | None, typer.Option("--lot", metavar="NAME", help="Lot of the material.", rich_help_panel=SETUP)
]
StandoffText = Annotated[
    str | None,
    typer.Option("--standoff", metavar="LENGTH", help="Tube to plate: '2.5 mm'.", rich_help_panel=SETUP),
]
BookPlace = Annotated[
    str | None,
    typer.Option(
        "--book",
        metavar="PATH|URL",
        help="The shop's book; the usual one without it, see TRIALCUT_BOOK.",
        rich_help_panel=SETUP,
    ),
]
NoBook = Annotated[
    bool,
    typer.Option(
        "--no-book",
        help="Take nothing from the book: published and working values alone.",
        rich_help_panel=SETUP,
    ),
]
AsJson = Annotated[
    bool, typer.Option("--json", help="Print the JSON document instead.", rich_help_panel=OUTPUT)
]
OutFolder = Annotated[
    Path | None,
    typer.Option(
        "--out", metavar="FOLDER", help="Folder for cut sheets and the JSON document.", rich_help_panel=OUTPUT
    ),
]


class LeastWhat(StrEnum):
    """What a plan makes small."""

    MONEY = "money"
    TIME = "time"


Least = Annotated[
    LeastWhat,
    typer.Option(
        "--least", help="What the cheapest option makes small: money, or time.", rich_help_panel=OUTPUT
    ),
]
FreeSetup = Annotated[
    str | None,
    typer.Option(
        "--free",
        metavar="NAMES",
        help="Choose of the set-up too: any of orifice, tube, pressure, abrasive, pump, machine, by commas.",
        rich_help_panel=SETUP,
    ),
]
Worth = Annotated[
    bool,
    typer.Option(
        "--worth",
        help="Say also what the next improvement is worth: tolerances, prices, gauge, tube, a trial.",
        rich_help_panel=OUTPUT,
    ),
]
Chosen = Annotated[
    OptionName | None,
    typer.Option(
        "--option", help="Option to show edge by edge and to issue papers for.", rich_help_panel=OUTPUT
    ),
]
