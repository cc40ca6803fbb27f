"""Templates, and how quantities are written in them."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context

from trialcut import __version__
from trialcut.app.figure import STYLE
from trialcut.app.outcomes import outcomes
from trialcut.app.person import person_of, proof_here
from trialcut.app.proof import with_proof
from trialcut.planning.demands import Demand, DemandKind
from trialcut.planning.results import Spread
from trialcut.units import Kind, format_odds, format_value

_HERE = Path(__file__).parent


@pass_context
def quantity(context: Context, value: float, kind: str, spread: float | None = None) -> str:
    """A value in the study's unit system."""
    return format_value(value, Kind(kind), context["system"], spread=spread)


@pass_context
def expected(context: Context, spread: Spread, kind: str) -> str:
    """Mean of an uncertain quantity, to the digits that its spread allows."""
    return format_value(spread.mean, Kind(kind), context["system"], spread=spread.sd)


@pass_context
def between(context: Context, spread: Spread, kind: str) -> str:
    """The range that nine in ten pieces fall in."""
    ends = [
        format_value(end, Kind(kind), context["system"], spread=spread.sd) for end in (spread.p05, spread.p95)
    ]
    unit = ends[0].rpartition(" ")[2]
    low = ends[0].removesuffix(f" {unit}") if ends[1].endswith(f" {unit}") and unit.isalpha() else ends[0]
    return f"{low} to {ends[1]}"


@pass_context
def limits(context: Context, demand: Demand) -> str:
    """The least and the largest value of a demand."""
    kind = Kind.ROUGHNESS if demand.kind is DemandKind.FINISH else Kind.LENGTH
    low, high = (
        None if limit is None else format_value(limit, kind, context["system"])
        for limit in (demand.lower, demand.upper)
    )
    if low and high:
        unit = high.rpartition(" ")[2]
        return f"{low.removesuffix(f' {unit}')} to {high}"
    return f"at most {high}" if high else f"at least {low}" if low else ""


def money(amount: float, currency: str) -> str:
    """An amount in its currency."""
    return format_value(amount, Kind.MONEY, "metric", unit=currency)


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        quantity=quantity,
        expected=expected,
        between=between,
        limits=limits,
        outcomes=outcomes,
        money=money,
        odds=format_odds,
    )
    made.globals.update(version=__version__, stamp=_stamp())
    return made


def _stamp() -> str:
    """Changes whenever a static file does, so that browsers fetch it anew."""
    digest = sha256(STYLE.encode())
    for path in sorted((_HERE / "static").glob("*.*")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:10]


ENVIRONMENT = _environment()


def text(template: str, context: dict[str, Any]) -> str:
    """A template, filled in."""
    return ENVIRONMENT.get_template(template).render({"system": "metric", **context})


def render(
    request: Request,
    template: str,
    context: dict[str, Any],
    *,
    status: int = 200,
    headers: dict[str, str] | None = None,
) -> HTMLResponse:
    """
    A template as an answer.

    Parameters
    ----------
    request : Request
        Gives the shop's name.
    template : str
        Its file.
    context : dict
        What it is filled in with.
    status : int
        HTTP status.
    headers : dict, optional
        Of the answer.

    Returns
    -------
    HTMLResponse
        The page, or the part of one.
    """
    shop = request.app.state.room.desk.shop
    proof = proof_here(request)
    page = text(template, {"shop": shop, "person": person_of(request), "csrf": proof, **context})
    return HTMLResponse(with_proof(page, proof), status_code=status, headers=headers)
