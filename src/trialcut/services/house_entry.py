"""``[house]`` of a shop file: how its papers look."""

from __future__ import annotations

from pathlib import Path

from trialcut.papers.logo import read_logo
from trialcut.papers.words import languages
from trialcut.planning.house import House, Logo
from trialcut.services.shop_models import HouseTable

_LONGEST_LINE = 120
_MOST_LINES = 6


def house_style(entry: HouseTable, folder: Path) -> tuple[House, list[tuple[str, str]]]:
    """
    House style of a shop, and what is wrong with its table.

    Parameters
    ----------
    entry : HouseTable
        As written.
    folder : Path
        From which the logo is looked for.

    Returns
    -------
    House
        Usable if nothing is wrong.
    list of (str, str)
        Key and message.
    """
    wrong: list[tuple[str, str]] = []
    logo: Logo | None = None
    if entry.logo is not None:
        logo, problem = _logo(entry.logo, folder)
        if problem:
            wrong.append(("logo", problem))
    if entry.language not in languages():
        wrong.append(
            (
                "language",
                f"papers have no words in {entry.language!r}: choose one of {', '.join(languages())}",
            )
        )
    for key in ("address", "contact"):
        lines = getattr(entry, key)
        if len(lines) > _MOST_LINES or any(len(line) > _LONGEST_LINE or "\n" in line for line in lines):
            wrong.append((key, f"at most {_MOST_LINES} lines of {_LONGEST_LINE} letters fit over a paper"))
    if len(entry.name) > _LONGEST_LINE or "\n" in entry.name:
        wrong.append(("name", f"is too long: one line of at most {_LONGEST_LINE} letters"))
    return (
        House(
            name=entry.name,
            address=entry.address,
            contact=entry.contact,
            logo=logo,
            currency=entry.currency,
            paper=entry.paper or "",
            language=entry.language,
            terms=entry.terms,
        ),
        wrong,
    )


def _logo(name: str, folder: Path) -> tuple[Logo | None, str]:
    try:
        content = (folder / name).read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        return (
            None,
            f"{name} cannot be read ({reason}): put the picture next to the shop file, or leave it out",
        )
    logo, problem = read_logo(content)
    return logo, f"{name} {problem}" if problem else ""
