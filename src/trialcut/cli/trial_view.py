"""A trial on the terminal: its design, its papers, what was recorded, what the book holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import degrees

from rich.console import Console
from rich.table import Table
from rich.text import Text

from trialcut.cli.output import BAD, GOOD, bullets, facts, heading, money, paragraph, put, table
from trialcut.cli.study_view import show_head, show_notes
from trialcut.papers.figures import exact, unit_of
from trialcut.planning.study import Study
from trialcut.planning.trial_results import TrialDesign, TrialStep
from trialcut.services import IssuedTrial, Recorded
from trialcut.trials.intake import ReadingFinding
from trialcut.trials.intake.telling import place_text
from trialcut.trials.types import Reading, Trial
from trialcut.units import Kind, format_odds, format_value


def show_design(out: Console, study: Study, design: TrialDesign, *, count: int | None = None) -> None:
    """What 0, 1, 2, ... coupons are worth, which to cut, and what stays unknown."""
    show_head(out, study)
    heading(out, f"What a trial is worth on a lot of {design.quantity}")
    put(out, _worth_table(design))
    paragraph(out, design.sentence, style=GOOD if design.recommended else "bold")
    shown = count if count is not None else design.recommended or _best(design)
    if 0 < shown < len(design.steps):
        step = design.step(shown)
        heading(out, _coupons_title(design, step))
        put(out, _coupon_table(study, step))
        if step.spreads:
            heading(out, "How sure each demand would be, at the present plan's cut")
            put(out, _spread_table(study, step))
    if design.cannot_teach:
        heading(out, "What stays unknown")
        bullets(out, design.cannot_teach)
    show_notes(out, (*study.notes, *study.knowledge.notes(study.setup), *design.notes))


def _best(design: TrialDesign) -> int:
    return max(range(len(design.steps)), key=lambda k: (k > 0, design.steps[k].worth))


def _coupons_title(design: TrialDesign, step: TrialStep) -> str:
    if step.count == design.recommended:
        return "Coupons, in the order they are cut"
    return f"Coupons of the trial of {step.count}, in the order they are cut"


def _worth_table(design: TrialDesign) -> Table:
    def cost(value: float) -> str:
        return money(value, design.currency).removesuffix(f" {design.currency}")

    rows = []
    for step in design.steps:
        style = "bold" if step.count == design.recommended else ""
        cells = (
            str(step.count),
            format_value(step.machine_time, Kind.TIME, "metric") if step.count else "",
            cost(step.cost),
            cost(step.saving),
            f"± {cost(step.saving_error)}" if step.count else "",
            cost(step.worth),
            format_odds(step.odds),
        )
        rows.append([Text(cell, style=style) for cell in cells])
    currency = design.currency
    return table(
        [
            "coupons",
            "machine\ntime",
            f"cost\n{currency}",
            f"saves\n{currency}",
            "standard\nerror",
            f"worth\n{currency}",
            "odds of a\npiece then",
        ],
        rows,
        left=0,
    )


def _coupon_table(study: Study, step: TrialStep) -> Table:
    system = study.system
    speeds = exact([each.speed for each in step.coupons], Kind.SPEED, system)
    plates = [format_value(each.thickness, Kind.LENGTH, system) for each in step.coupons]
    speed_unit = unit_of(Kind.SPEED, system)
    return table(
        [
            "",
            "coupon",
            "head",
            "what it is for",
            f"speed\n{speed_unit}",
            "plate",
            "readings",
        ],
        [
            (
                str(number),
                each.kind,
                each.stance.value,
                each.why,
                speed,
                plate,
                str(len(each.lines)),
            )
            for number, (each, speed, plate) in enumerate(
                zip(step.coupons, speeds, plates, strict=True), start=1
            )
        ],
        left=4,
    )


def _spread_table(study: Study, step: TrialStep) -> Table:
    rows = []
    for each in step.spreads:
        kind = Kind.ROUGHNESS if each.demand.startswith("finish") else Kind.LENGTH
        unit = unit_of(kind, study.system)
        before, after = exact([each.before, each.after], kind, study.system)
        title = each.title if each.alike == 1 else f"{each.title}, and {each.alike - 1} alike"
        rows.append((title, f"± {before}", f"± {after}", unit))
    return table(["demand", "before", "after", ""], rows)


def show_issued(out: Console, issued: IssuedTrial | None) -> None:
    """Which trial was entered, and its files."""
    if issued is None:
        paragraph(
            out, "No trial was entered, for none pays; --coupons NUMBER issues one all the same.", indent=0
        )
        return
    heading(out, f"Trial {issued.trial.id}, session {issued.trial.session}, is in the book")
    for path in issued.files:
        out.print(f"  {path}", soft_wrap=True)
    form = next(path for path in issued.files if path.suffix == ".csv")
    out.print()
    out.print(f"cut it, fill in the form, then: trialcut trial record {form}", soft_wrap=True)


def show_recorded(out: Console, recorded: Recorded) -> None:
    """What was entered, and what to look at again."""
    trial, readings = recorded.trial, recorded.readings
    if readings:
        ids = readings[0].id if len(readings) == 1 else f"{readings[0].id} to {readings[-1].id}"
        plural = "s" if len(readings) > 1 else ""
        out.print(Text(f"Trial {trial.id}: {len(readings)} reading{plural} entered, {ids}", style="bold"))
    else:
        out.print(Text(f"Trial {trial.id}: no reading entered", style="bold"))
    if recorded.unfilled:
        out.print(f"  {recorded.unfilled} lines of the form have no value")
    if recorded.findings:
        heading(out, "Look again")
        bullets(out, (finding_text(each, readings) for each in recorded.findings), mark="!", style=BAD)
    if readings:
        out.print()
        out.print(f"then: trialcut fit {trial.machine}")


def finding_text(finding: ReadingFinding, readings: Sequence[Reading]) -> str:
    """One doubt as a sentence, with the reading's id."""
    name = f"{readings[finding.reading].id}, " if finding.reading is not None else ""
    return f"{name}{finding.message}. Likely cause: {finding.cause}. What to do: {finding.remedy}."


