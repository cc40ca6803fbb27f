"""The fields of a study file, as written. Each is described in docs/study-file.md."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from trialcut.services.quantities import Assurance, Length, MassFlow, Odds, Pressure, PriceEach
from trialcut.services.shop_models import Entry


class DrawingTable(Entry):
    """``[drawing]``: the file, and which part of it."""

    file: Annotated[str, Field(min_length=1)]
    part: str | None = None
    unit: Literal["mm", "in", "cm", "m", "ft"] | None = None
    gap: Length | None = None
    sha256: str | None = None


class StockTable(Entry):
    """``[stock]``: the plate."""

    material: str
    thickness: Length | None = None


class SetupTable(Entry):
    """``[setup]``: choices that differ from the shop's defaults."""

    machine: str | None = None
    pump: str | None = None
    head: str | None = None
    tube: str | None = None
    tube_bore: Length | None = None
    lot: str | None = None
    abrasive: str | None = None
    pressure: Pressure | None = None
    abrasive_rate: MassFlow | None = None
    standoff: Length | None = None
    gauge: str | None = None
    loops: bool | None = None


class DrawsTable(Entry):
    """``[draws]``: how the spread is worked out."""

    number: Annotated[int, Field(ge=64, le=65536)] = 2048
    seed: Annotated[int, Field(ge=0)] = 1


class StudyModel(Entry):
    """A whole study file."""

    name: str | None = None
    shop: str | None = None
    knowledge: Annotated[str, Field(min_length=1)] | None = None
    units: Literal["inch", "metric"] | None = None
    quantity: Annotated[int, Field(ge=1)] = 1
    odds: Odds | None = None
    buy_price: PriceEach | None = None
    guard: Assurance | None = None
    demands: tuple[str, ...] = ()
    drawing: DrawingTable
    stock: StockTable
    setup: SetupTable = SetupTable()
    draws: DrawsTable = DrawsTable()
