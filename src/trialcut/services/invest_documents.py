"""The purchase question as a versioned document."""

from __future__ import annotations

from dataclasses import asdict
from math import isfinite
from typing import Any, Literal

from pydantic import BaseModel, Field

from trialcut import __version__
from trialcut.planning.invest_results import Investment, Payback, PurchaseResult
from trialcut.planning.invest_words import purchase_sentences, year_sentence
from trialcut.services.document_block import Block
from trialcut.services.document_models import Uncertain


class JobTodayBlock(Block):
    """One job of the year as it is cut today."""

    name: str = Field(description="Of the job.")
    lots: float = Field(description="A year. [-]")
    quantity: int = Field(description="Pieces in a lot.")
    holds: bool = Field(description="Its demands are held with the odds asked for.")
    odds: float = Field(description="That a piece holds. [-]")
    money: Uncertain = Field(description="A year; zero where it does not hold. [currency]")
    time: Uncertain = Field(description="Machine time a year. [s]")
    scrap: Uncertain = Field(description="Pieces cut again, a year. [-]")


class JobGainBlock(Block):
    """What a purchase does for one job."""

    name: str = Field(description="Of the job.")
    money: Uncertain = Field(description="Saved a year. [currency]")
    time: Uncertain = Field(description="Machine time saved a year. [s]")
    scrap: Uncertain = Field(description="Pieces fewer that are cut again, a year. [-]")
    share: float = Field(description="Of the saving of all jobs. [-]")
    verdict: Literal["saves", "as today", "newly possible", "not possible"] = Field(
        description="What it comes to."
    )
    why: str = Field(description="What decides; empty for a plain saving.")


class PaybackBlock(Block):
    """After how many years it has paid for itself; null for never. [year]"""

    early: float | None = Field(description="Ten in a hundred are not later. [year]")
    middle: float | None = Field(description="Fifty in a hundred are not later. [year]")
    late: float | None = Field(description="Ninety in a hundred are not later. [year]")
    odds_within_life: float = Field(description="That it does within its life. [-]")


class PurchaseBlock(Block):
    """One purchase, weighed."""

    name: str = Field(description="As written.")
    price: float = Field(description="Once. [currency]")
    upkeep: float = Field(description="A year. [currency]")
    life: float = Field(description="[year]")
    money: Uncertain = Field(description="Saved a year, before upkeep. [currency]")
    time: Uncertain = Field(description="Machine time saved a year. [s]")
    scrap: Uncertain = Field(description="Pieces fewer that are cut again, a year. [-]")
    payback: PaybackBlock = Field(description="Upkeep taken off, without interest.")
    worth: Uncertain | None = Field(
        description="Net present value over its life; null without a rate. [currency]"
    )
    jobs: list[JobGainBlock] = Field(description="Largest saving first.")
    told: list[str] = Field(description="All of it in sentences.")


class InvestDocument(Block):
    """A year's mix, and what each purchase would change."""

    schema_: Literal["trialcut/invest/1"] = Field(alias="schema", description="Form and version.")
    version: str = Field(description="Of Trialcut.")
    name: str = Field(description="Of the mix.")
    currency: str = Field(description="ISO 4217 code.")
    jobs: list[JobTodayBlock] = Field(description="As they are cut today.")
    money: Uncertain = Field(description="Of all jobs that hold, a year. [currency]")
    time: Uncertain = Field(description="Machine time of all jobs that hold, a year. [s]")
    scrap: Uncertain = Field(description="Pieces cut again, a year. [-]")
    hours: float | None = Field(description="Machine time there is in a year; null if not said. [s]")
    told: str = Field(description="The year in a sentence.")
    purchases: list[PurchaseBlock] = Field(description="Shortest pay-back first.")


DOCUMENTS: dict[str, type[BaseModel]] = {"invest-1": InvestDocument}


def invest_document(found: Investment) -> dict[str, Any]:
    """
    A weighed mix as the document ``trialcut/invest/1``.

    Parameters
    ----------
    found : Investment
        From `weigh_purchases`.

    Returns
    -------
    dict
        Ready for `json.dumps`; checked against the document's form.
    """
    content = asdict(found) | {
        "schema": "trialcut/invest/1",
        "version": __version__,
        "told": year_sentence(found),
        "purchases": [_purchase(each, found.currency) for each in found.purchases],
    }
    return InvestDocument.model_validate(content).model_dump(by_alias=True)


def _purchase(found: PurchaseResult, currency: str) -> dict[str, Any]:
    return asdict(found) | {
        "payback": _payback(found.payback),
        "told": purchase_sentences(found, currency=currency),
    }


def _payback(found: Payback) -> dict[str, float | None]:
    return {name: value if isfinite(value) else None for name, value in asdict(found).items()}
