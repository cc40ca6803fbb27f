"""The list of studies: what each is about, and what it waits for."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.records import Draft, Job, JobState
from trialcut.units import Kind, format_odds, format_value

PAGE = 50
"""Studies on one page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One study in the list.

    Parameters
    ----------
    draft : Draft
        The study.
    about : str
        Plate, material and pieces, as written.
    waits : str
        What it waits for, in a few words.
    section : str
        Where to go on.
    """

    draft: Draft
    about: str
    waits: str
    section: str


def list_studies(desk: Desk, *, search: str, page: str, aside: bool) -> dict[str, Any]:
    """
    One page of studies, the one edited last first.

    Parameters
    ----------
    desk : Desk
        What the work is done on.
    search : str
        Words that title or answers hold; all studies if empty.
    page : str
        Its number, from 1; the first if it is none.
    aside : bool
        Those that were put aside.

    Returns
    -------
    dict
        ``cards``, ``total``, ``page``, ``pages``, ``search``, ``aside``.
    """
    number = int(page) if page.isascii() and page.isdecimal() and 0 < len(page) <= 6 and int(page) else 1
    found = desk.book.drafts.page(search=search, limit=PAGE, offset=PAGE * (number - 1), set_aside=aside)
    return {
        "cards": _cards(desk, found.drafts),
        "total": found.total,
        "page": number,
        "pages": max(1, -(-found.total // PAGE)),
        "search": search,
        "aside": aside,
    }


def _cards(desk: Desk, drafts: Sequence[Draft]) -> list[Card]:
    """Studies as the list shows them: two questions to the book for all of them."""
    plans = desk.book.jobs.of_drafts([draft.id for draft in drafts], kind="plan")
    waiting = desk.book.unread_trials()
    return [card_of(draft, plans.get(draft.id), waiting) for draft in drafts]


def card_of(draft: Draft, plan: Job | None, unread: Mapping[str, str]) -> Card:
    """
    A study as the list shows it.

    Parameters
    ----------
    draft : Draft
        The study.
    plan : Job or None
        Its newest plan.
    unread : mapping
        From the name of a study to a trial of it without readings.

    Returns
    -------
    Card
        What it waits for first of all.
    """
    answers = Answers.read(draft.answers)
    about = ", ".join(
        each
        for each in (
            answers.thickness and f"{answers.thickness} {answers.material}".strip(),
            answers.quantity and f"{answers.quantity} off",
        )
        if each
    )
    trial = unread.get(Path(draft.drawing_name).stem)
    waits, section = "ready to plan", "plan"
    if not answers.demands:
        waits, section = "needs demands", "part"
    elif not (answers.thickness and answers.material):
        waits, section = "needs a plate", "part"
    elif trial is not None:
        waits, section = f"needs readings of {trial}", "trials"
    elif plan is not None and plan.version == draft.version and plan.state is JobState.DONE:
        waits, section = _planned(plan)
    elif plan is not None and plan.version == draft.version and not plan.over:
        waits = f"being planned, {100.0 * plan.fraction:.0f} %"
    return Card(draft=draft, about=about, waits=waits, section=section)


def _planned(plan: Job) -> tuple[str, str]:
    """What a plan came to, and where to go on."""
    options = {each["name"]: each for each in json.loads(plan.result)["options"]}
    cheapest = options.get("cheapest") or next(iter(options.values()))
    cost = format_value(cheapest["each"], Kind.MONEY, "metric", unit=cheapest["currency"])
    if cheapest["holds"]:
        return f"ready to issue: {format_odds(cheapest['odds'])}, {cost} each", "papers"
    return f"does not hold: {format_odds(cheapest['odds'])}, {cost} each", "plan"
