"""The list of studies: what each is about, and what it waits for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from trialcut.app.answers import Answers
from trialcut.app.desk import Desk
from trialcut.records import Draft

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
        "cards": [card_of(draft) for draft in found.drafts],
        "total": found.total,
        "page": number,
        "pages": max(1, -(-found.total // PAGE)),
        "search": search,
        "aside": aside,
    }


def card_of(draft: Draft) -> Card:
    """A study as the list shows it."""
    answers = Answers.read(draft.answers)
    about = ", ".join(
        each
        for each in (
            answers.thickness and f"{answers.thickness} {answers.material}".strip(),
            answers.quantity and f"{answers.quantity} off",
        )
        if each
    )
    if not answers.demands:
        waits, section = "needs demands", "part"
    elif not (answers.thickness and answers.material):
        waits, section = "needs a plate", "part"
    else:
        waits, section = "ready to plan", "plan"
    return Card(draft=draft, about=about, waits=waits, section=section)
