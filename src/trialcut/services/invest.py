"""The purchase question, from a file that says what a year brings and what could be bought."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from trialcut.errors import DataError, FileFormatError
from trialcut.planning.invest import Job, Purchase, Way, way_of, weigh
from trialcut.planning.invest_results import Investment
from trialcut.planning.study import Study
from trialcut.services.mix_models import JobTable, MixModel, PurchaseTable
from trialcut.services.places import FilePlace, Place, telling, validate
from trialcut.services.setup_fields import study_on
from trialcut.services.shop import Shop
from trialcut.services.shop_file import load_shop
from trialcut.services.study_file import load_study
from trialcut.services.study_options import StudyOptions, study_from_options
from trialcut.services.toml_lines import read_toml
from trialcut.units import Quantity

Progress = Callable[[str, float], None]
Knowing = Callable[[Study], Study]


@dataclass(frozen=True, kw_only=True)
class Mix:
    """A year's mix, resolved.

    Parameters
    ----------
    name : str
        For headings.
    model : MixModel
        As written.
    shop : Shop
        That all jobs are cut in.
    studies : mapping
        Job to its study, in the quantity of its lots.
    place : Place
        Of the file, for messages.
    """

    name: str
    model: MixModel
    shop: Shop
    studies: Mapping[str, Study]
    place: Place


def load_mix(path: Path | str, *, shop: Shop | None = None) -> Mix:
    """
    Read a mix file, and every study and drawing that it names.

    Parameters
    ----------
    path : Path or str
        The mix file. What it names is looked for from the folder it is in.
    shop : Shop, optional
        In place of the shop that the mix names; the bundled one where there is neither.

    Returns
    -------
    Mix
        Ready to be weighed.

    Raises
    ------
    DataError
        If a file is not there, or money is not in the shop's currency.
    FileFormatError
        If a file is not valid: names line, key, rule and remedy.
    """
    path = Path(path)
    text, content = read_toml(path, kind="mix file")
    place = FilePlace(path.name, text)
    model = validate(MixModel, content, place=place)
    if shop is None:
        shop = load_shop(path.parent / model.shop) if model.shop else load_shop()
    studies = {}
    for name, job in model.job.items():
        with telling(place, ("job", name)):
            studies[name] = _study(job, path.parent, shop)
    _check_purchases(model, shop, place)
    return Mix(name=model.name or path.stem, model=model, shop=shop, studies=studies, place=place)


def mix_of_studies(
    text: str, studies: Mapping[str, Study], *, lots: Mapping[str, float], shop: Shop, name: str
) -> Mix:
    """
    A year's mix of studies that are at hand, with purchases as a mix file writes them.

    Parameters
    ----------
    text : str
        Tables ``[purchase.NAME]``, and ``[year]`` if wished, as in a mix file.
    studies : mapping
        Job to its study.
    lots : mapping
        Job to its lots a year.
    shop : Shop
        That all are cut in.
    name : str
        For headings.

    Returns
    -------
    Mix
        Ready to be weighed.

    Raises
    ------
    FileFormatError
        If the text is not valid: names line, key, rule and remedy.
    DataError
        If money is not in the shop's currency.
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise FileFormatError(f"purchases: {error}: write them as in a mix file") from None
    content.pop("job", None)
    content["job"] = {job: {"drawing": job, "lots": lots[job]} for job in studies}
    place = FilePlace("purchases", text)
    model = validate(MixModel, content, place=place)
    _check_purchases(model, shop, place)
    return Mix(name=name, model=model, shop=shop, studies=studies, place=place)


def _check_purchases(model: MixModel, shop: Shop, place: Place) -> None:
    for name, purchase in model.purchase.items():
        with telling(place, ("purchase", name)):
            _money(purchase.price, shop)
            _money(purchase.upkeep, shop)
            _pieces(purchase, shop)


def weigh_purchases(
    mix: Mix, *, knowing: Knowing | None = None, progress: Progress | None = None
) -> Investment:
    """
    Plan every job as today and with each purchase, and weigh them.

    Parameters
    ----------
    mix : Mix
        From `load_mix`.
    knowing : callable, optional
        Gives a study what the shop's book knows for its set-up.
    progress : callable, optional
        Called with what is being done and the fraction done; it may raise to cancel.

    Returns
    -------
    Investment
        Shortest pay-back first.
    """
    total, done = len(mix.studies) * (1 + len(mix.model.purchase)), 0

    def planned(study: Study, what: str, heads: int = 1) -> Way:
        nonlocal done
        if progress is not None:
            progress(what, done / total)
        done += 1
        return way_of(knowing(study) if knowing else study, heads=heads)

    jobs = []
    for name, study in mix.studies.items():
        told = mix.model.job[name]
        today = planned(study, f"{name} as today")
        jobs.append(
            Job(name=name, lots=told.lots, lots_sd=told.lots_sd, quantity=study.quantity, today=today)
        )
    purchases = []
    for name, bought in mix.model.purchase.items():
        ways = tuple(
            planned(
                study_on(
                    study,
                    mix.shop,
                    machine=bought.machine,
                    pump=bought.pump,
                    head=bought.head,
                    abrasive=bought.abrasive,
                    pressure=bought.pressure,
                ),
                f"{job} with {name}",
                bought.heads,
            )
            for job, study in mix.studies.items()
        )
        purchases.append(
            Purchase(
                name=name,
                price=_money(bought.price, mix.shop),
                upkeep=_money(bought.upkeep, mix.shop),
                life=bought.life,
                ways=ways,
            )
        )
    year = mix.model.year
    return weigh(
        jobs,
        purchases,
        name=mix.name,
        currency=mix.shop.prices.currency,
        rate=year.rate,
        hours=year.hours,
    )


def _study(job: JobTable, folder: Path, shop: Shop) -> Study:
    if (job.study is None) == (job.drawing is None):
        raise DataError("names its part once: give 'study' with a study file, or 'drawing' with 'ask'")
    if job.study is not None:
        if job.ask is not None or job.machine is not None:
            raise DataError("'ask' and 'machine' go with 'drawing': a study file says them itself")
        study = load_study(folder / job.study, shop=shop)
    else:
        options = StudyOptions(ask=job.ask or "", machine=job.machine)
        study = study_from_options(folder / str(job.drawing), options, shop=shop)
    return study if job.quantity is None else replace(study, quantity=job.quantity)


def _money(amount: Quantity | None, shop: Shop) -> float:
    if amount is None:
        return 0.0
    if amount.currency != shop.prices.currency:
        raise DataError(
            f"'{amount.text}' is in {amount.currency}, and the shop counts in {shop.prices.currency}: "
            f"write it in {shop.prices.currency}"
        )
    return amount.value


def _pieces(purchase: PurchaseTable, shop: Shop) -> None:
    """See that what a purchase names is in the shop, and that it changes something."""
    shop.machine(purchase.machine)
    shop.pump(purchase.pump)
    shop.head(purchase.head)
    shop.abrasive(purchase.abrasive)
    changed = (purchase.machine, purchase.pump, purchase.head, purchase.abrasive, purchase.pressure)
    if purchase.heads == 1 and not any(changed):
        raise DataError("changes nothing: name a machine, pump, head, abrasive, pressure, or heads = 2")
