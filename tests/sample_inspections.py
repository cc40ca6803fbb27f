"""Inspection sheets made up by hand, for tests of what is printed; no model is behind their numbers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sample_results import bracket_study, option_of, plate_study
from sample_studies import CALIPER
from trialcut import __version__
from trialcut.papers.house import said
from trialcut.papers.inspection import inspection_content
from trialcut.papers.inspection_content import Inspection, InspectionWishes
from trialcut.papers.inspection_pages import inspection_html
from trialcut.planning.demands import DemandKind
from trialcut.planning.gauge_choice import gauge_verdict
from trialcut.planning.inspection import characteristics, inspected_trial
from trialcut.planning.results import Option
from trialcut.planning.sampling import sampling_plan, spread_pieces
from trialcut.planning.study import Study

WISHES = InspectionWishes(dated=date(2026, 11, 25))


def inspection_of(
    study: Study,
    option: Option | None = None,
    *,
    level: float | None = 0.01,
    in_book: bool = True,
    wishes: InspectionWishes = WISHES,
) -> Inspection:
    """The sheet of a study, its sizes read with the caliper of the samples."""
    option = option or option_of(study)
    lines = characteristics(study, option)
    plan = sampling_plan(study.quantity, level=level)
    pieces = spread_pieces(plan.lot, plan.pieces, seed=1)
    sizes = [line.demand for line in lines if line.demand.kind is DemandKind.SIZE]
    verdicts = {each.id: gauge_verdict(CALIPER, demand=each, system=study.system) for each in sizes}
    trial = inspected_trial(study, option, lines, trial_id="T7", session="2026-11-25a", pieces=pieces)
    return inspection_content(
        study,
        option,
        lines,
        plan=plan,
        pieces=pieces,
        verdicts={name: verdict for name, verdict in verdicts.items() if verdict is not None},
        gauges={each.id: CALIPER.name for each in sizes},
        trial=trial if in_book else None,
        wishes=wishes,
    )


def golden_inspections() -> dict[str, str]:
    """Sheets that are kept as golden files, by name; version and paper id are taken out of them."""
    papers = {}
    sheets = {
        "bracket-inspection": inspection_of(replace(bracket_study(), quantity=50)),
        "plate-inspection": inspection_of(plate_study(), level=None, in_book=False),
    }
    for name, sheet in sheets.items():
        page = inspection_html(sheet).replace(said(sheet)["id"], "PAPER-ID")
        papers[f"{name}.html"] = page.replace(__version__, "VERSION")
    return papers
