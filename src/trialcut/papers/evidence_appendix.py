"""Appendix of an evidence report: model, priors, what speaks against the fit, versions."""

from __future__ import annotations

from collections import Counter

from trialcut import __version__
from trialcut.papers.content import Column, Row, Table
from trialcut.papers.evidence_readings import id_list
from trialcut.papers.words import capital, say, sentence
from trialcut.physics.kerf_forms import KerfForm
from trialcut.planning.evidence import Evidence
from trialcut.planning.study import Study
from trialcut.sources import constant_set
from trialcut.sources.constants import FLAGS
from trialcut.trials.priors import COMMON_SETS, FORM_SETS


def model_facts(study: Study, evidence: Evidence) -> Table:
    """Kerf forms and their shares, fit, seeds and versions."""
    fit = evidence.fit
    rows = []
    if fit is None:
        rows.append((say("evidence.fit"), say("evidence.fit_none")))
        rows.append((say("evidence.forms"), _form_text(KerfForm.CLOSING, 1.0)))
    else:
        rows += [
            (
                say("evidence.fit"),
                say("evidence.fit_of", fit=fit.id, day=fit.created[:10], machine=fit.machine),
            ),
            (
                say("evidence.fit_readings"),
                say(
                    "evidence.fit_readings_of",
                    count=len(fit.readings),
                    coupons=len(fit.coupons),
                    ids=id_list(fit.readings),
                ),
            ),
            (say("evidence.forms"), "; ".join(_form_text(each.form, each.weight) for each in fit.forms)),
            (
                say("evidence.scatter"),
                say(
                    "evidence.scatter_of",
                    scatter=f"{fit.best.scatter_scale:.2f}",
                    discrepancy=f"{fit.best.discrepancy_scale:.2f}",
                ),
            ),
            (
                say("evidence.sampling"),
                say(
                    "evidence.sampling_of",
                    size=f"{fit.best.effective_sample_size:.0f}",
                    k=f"{fit.best.pareto_k:.2f}",
                    draws=fit.draws,
                    seed=fit.seed,
                ),
            ),
        ]
    rows.append((say("evidence.draws"), say("evidence.draws_of", count=study.draws, seed=study.seed)))
    version = __version__ if fit is None or fit.version == __version__ else f"{__version__}, {fit.version}"
    rows.append((say("evidence.version"), say("evidence.version_of", version=version)))
    return Table(
        say("evidence.model_title"),
        (Column("", numeric=False), Column("", numeric=False)),
        tuple(Row(row) for row in rows),
    )


def _form_text(form: KerfForm, weight: float) -> str:
    return say(f"fit.{form.name.lower()}", share=f"{100.0 * weight:.0f} %")


def priors_table(evidence: Evidence) -> Table:
    """Each set of constants that the forecast starts from: how many numbers, and where they are from."""
    forms = list(KerfForm) if evidence.fit is None else [each.form for each in evidence.fit.forms]
    if evidence.fit is None:
        forms = [KerfForm.CLOSING]
    sets = dict.fromkeys((*(FORM_SETS[form] for form in forms), *COMMON_SETS))
    rows = []
    for name in sets:
        constants = constant_set(name).values()
        flags = Counter(each.flag for each in constants)
        origin = "; ".join(f"{count} {FLAGS[flag]}" for flag, count in flags.items())
        sources = ", ".join(dict.fromkeys(each.source for each in constants if each.source))
        rows.append(Row((capital(name.replace("-", " ")), str(len(constants)), origin, sources)))
    return Table(
        say("evidence.priors_title"),
        (
            Column(say("evidence.priors_set"), numeric=False, weight=0.0),
            Column(say("evidence.priors_count"), weight=0.0),
            Column(say("evidence.priors_origin"), numeric=False, weight=2.0),
            Column(say("evidence.priors_source"), numeric=False, weight=1.0),
        ),
        tuple(rows),
        say("evidence.priors_remark"),
    )


def fit_flags(evidence: Evidence) -> tuple[str, ...]:
    """What a reader of the fit must know, and what to do about it."""
    if evidence.fit is None:
        return (say("evidence.flags_no_fit"),)
    if not evidence.fit.flags:
        return (say("evidence.flags_none"),)
    return tuple(
        f"{capital(each.code.replace('-', ' '))}: {each.message}. {sentence(each.remedy)}".replace("..", ".")
        for each in evidence.fit.flags
    )
