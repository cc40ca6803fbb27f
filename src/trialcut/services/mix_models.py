"""The fields of a mix file, as written. Each is described in docs/invest.md."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from trialcut.services.quantities import Duration, Pressure, PriceEach, Rate
from trialcut.services.shop_models import Entry


class YearTable(Entry):
    """``[year]``: how much machine time there is, and what money costs."""

    hours: Duration | None = None
    rate: Rate | None = None


class JobTable(Entry):
    """``[job.NAME]``: one kind of work, as a study file, or a drawing with one sentence."""

    study: str | None = None
    drawing: str | None = None
    ask: str | None = None
    machine: str | None = None
    quantity: Annotated[int, Field(ge=1)] | None = None
    lots: Annotated[float, Field(gt=0.0, allow_inf_nan=False)]
    lots_sd: Annotated[float, Field(ge=0.0, allow_inf_nan=False)] = 0.0


class PurchaseTable(Entry):
    """``[purchase.NAME]``: what it costs, and what of the set-up it changes."""

    price: PriceEach
    life: Annotated[float, Field(gt=0.0, allow_inf_nan=False)] = 10.0
    upkeep: PriceEach | None = None
    machine: str | None = None
    pump: str | None = None
    head: str | None = None
    abrasive: str | None = None
    pressure: Pressure | None = None
    heads: Annotated[int, Field(ge=1, le=8)] = 1


class MixModel(Entry):
    """A whole mix file."""

    name: str | None = None
    shop: str | None = None
    year: YearTable = YearTable()
    job: Annotated[dict[str, JobTable], Field(min_length=1)]
    purchase: Annotated[dict[str, PurchaseTable], Field(min_length=1)]
