"""A fit on the terminal: whether it may be used, what the readings told, what speaks against it."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from trialcut.cli.output import BAD, GOOD, bullets, facts, heading, money, paragraph, put, table
from trialcut.papers.figures import fixed, uncertain
from trialcut.papers.limits import demand_unit, gauge_limits
from trialcut.physics.kerf_forms import KerfForm
from trialcut.planning.fit_views import FitChange, PlanOutline, counts_little
from trialcut.services import cause_words, fit_parameters, fit_verdict
from trialcut.trials.fit_types import Fit
from trialcut.trials.intake.telling import place_text
from trialcut.trials.types import Reading
from trialcut.units import Kind, format_odds, format_value

FORMS = {
    KerfForm.CLOSING: "bottom closes at separation",
    KerfForm.POWER: "power law",
    KerfForm.DOSE: "dose of the jet",
}
TOLD = 0.9
"""Spread that is left of that before, below which the readings told something. [-]"""
MOST_TOLD = 12


def show_fit(out: Console, fit: Fit, readings: Sequence[Reading], *, system: str) -> None:
    """The verdict, the forms, what was learned, and every flag."""
    out.print(
        Text(
            f"Fit {fit.id}: {len(fit.readings)} readings on {_counted(len(fit.coupons), 'coupon')} of "
            f"machine {fit.machine}",
            style="bold",
        )
    )
    plates = ", ".join(format_value(each, Kind.LENGTH, system) for each in fit.thicknesses)
    put(
        out,
        facts(
            [
                ("abrasive", fit.abrasive),
                ("plates", f"{', '.join(fit.materials)}: {plates}"),
                ("sessions", ", ".join(fit.sessions)),
            ]
        ),
    )
    out.print()
    paragraph(out, fit_verdict(fit, readings), indent=0, style=GOOD if fit.good else BAD)
    heading(out, "Kerf forms, by how well they forecast coupons that were left out")
    put(out, _form_table(fit))
    told = [each for each in fit_parameters(fit) if each["spread_left"] < TOLD][:MOST_TOLD]
    heading(out, "What the readings told: spread left, of that before any reading")
    put(out, table(["", ""], [(each["meaning"], f"{100 * each['spread_left']:.0f} %") for each in told]))
    scatter, discrepancy = (
        f"{each:.2f} times what it was held to be"
        for each in (fit.best.scatter_scale, fit.best.discrepancy_scale)
    )
    put(out, facts([("scatter of pieces and edges", scatter), ("left unsaid by the form", discrepancy)]))
    _show_little(out, fit, readings)
    others = [flag for flag in fit.flags if not flag.bad]
    if others:
        heading(out, "Also noticed")
        for flag in others:
            cause = cause_words(flag, readings)
            bullets(
                out,
                [
                    f"{flag.message.rstrip('.')}{f': {cause}' if cause else ''}"
                    + (f"; {flag.remedy}" if flag.remedy else "")
                ],
            )


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _form_table(fit: Fit) -> Table:
    rows = []
    for form in fit.forms:
        behind = "" if form is fit.best else _behind(form.score - fit.best.score, form.score_error)
        rows.append(
            (
                FORMS[form.form],
                f"{100 * form.weight:.0f} %",
                behind,
                f"{form.effective_sample_size:.0f}",
                f"{form.pareto_k:.2f}",
            )
        )
    return table(
        ["form", "share", "score to\nthe best", "effective\ndraws", "tail\nindex"],
        rows,
    )


def _behind(difference: float, error: float) -> str:
    text = fixed(difference, 1)
    return text if error != error else f"{text} ± {fixed(error, 1)}"  # noqa: PLR0124, not a number


def _show_little(out: Console, fit: Fit, readings: Sequence[Reading]) -> None:
    """Readings that count little."""
    by_id = {each.id: each for each in readings}
    best = fit.best
    rows = [
        (
            name,
            place_text(by_id[name]),
            by_id[name].text,
            fixed(float(off), 1),
            f"{100 * float(weight):.0f} %",
        )
        for name, weight, off in zip(fit.readings, best.reading_weight, best.standardised, strict=False)
        if counts_little(float(weight))
    ]
    if rows:
        heading(out, "Readings that count little: look at them again")
        put(out, table(["", "where", "value", "off, in\nspreads", "counts"], rows, left=3))


def show_change(out: Console, change: FitChange, *, system: str) -> None:
    """Each demand as forecast before and after, and both plans."""
    heading(out, f"{change.study}: what each demand should come to at the plan's cut, before and after")
    rows = []
    for each in change.demands:
        spreads = [each.top_before, each.top_after, each.bottom_before, each.bottom_after]
        cells = uncertain(spreads, demand_unit(each.demand, system))
        _, limits = gauge_limits(each.demand, system)
        odds = f"{format_odds(each.odds_before)} → {format_odds(each.odds_after)}"
        rows.append((each.demand.title, "top", cells[0], cells[1], odds))
        rows.append((limits, "bottom", cells[2], cells[3], ""))
    put(out, table(["demand", "at", "before", "after", "odds"], rows, left=2))
    heading(out, f"{change.study}: the plan before and after")
    names = ("option", "odds", "time a piece", "lot")
    before, after = (_outline(each, change.currency, system) for each in (change.before, change.after))
    put(out, table(["", "before", "after"], list(zip(names, before, after, strict=True))))


def _outline(one: PlanOutline, currency: str, system: str) -> tuple[str, ...]:
    basis = ", after a first piece" if one.first_piece else ""
    return (
        f"{one.name}, {'holds' if one.holds else 'does not hold'}",
        f"{format_odds(one.odds)}{basis}",
        format_value(one.time.mean, Kind.TIME, system, spread=one.time.sd),
        money(one.lot.mean, currency),
    )
