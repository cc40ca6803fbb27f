"""Draw the two bundled demo parts.

    python tools/draw_demo_parts.py

link.dxf, in inches: an invented link, 1.5 in over all and 0.9 in wide, one end square, the other a full
round with a 5/8 in opening on its centre; about 6.4 in of cut.

plate.dxf, in millimetres: an invented mounting plate, 120 x 80, with rounded corners, a notch with two
inside corners, four 9 mm openings, one of 30 mm and a slot.
"""

from pathlib import Path

import ezdxf
from ezdxf import units
from ezdxf.document import Drawing

FOLDER = Path(__file__).parents[1] / "src" / "trialcut" / "services" / "data"
QUARTER = 0.41421356237309503
"""Bulge of a quarter of a circle: the tangent of a quarter of its angle."""


def link() -> Drawing:
    """
    The link, in inches::

          (0, 0.9) +--------------------.
                   |                      `.
                   |              ( o )     )     opening 5/8 at (1.05, 0.45)
                   |                      .'
            (0, 0) +--------------------'
    """
    drawing = ezdxf.new("R2010", units=units.IN)
    space = drawing.modelspace()
    space.add_lwpolyline(
        [(0.0, 0.0, 0.0), (1.05, 0.0, 1.0), (1.05, 0.9, 0.0), (0.0, 0.9, 0.0)],
        format="xyb",
        close=True,
        dxfattribs={"layer": "PROFILE"},
    )
    space.add_circle((1.05, 0.45), 0.3125, dxfattribs={"layer": "PROFILE"})
    return drawing


def plate() -> Drawing:
    """
    The plate, in millimetres::

        (0, 80)  .---------------+    +----------.   notch 40 wide, 15 deep
                |  o             |    |        o  |
                |                +----+           |
                |      ( 30 )        (=====)      |  slot 24 x 10 over all
                |  o                           o  |
        (0, 0)   `-------------------------------'   corners R 8
    """
    drawing = ezdxf.new("R2010", units=units.MM)
    space = drawing.modelspace()
    layer = {"layer": "CUT"}
    outline = [
        (8.0, 0.0, 0.0),
        (112.0, 0.0, QUARTER),
        (120.0, 8.0, 0.0),
        (120.0, 72.0, QUARTER),
        (112.0, 80.0, 0.0),
        (80.0, 80.0, 0.0),
        (80.0, 65.0, 0.0),
        (40.0, 65.0, 0.0),
        (40.0, 80.0, 0.0),
        (8.0, 80.0, QUARTER),
        (0.0, 72.0, 0.0),
        (0.0, 8.0, QUARTER),
    ]
    space.add_lwpolyline(outline, format="xyb", close=True, dxfattribs=layer)
    for centre in ((12.0, 12.0), (108.0, 12.0), (108.0, 68.0), (12.0, 68.0)):
        space.add_circle(centre, 4.5, dxfattribs=layer)
    space.add_circle((40.0, 36.0), 15.0, dxfattribs=layer)
    space.add_lwpolyline(
        [(75.0, 31.0, 0.0), (89.0, 31.0, 1.0), (89.0, 41.0, 0.0), (75.0, 41.0, 1.0)],
        format="xyb",
        close=True,
        dxfattribs=layer,
    )
    return drawing


def main() -> None:
    """Write both drawings."""
    for name, drawing in (("link", link()), ("plate", plate())):
        drawing.saveas(FOLDER / f"{name}.dxf")
        print(FOLDER / f"{name}.dxf")


if __name__ == "__main__":
    main()
