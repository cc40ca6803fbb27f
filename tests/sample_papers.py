"""Every paper that is set as PDF, on parts that are usual and on parts that are not: for tests of all pages.

A new paper joins by one more entry in `PAPERS`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

from sample_capability import sample_capability
from sample_coupons import sample_lines, sample_trial
from sample_evidence import report_of
from sample_inspections import inspection_of
from sample_offers import BREAKS, WISHES
from sample_parts import wheel
from sample_results import bracket_study, option_of, plate_study
from sample_studies import study_of
from trialcut.papers import cut_sheet_content, cut_sheet_html, cut_sheet_pdf
from trialcut.papers.capability import capability_content
from trialcut.papers.capability_pages import capability_html, capability_pdf
from trialcut.papers.evidence_pages import evidence_html, evidence_pdf
from trialcut.papers.inspection_pages import inspection_html, inspection_pdf
from trialcut.papers.offer import offer_content
from trialcut.papers.offer_pages import offer_html, offer_pdf
from trialcut.papers.reading_form import reading_form
from trialcut.papers.trial_papers import trial_html, trial_pdf
from trialcut.papers.trial_sheet import trial_sheet
from trialcut.planning.house import House
from trialcut.planning.study import Study

LONG = "Bracket for the upper left support of a very long machine be"
"""60 characters with spaces."""
UNBROKEN = "W" * 60
"""60 wide characters without one."""
DATE = "2026-11-25"
SIZES = {"A4": "a4", "letter": "us-letter"}


@dataclass(frozen=True, kw_only=True)
class Paper:
    """One paper of a study, as content, and its two forms.

    Parameters
    ----------
    content : callable
        From a study, whose house and unit system it follows, to what the paper says.
    pdf, html : callable
        From content.
    """

    content: Callable
    pdf: Callable
    html: Callable


def _cut_sheet(study: Study):
    option = option_of(study)
    if len(study.name) == 60:
        option = replace(option, title=study.name)
    return cut_sheet_content(study, option, date=DATE)


def _offer(study: Study):
    return offer_content(study, option_of(study), BREAKS, WISHES)


def _trial_sheet(study: Study):
    trial = sample_trial()
    return trial_sheet(trial, sample_lines(trial), system=study.system, date=DATE, house=study.house)


def _reading_form(study: Study):
    trial = sample_trial()
    return reading_form(trial, sample_lines(trial), system=study.system, date=DATE, house=study.house)


def _capability(study: Study):
    return capability_content(
        sample_capability(study.system), house=study.house, dated=date.fromisoformat(DATE)
    )


PAPERS = {
    "cut sheet": Paper(content=_cut_sheet, pdf=cut_sheet_pdf, html=cut_sheet_html),
    "offer": Paper(content=_offer, pdf=offer_pdf, html=offer_html),
    "inspection sheet": Paper(content=inspection_of, pdf=inspection_pdf, html=inspection_html),
    "evidence report": Paper(content=report_of, pdf=evidence_pdf, html=evidence_html),
    "capability sheet": Paper(content=_capability, pdf=capability_pdf, html=capability_html),
    "trial sheet": Paper(content=_trial_sheet, pdf=trial_pdf, html=trial_html),
    "reading form": Paper(content=_reading_form, pdf=trial_pdf, html=trial_html),
}


def named(study: Study, name: str) -> Study:
    """The study with all that a person can name called `name`."""
    demands = tuple(replace(demand, title=f"{demand.title} {name}") for demand in study.demands[:2])
    return replace(
        study,
        name=name,
        setup_names=dict.fromkeys(study.setup_names, name),
        demands=(*demands, *study.demands[2:]),
        part=replace(study.part, id=name),
        house=House(name=name, address=(name, name), contact=(name,)),
    )


STUDIES: dict[str, Callable[[], Study]] = {
    "bracket": bracket_study,
    "plate": plate_study,
    "400 edges": lambda: replace(study_of(wheel(401)), name="Wheel", quantity=50),
    "a name of 60 characters": lambda: named(bracket_study(), LONG),
    "60 characters without a space": lambda: named(plate_study(), UNBROKEN),
}


def on_paper(study: Study, size: str) -> Study:
    """The study of a house that prints on one size: ``"A4"`` or ``"letter"``."""
    return replace(study, house=replace(study.house, paper=size))
