"""What the writer of an offer chooses, from texts."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from trialcut.errors import DataError, QuantityError, UsageError
from trialcut.papers.offer_content import VALID_DAYS, OfferWishes
from trialcut.units import Kind, parse

QUANTITIES = (1, 10, 50, 200)
"""Lots that are priced unless others are named."""
_MOST_QUANTITIES = 12
_MOST_PIECES = 1_000_000
_MOST_DAYS = 3650
_MOST_MARGIN = 0.9
_DAY = 86_400.0
_MOST_TERMS = 20_000


def offer_quantities(text: str) -> tuple[int, ...]:
    """
    Sizes of lot from a text.

    Parameters
    ----------
    text : str
        Whole numbers with commas.

    Returns
    -------
    tuple of int
        Ascending.

    Raises
    ------
    UsageError
        If one is no number of pieces, one comes twice, or there are too many.
    """
    numbers = []
    for word in text.split(","):
        plain = word.strip()
        if not (plain.isascii() and plain.isdigit() and len(plain) <= 7 and 1 <= int(plain) <= _MOST_PIECES):
            raise UsageError(
                f"--quantities: '{plain}' is no number of pieces: write whole numbers from 1 to "
                f"{_MOST_PIECES} with commas, as 1,10,50"
            )
        if int(plain) in numbers:
            raise UsageError(f"--quantities: {plain} comes twice: name each lot once")
        numbers.append(int(plain))
    if len(numbers) > _MOST_QUANTITIES:
        raise UsageError(f"--quantities: {len(numbers)} lots are too many: at most {_MOST_QUANTITIES} fit")
    return tuple(sorted(numbers))


def offer_wishes(
    *,
    margin: str | None = None,
    dated: str | None = None,
    valid_days: int = VALID_DAYS,
    hours_per_day: str | None = None,
    start: str | None = None,
    terms: Path | None = None,
) -> OfferWishes:
    """
    What the writer of an offer chooses, from texts.

    Parameters
    ----------
    margin : str, optional
        Share of the price that is not cost, ``"25 %"`` or ``"0.25"``.
    dated, start : str, optional
        Date of the paper, and first day of the lot, ``"2026-11-25"``.
    valid_days : int
        Calendar days for which it stands.
    hours_per_day : str, optional
        Time of the machine in a working day, ``"8"`` or ``"7.5 h"``.
    terms : Path, optional
        Text file of terms; an empty line parts paragraphs.

    Returns
    -------
    OfferWishes
        Checked.

    Raises
    ------
    UsageError
        If one of them cannot be; one line with what to write.
    DataError
        If the file cannot be read.
    """
    first, day_one = read_date(dated, "--date"), read_date(start, "--start")
    if not 1 <= valid_days <= _MOST_DAYS:
        raise UsageError(f"--valid-days: {valid_days} is out of range: from 1 to {_MOST_DAYS} days")
    day = None if hours_per_day is None else _day(hours_per_day)
    if day_one is not None and day is None:
        raise UsageError("--start needs --hours-per-day: say how long the machine works for it in a day")
    if first is not None and day_one is not None and day_one < first:
        raise UsageError(f"--start {day_one} is before --date {first}: start on that day or later")
    return OfferWishes(
        margin=None if margin is None else _margin(margin),
        dated=first,
        valid_days=valid_days,
        day=day,
        start=day_one,
        terms=() if terms is None else _terms(terms),
    )


def read_date(text: str | None, name: str) -> date | None:
    """A day as ISO 8601 writes it, None for none; raises `UsageError` that names the option."""
    if text is None:
        return None
    try:
        found = date.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.isoformat() != text.strip() or not 2000 <= found.year <= 2999:
        raise UsageError(f"{name}: '{text}' is no date: write year, month and day, as 2026-01-31")
    return found


def _margin(text: str) -> float:
    try:
        margin = parse(text, Kind.PLAIN)
    except QuantityError as error:
        error.message = f"--margin: {error.message}"
        raise
    if not 0.0 <= margin <= _MOST_MARGIN:
        raise UsageError(
            f"--margin: '{text}' is no share of a price: it lies from 0 to {_MOST_MARGIN}, "
            "write '25 %' or 0.25"
        )
    return margin


def _day(text: str) -> float:
    try:
        plain = text.strip()
        day = 3600.0 * float(plain) if plain.replace(".", "", 1).isdecimal() else parse(plain, Kind.TIME)
    except QuantityError as error:
        error.message = f"--hours-per-day: {error.message}"
        raise
    if not 0.0 < day <= _DAY:
        raise UsageError(f"--hours-per-day: '{text}' is no working day: more than 0 and at most 24 hours")
    return day


def _terms(path: Path) -> tuple[str, ...]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise DataError(f"{path} is not text in UTF-8: save it so", code="terms-not-text") from None
    except OSError as error:
        raise DataError(
            f"cannot read the terms {path}: {error.strerror or error}", code="terms-unreadable"
        ) from None
    if len(text) > _MOST_TERMS:
        raise DataError(f"{path} has more than {_MOST_TERMS} letters: shorten it", code="terms-too-long")
    paragraphs = tuple(" ".join(each.split()) for each in text.replace("\r\n", "\n").split("\n\n"))
    return tuple(each for each in paragraphs if each)
