"""What the commands do: a service each, and its result on the terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from trialcut import services
from trialcut.cli import options as o
from trialcut.cli.output import console
from trialcut.errors import UsageError
from trialcut.planning.results import Option
from trialcut.planning.study import Study

if TYPE_CHECKING:
    from trialcut.planning.sensitivity.results import Sensitivity
    from trialcut.records import Book

SYSTEMS = {o.UnitSystem.INCH: "inch", o.UnitSystem.METRIC: "metric"}
STUDY_SUFFIX = ".toml"


def plan_command(
    source: Path,
    choices: Mapping[str, Any],
    *,
    shop: Path | None,
    free: str | None,
    least: o.LeastWhat,
    option: o.OptionName | None,
    worth: bool,
    book: str | None,
    no_book: bool,
    as_json: bool,
    out: Path | None,
) -> None:
    """``trialcut plan``."""
    from trialcut.cli.plan_view import show_papers, show_plan
    from trialcut.cli.setup_view import show_setups
    from trialcut.cli.worth_view import show_worth

    asked = study_of(source, choices, shop)
    if out is not None:
        services.check_folder(out)
    search = None
    if free is None:
        study = with_book(asked, book, no_book=no_book)
    else:
        search = _search(asked, shop_of(source, shop), free, book, no_book=no_book)
        study = search.best
    with progress_bar("planning") as progress:
        plan = services.plan_study(study, least=least.value, progress=progress)
    found = weighed(study, source, shop) if worth else None
    plan = plan if found is None else services.tell_worth(study, plan, found)
    chosen = services.choose_option(plan, None if option is None else option.value)
    papers = services.issue_plan(study, plan, chosen, out) if out is not None else []
    if as_json:
        sys.stdout.write(services.document_text(services.plan_document(study, plan, worth=found)))
        return
    screen = console()
    if search is not None:
        show_setups(screen, search, system=study.system)
    show_plan(screen, study, plan, chosen)
    if found is not None:
        show_worth(screen, found)
    if papers:
        show_papers(screen, papers)


def weighed(study: Study, source: Path, shop: Path | None) -> Sensitivity:
    """What the next improvement of a study is worth."""
    with progress_bar("weighing improvements") as progress:
        return services.study_worth(study, shop=shop_of(source, shop), progress=progress)


def _search(
    study: Study, shop: services.Shop, free: str, place: str | None, *, no_book: bool
) -> services.SetupSearch:
    chosen = services.free_of(free)
    if study.knowledge_file:
        book_of(study, place, no_book=no_book)
        no_book = True
    with knowing_of(place, no_book=no_book) as knowing, progress_bar("trying set-ups") as progress:
        return services.search_setups(study, shop, free=chosen, knowing=knowing, progress=progress)


@contextmanager
def knowing_of(place: str | None, *, no_book: bool) -> Iterator[Callable[[Study], Study] | None]:
    """What gives a study the book's knowledge for its set-up; None without a book."""
    with open_book(place, no_book=no_book) as book:
        yield None if book is None else partial(services.with_book, book=book)


@contextmanager
def open_book(place: str | None, *, no_book: bool) -> Iterator[Book | None]:
    """The book to use, open; None where there is none, or none is wanted."""
    if no_book and place is not None:
        raise UsageError("--book and --no-book exclude each other: leave one out")
    book = None if no_book else services.book_to_read(place)
    with book or nullcontext():
        yield book


def forecast_command(
    source: Path,
    choices: Mapping[str, Any],
    *,
    speed: str,
    stance: o.StanceChoice,
    offset: o.OffsetChoice,
    shop: Path | None,
    book: str | None,
    no_book: bool,
    as_json: bool,
) -> None:
    """``trialcut forecast``."""
    from trialcut.cli.plan_view import show_forecast

    study = with_book(study_of(source, choices, shop), book, no_book=no_book)
    forecast = services.forecast_study(study, speed=_speed(speed), stance=stance.value, offset=offset.value)
    if as_json:
        sys.stdout.write(services.document_text(services.forecast_document(study, forecast)))
    else:
        show_forecast(console(), study, forecast)


def ascut_command(
    source: Path,
    choices: Mapping[str, Any],
    *,
    shop: Path | None,
    option: o.OptionName | None,
    book: str | None,
    no_book: bool,
    speed: str | None,
    stance: o.StanceChoice,
    out: Path | None,
) -> None:
    """``trialcut ascut``."""
    from trialcut.cli.ascut_view import show_as_cut
    from trialcut.cli.plan_view import show_papers

    study = with_book(study_of(source, choices, shop), book, no_book=no_book)
    if out is not None:
        services.check_folder(out)
    if speed is not None:
        chosen, name = "", f"{study.name}-as-cut-{stance.value}"
        found = services.forecast_study(study, speed=_speed(speed), stance=stance.value, offset="centred")
    else:
        with progress_bar("planning") as progress:
            plan = services.plan_study(study, progress=progress)
        picked = services.choose_option(plan, None if option is None else option.value)
        chosen, name, found = picked.name, f"{study.name}-as-cut-{picked.name}", picked.forecast
    as_cut = services.cut_forecast(study, found, option=chosen)
    screen = console()
    show_as_cut(screen, as_cut)
    if out is not None:
        show_papers(screen, services.issue_as_cut(as_cut, name, out))


