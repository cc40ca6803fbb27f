"""What a purchase would do, in sentences."""

from __future__ import annotations

from math import isfinite

from trialcut.planning.invest_results import Investment, Payback, PurchaseResult
from trialcut.units import Kind, format_odds, format_spread, format_value

CARRIES = 0.95
"""Share of a saving that the jobs which are named carry together. [-]"""


def year_sentence(found: Investment) -> str:
    """Say what the year costs today, and how much of the machine's time it takes."""
    money = format_spread(found.money.mean, found.money.sd, Kind.MONEY, "metric", unit=found.currency)
    hours = f"{found.time.mean / 3600.0:.0f} ± {found.time.sd / 3600.0:.0f} h of the machine"
    if found.hours is not None:
        hours += (
            f", {100.0 * found.time.mean / found.hours:.0f} % of the {found.hours / 3600.0:.0f} h there are"
        )
    return f"The year's mix costs {money} and takes {hours}."


def purchase_sentences(found: PurchaseResult, *, currency: str) -> tuple[str, ...]:
    """
    Say what a purchase saves, which jobs carry it, when it has paid, and what it makes possible.

    Parameters
    ----------
    found : PurchaseResult
        Weighed.
    currency : str
        ISO 4217 code.

    Returns
    -------
    tuple of str
        One or more.
    """
    carrying = [each for each in found.jobs if each.verdict == "saves"]
    if not carrying:
        told = [f"{_named(found.name)} saves nothing on this mix."]
    else:
        money = format_spread(found.money.mean, found.money.sd, Kind.MONEY, "metric", unit=currency)
        hours = found.time.mean / 3600.0
        moved = f"{hours:.0f} h of the machine" if abs(hours) >= 0.5 else "no time to speak of"
        told = [
            f"{_named(found.name)} saves {money} and {moved} a year; {_carried(found)}.",
            f"It costs {_amount(found.price, currency)}"
            + (f" and {_amount(found.upkeep, currency)} a year" if found.upkeep else "")
            + f": {payback_words(found.payback, life=found.life)}.",
        ]
    new = [each.name for each in found.jobs if each.verdict == "newly possible"]
    if new:
        told.append(f"It makes possible what is not held today: {', '.join(new)}.")
    return tuple(told)


def payback_words(found: Payback, *, life: float) -> str:
    """Say when a purchase has paid for itself, with the spread."""
    if not isfinite(found.middle) or found.middle > life:
        return (
            f"not paid back within its life of {life:g} years"
            f" (odds that it is: {format_odds(found.odds_within_life)})"
        )
    late = f"{_years(found.late)}" if isfinite(found.late) else "never"
    return f"paid back in {_years(found.middle)} years ({_years(found.early)} to {late})"


def _carried(found: PurchaseResult) -> str:
    named, share = [], 0.0
    for each in found.jobs:
        if share >= CARRIES or each.share <= 0.0:
            break
        named.append(f"{100.0 * each.share:.0f} % of it on {each.name}")
        share += each.share
    return ", ".join(named)


def _named(name: str) -> str:
    return name[:1].upper() + name[1:]


def _years(years: float) -> str:
    return f"{years:.1f}" if years < 10.0 else f"{years:.0f}"


def _amount(money: float, currency: str) -> str:
    return (
        f"{money:,.0f} {currency}"
        if money == round(money)
        else format_value(money, Kind.MONEY, "metric", unit=currency)
    )
