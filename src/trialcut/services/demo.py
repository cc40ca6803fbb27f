"""The bundled enquiry: an invented shop, and two invented parts."""

from __future__ import annotations

from trialcut.planning.study import Study
from trialcut.services.bundled import bundled
from trialcut.services.shop_file import DEMO_SHOP, load_shop
from trialcut.services.study_options import StudyOptions, study_from_options

LINK = StudyOptions(
    ask="1 in 6061, sizes ±0.010 in, finish 250 uin, 50 off",
)
PLATE = StudyOptions(
    ask="12 mm 304, sizes ±0.3 mm, finish Ra 6.3 um, 20 off",
    demands=("B: 9 mm +0.4/-0",),
)


def demo_study(*, metric: bool = False) -> Study:
    """
    The bundled link, drawn in inches, or the bundled plate, drawn in millimetres.

    Parameters
    ----------
    metric : bool
        The plate.

    Returns
    -------
    Study
        On the demo shop.
    """
    drawing, options = ("plate.dxf", PLATE) if metric else ("link.dxf", LINK)
    return study_from_options(bundled(drawing), options, shop=load_shop())


def demo_shop_text() -> str:
    """Text of the demo shop file, to be copied and changed; its logo stays behind."""
    return bundled(DEMO_SHOP).read_text(encoding="utf-8").replace("\nlogo ", "\n# logo ")