def paper_command(
    issue: Callable[[Study, Option, Path], list[Path]],
    source: Path,
    choices: Mapping[str, Any],
    *,
    shop: Path | None,
    option: o.OptionName | None,
    book: str | None,
    no_book: bool,
    out: Path,
) -> None:
    """``trialcut paper KIND`` and ``trialcut sheet``: plan, then issue the paper of one option."""
    from trialcut.cli.plan_view import show_papers

    study = with_book(study_of(source, choices, shop), book, no_book=no_book)
    services.check_folder(out)
    with progress_bar("planning") as progress:
        plan = services.plan_study(study, progress=progress)
    chosen = services.choose_option(plan, None if option is None else option.value)
    show_papers(console(), issue(study, chosen, out))


def new_command(drawing: Path, choices: Mapping[str, Any], *, shop: Path | None, out: Path | None) -> None:
    """``trialcut new``."""
    if drawing.suffix.lower() == STUDY_SUFFIX:
        raise UsageError(f"{drawing} is a study file already: give the drawing, or plan the study")
    path = out or drawing.with_suffix(STUDY_SUFFIX)
    text = services.new_study_file(
        drawing, study_options(choices), shop=services.load_shop(shop), folder=path.parent
    )
    services.write_new_file(path, text)
    console().print(f"{path}\nedit it, then: trialcut plan {path}", soft_wrap=True)


def show_command(
    drawing: Path,
    *,
    unit: o.UnitName | None,
    gap: str | None,
    print_in: o.UnitSystem | None,
    strict: bool,
) -> None:
    """``trialcut show``."""
    from trialcut.cli.study_view import show_drawing
    from trialcut.units import Kind, parse

    found = services.read_drawing(
        drawing, unit=unit, gap=None if gap is None else parse(gap, Kind.LENGTH), strict=strict
    )
    usual = "inch" if found.unit in ("in", "ft") else "metric"
    show_drawing(console(), found, system=SYSTEMS[print_in] if print_in is not None else usual)


def demo_command(out: Path, *, metric: bool) -> None:
    """``trialcut demo``."""
    from trialcut.cli.plan_view import show_papers, show_plan

    services.check_folder(out)
    study = services.demo_study(metric=metric)
    with progress_bar("planning") as progress:
        plan = services.plan_study(study, progress=progress)
    chosen = services.choose_option(plan, None)
    papers = services.issue_plan(study, plan, chosen, out)
    screen = console()
    show_plan(screen, study, plan, chosen)
    show_papers(screen, papers)


def serve_command(**choices: Any) -> None:
    """``trialcut serve``."""
    from trialcut.app import serve

    serve(**choices)


def shop_check_command(file: Path | None) -> None:
    """``trialcut shop check``."""
    from trialcut.cli.shop_view import show_shop

    show_shop(console(), services.load_shop(file))


def shop_new_command(out: Path) -> None:
    """``trialcut shop new``."""
    services.write_new_file(out, services.demo_shop_text())
    console().print(f"{out}\nput your own figures in, then: trialcut shop check {out}", soft_wrap=True)


def study_of(source: Path, choices: Mapping[str, Any], shop: Path | None) -> Study:
    """The study in a study file, or the one that a drawing and options make."""
    loaded = None if shop is None else services.load_shop(shop)
    if source.suffix.lower() != STUDY_SUFFIX:
        return services.study_from_options(
            source, study_options(choices), shop=loaded or services.load_shop()
        )
    if given := sorted(set(choices) - {"print_in"}):
        named = ", ".join(
            "--demand" if name == "demands" else f"--{name.replace('_', '-')}" for name in given
        )
        raise UsageError(
            f"{source.name} says what is asked and set up: change it there, and leave out {named}"
        )
    study = services.load_study(source, shop=loaded)
    return services.in_units(study, SYSTEMS[choices["print_in"]]) if "print_in" in choices else study


def shop_of(source: Path, shop: Path | None) -> services.Shop:
    """The shop that is named, by an option or by a study file; the demo shop otherwise."""
    named = shop is None and source.suffix.lower() == STUDY_SUFFIX
    return services.shop_of_study(source) if named else services.load_shop(shop)


def with_book(study: Study, place: str | None, *, no_book: bool) -> Study:
    """The study with what the book knows, unless nothing is to be taken from it."""
    book = book_of(study, place, no_book=no_book)
    if book is None:
        return study
    with book:
        return services.with_book(study, book)


def book_of(study: Study, place: str | None, *, no_book: bool) -> Book | None:
    """The book to use for a study, open; None where it needs or finds none, or none is wanted."""
    if no_book and place is not None:
        raise UsageError("--book and --no-book exclude each other: leave one out")
    if study.knowledge_file:
        if no_book or place is not None:
            services.refuse_book(study)
        return None
    return None if no_book else services.book_to_read(place)


def study_options(choices: Mapping[str, Any]) -> services.StudyOptions:
    """The options of a study as the services know them."""
    own = {"units": "drawing_unit", "print_in": "units"}
    given = {own.get(name, name): value for name, value in choices.items()}
    if "units" in given:
        given["units"] = SYSTEMS[given["units"]]
    return services.StudyOptions(**given)


def _speed(text: str) -> float:
    from trialcut.errors import QuantityError
    from trialcut.units import Kind, parse

    try:
        return parse(text, Kind.SPEED)
    except QuantityError as error:
        error.message = f"--speed: {error.message}"
        raise


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[str, float], None] | None]:
    """A bar on standard error while long work runs; nothing where it is not a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        console=Console(stderr=True, markup=False),
        transient=True,
    ) as bar:
        task = bar.add_task(what, total=1.0)
        yield lambda name, fraction: bar.update(task, description=name, completed=fraction)
