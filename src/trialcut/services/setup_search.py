"""The set-up as a variable: heads, pressures, abrasives, pumps and machines of the shop, for one enquiry."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import product

import numpy as np

from trialcut.errors import UsageError
from trialcut.physics.setup import Pump
from trialcut.planning.money import least_cost_abrasive_rate
from trialcut.planning.setup_choice import SetupTried, rank_setups
from trialcut.planning.study import Study
from trialcut.services.setup_fields import study_on
from trialcut.services.shop import Head, Shop

SHARES = (1.0, 0.9, 0.8, 0.7, 0.6)
"""Pressures that are tried, over the pump's largest."""
PRESSURE_STEP = {"inch": 1e3 * 6894.757293168, "metric": 5e6}
"""To which they are rounded down. [Pa]"""


class Free(StrEnum):
    """What of the set-up may be chosen."""

    ORIFICE = "orifice"
    TUBE = "tube"
    PRESSURE = "pressure"
    ABRASIVE = "abrasive"
    PUMP = "pump"
    MACHINE = "machine"


@dataclass(frozen=True, kw_only=True)
class SetupSearch:
    """What was tried.

    Parameters
    ----------
    free : tuple of Free
        What could be chosen.
    tried : tuple of SetupTried
        In order, the best first.
    """

    free: tuple[Free, ...]
    tried: tuple[SetupTried, ...]

    @property
    def best(self) -> Study:
        """The enquiry on the best set-up."""
        return self.tried[0].study


def free_of(text: str) -> tuple[Free, ...]:
    """
    Read what of the set-up may be chosen.

    Parameters
    ----------
    text : str
        Names with commas between: ``"orifice,tube,pressure"``.

    Raises
    ------
    UsageError
        If one is unknown.
    """
    names = [name.strip().lower() for name in text.split(",") if name.strip()]
    known = [each.value for each in Free]
    for name in names:
        if name not in known:
            raise UsageError(f"--free: '{name}' is not known: choose among {', '.join(known)}")
    if not names:
        raise UsageError(f"--free names nothing: choose among {', '.join(known)}")
    return tuple(Free(name) for name in dict.fromkeys(names))


def search_setups(
    study: Study,
    shop: Shop,
    *,
    free: Iterable[Free],
    knowing: Callable[[Study], Study] | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> SetupSearch:
    """
    Try every set-up of the shop that is free to choose.

    Parameters
    ----------
    study : Study
        The enquiry; what is not free stays as it is there.
    shop : Shop
        With the names of its set-up.
    free : iterable of Free
        What may be chosen. A head is an orifice with its tube; with one of them free the other stays.
    knowing : callable, optional
        Gives a study what the shop's book knows for its set-up.
    progress : callable, optional
        As for a plan; it may raise to cancel.

    Returns
    -------
    SetupSearch
        Ranked. Abrasive is fed in the same proportion to water as the study's own set-up feeds it; where the
        abrasive is free, at the rate of least cost for each length as well.
    """
    chosen = tuple(dict.fromkeys(free))
    variants = [knowing(each) if knowing else each for each in _variants(study, shop, frozenset(chosen))]
    return SetupSearch(free=chosen, tried=rank_setups(variants, progress=progress))


def _variants(study: Study, shop: Shop, free: frozenset[Free]) -> Iterator[Study]:
    """Yield the study on each set-up, whether it can run or not; on its own first."""
    yield study
    names, seen = study.setup_names, {_key(study)}
    machines = shop.machines.values() if Free.MACHINE in free else [shop.machine(names["machine"])]
    pumps = shop.pumps.values() if Free.PUMP in free else [shop.pump(names["pump"])]
    abrasives = shop.abrasives.values() if Free.ABRASIVE in free else [shop.abrasive(names["abrasive"])]
    heads = _heads(study, shop, free)
    for machine, pump, head, abrasive in product(machines, pumps, heads, abrasives):
        for pressure in _pressures(study, pump, free=Free.PRESSURE in free):
            found = study_on(
                study,
                shop,
                machine=machine.name,
                pump=pump.name,
                head=head.name,
                abrasive=abrasive.name,
                pressure=pressure,
            )
            rivals = [found]
            if Free.ABRASIVE in free:
                rate = least_cost_abrasive_rate(found)
                rivals.append(replace(found, setup=replace(found.setup, abrasive_rate=rate)))
            for each in rivals:
                if _key(each) not in seen:
                    seen.add(_key(each))
                    yield each


def _heads(study: Study, shop: Shop, free: frozenset[Free]) -> list[Head]:
    usual = shop.head(study.setup_names["head"])
    return [
        head
        for head in shop.heads.values()
        if (Free.ORIFICE in free or head.orifice == usual.orifice)
        and (Free.TUBE in free or head.tube_bore == usual.tube_bore)
    ]


def _pressures(study: Study, pump: Pump, *, free: bool) -> list[float]:
    if not free:
        return [study.setup.pressure]
    step = PRESSURE_STEP[study.system]
    tried = {step * float(np.floor(share * pump.pressure_max / step + 1e-9)) for share in SHARES}
    return sorted(tried, reverse=True)


def _key(study: Study) -> tuple[object, ...]:
    setup, names = study.setup, study.setup_names
    return (
        names["machine"],
        names["pump"],
        names["head"],
        names["abrasive"],
        round(setup.pressure),
        round(setup.abrasive_rate, 7),
    )