def show_trials(out: Console, trials: Iterable[Trial], readings: Iterable[Reading]) -> None:
    """A line for each trial of the book."""
    count = Counter(each.coupon for each in readings)
    rows = [
        (
            trial.id,
            trial.session,
            trial.machine,
            trial.setup.material.name,
            trial.tube,
            str(len(trial.coupons)),
            str(sum(count[coupon.id] for coupon in trial.coupons)),
            trial.study,
        )
        for trial in trials
    ]
    if not rows:
        out.print("no trial is in the book yet: trialcut trial design STUDY --out FOLDER")
        return
    made = table(
        ["trial", "session", "machine", "material", "tube", "coupons", "readings", "for"], rows, left=5
    )
    made.columns[-1].justify = "left"
    put(out, made, indent=0)


def show_trial(out: Console, trial: Trial, readings: Sequence[Reading], *, system: str) -> None:
    """Set-up, coupons, readings."""
    setup = trial.setup

    def length(value: float) -> str:
        return format_value(value, Kind.LENGTH, system)

    out.print(
        Text(f"Trial {trial.id}, session {trial.session}, for {trial.study or 'no study'}", style="bold")
    )
    put(
        out,
        facts(
            [
                ("machine", f"{trial.machine}, pump {setup.pump.name}, head {trial.head or 'not named'}"),
                (
                    "jet",
                    f"{format_value(setup.pressure, Kind.PRESSURE, system)}, "
                    f"orifice {length(setup.orifice)}, {setup.abrasive} at "
                    f"{format_value(setup.abrasive_rate, Kind.MASS_FLOW, system)}, "
                    f"standoff {length(setup.standoff)}",
                ),
                (
                    "mixing tube",
                    f"{trial.tube or 'not named'}, bore {length(setup.tube_bore)}, "
                    f"{format_value(trial.tube_hours, Kind.TIME, system)} of use",
                ),
                ("material", f"{setup.material.name}, lot {trial.lot or 'not named'}"),
            ]
        ),
    )
    heading(out, "Coupons")
    put(out, _cut_table(trial, system))
    heading(out, f"Readings: {len(readings)}")
    if readings:
        put(
            out,
            table(
                ["", "where", "value", "gauge", "who", "remark"],
                [
                    (each.id, place_text(each), each.text, each.gauge, each.who, each.remark)
                    for each in readings
                ],
                left=6,
            ),
        )


def _cut_table(trial: Trial, system: str) -> Table:
    length, speed = unit_of(Kind.LENGTH, system), unit_of(Kind.SPEED, system)
    rows = []
    for coupon in trial.coupons:
        for n, cut in enumerate(coupon.cuts):
            plate = exact([coupon.thickness], Kind.LENGTH, system)[0] if n == 0 else ""
            rows.append(
                (
                    coupon.id if n == 0 else "",
                    coupon.kind if n == 0 else "",
                    cut.id,
                    cut.feature.value,
                    plate,
                    exact([cut.nominal], Kind.LENGTH, system)[0] if cut.nominal else "",
                    exact([cut.speed], Kind.SPEED, system)[0],
                    exact([cut.offset], Kind.LENGTH, system)[0],
                    f"{degrees(cut.tilt):.2f}" if cut.tilt else "",
                    f"{degrees(cut.lead):.2f}" if cut.lead else "",
                )
            )
    heads = ["coupon", "", "cut", "of", f"plate\n{length}", f"nominal\n{length}", f"speed\n{speed}"]
    return table([*heads, f"offset\n{length}", "tilt\n°", "lead\n°"], rows, left=4)
