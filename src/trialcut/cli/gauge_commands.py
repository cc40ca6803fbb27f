"""The commands about gauges."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from trialcut.cli import options as o
from trialcut.cli.study_options import with_study_options

gauge_app = typer.Typer(
    help="Gauges: study one in use, see which decides what is asked.", no_args_is_help=True
)

STANDARD_INPUT = "-"


class MethodChoice(StrEnum):
    """How a gauge study is worked out."""

    ANOVA = "anova"
    RANGE = "range"


class InteractionChoice(StrEnum):
    """What is done with the interaction of appraisers and parts."""

    BY_LEVEL = "by-level"
    POOLED = "pooled"
    KEPT = "kept"


@gauge_app.command("study")
def study_command(
    *,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE",
            help="Readings: appraiser, trial, part and 'value [in]', a row each, as CSV or pasted from a "
            "spreadsheet; - reads what is pasted or piped in.",
        ),
    ],
    method: Annotated[
        MethodChoice, typer.Option(help="Analysis of variance, or averages and ranges.")
    ] = MethodChoice.ANOVA,
    interaction: Annotated[
        InteractionChoice,
        typer.Option(
            help="Count the interaction of appraisers and parts as error: by its F test, always, or never."
        ),
    ] = InteractionChoice.BY_LEVEL,
    tolerance: Annotated[
        str | None,
        typer.Option(
            metavar="WIDTH", help="Between the limits that the gauge must decide: '0.01 in', '±0.1 mm'."
        ),
    ] = None,
    as_json: o.AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FOLDER",
            help="Folder for the picture and the JSON document.",
            rich_help_panel=o.OUTPUT,
        ),
    ] = None,
) -> None:
    """Study a gauge: how much its readings scatter, and by whose hand."""
    from trialcut import services
    from trialcut.cli.gauge_view import show_gauge_study
    from trialcut.cli.output import console
    from trialcut.cli.plan_view import show_papers

    piped = str(file) == STANDARD_INPUT
    if out is not None:
        services.check_folder(out)
    found = services.gauge_study_of(
        sys.stdin.read() if piped else services.read_gauge_file(file),
        name="what was pasted" if piped else file.name,
        method=method.value,
        pooling=interaction.value.replace("-", " "),
        tolerance=tolerance,
    )
    stem = "pasted" if piped else file.stem
    papers = services.issue_gauge_study(found, stem, out) if out is not None else []
    if as_json:
        sys.stdout.write(services.document_text(services.gauge_study_document(found)))
        return
    screen = console()
    show_gauge_study(screen, found, stem)
    if papers:
        show_papers(screen, papers)


@gauge_app.command("check")
@with_study_options
def check_command(*, source: o.Source, choices: dict[str, Any], shop: o.ShopFile = None) -> None:
    """See whether the gauge is fine enough to decide each demand, and which gauge of the shop is.

    FILE is a drawing, with the plate and the demands in options, or a study file.
    """
    from trialcut import services
    from trialcut.cli.gauge_view import show_verdicts
    from trialcut.cli.output import console
    from trialcut.cli.work import STUDY_SUFFIX, study_of

    study = study_of(source, choices, shop)
    named = shop is None and source.suffix.lower() == STUDY_SUFFIX
    found = services.shop_of_study(source) if named else services.load_shop(shop)
    show_verdicts(console(), study, services.check_gauges(study, found))
