"""Evidence reports of studies made up by hand, for tests of what is printed from them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sample_fits import sample_fit, sample_readings, sample_trials
from sample_results import bracket_study, option_of
from trialcut import __version__
from trialcut.papers.evidence import evidence_content
from trialcut.papers.evidence_content import EvidenceReport, EvidenceWishes
from trialcut.papers.evidence_pages import evidence_html
from trialcut.papers.house import said
from trialcut.planning.evidence import Evidence
from trialcut.planning.study import Study
from trialcut.trials.knowledge import FittedKnowledge

DATED = EvidenceWishes(dated=date(2026, 11, 25))


def sample_evidence() -> Evidence:
    """Readings of two plates, one of them bad, and their fit."""
    trials = sample_trials()
    readings = sample_readings(trials)
    fit = sample_fit(trials, readings)
    by_id = {each.id: each for each in readings}
    return Evidence(fit=fit, trials=trials, readings=tuple(by_id[name] for name in fit.readings))


def read_study(evidence: Evidence, *, system: str = "inch") -> Study:
    """A bracket in the thicker plate of the readings, forecast by their fit."""
    study = bracket_study()
    setup = replace(evidence.trials[0].setup, thickness=25.4e-3)
    assert evidence.fit is not None
    knowledge = FittedKnowledge(fit=evidence.fit, context=study.context)
    names = study.setup_names | {"material": setup.material.name}
    return replace(study, setup=setup, setup_names=names, knowledge=knowledge, system=system)


def report_of(
    study: Study, evidence: Evidence | None = None, wishes: EvidenceWishes = DATED
) -> EvidenceReport:
    """The report on a study's first option."""
    return evidence_content(study, option_of(study), evidence or Evidence(), wishes)


def golden_evidence() -> dict[str, str]:
    """A report without readings, as a golden file; version and paper id are taken out of it."""
    report = report_of(bracket_study())
    page = evidence_html(report).replace(said(report)["id"], "PAPER-ID")
    return {"bracket-evidence.html": page.replace(__version__, "VERSION")}
