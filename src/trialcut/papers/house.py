"""The house style on a paper: letterhead, paper size, money, and the id at its foot."""

from __future__ import annotations

import json
from base64 import b64encode
from dataclasses import asdict, dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from trialcut.papers.words import language_of, say
from trialcut.planning.house import House as House  # noqa: PLC0414, given on from here
from trialcut.planning.house import Logo
from trialcut.units import Kind, System, format_spread, format_value
from trialcut.units.table import minor_digits

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

PLAIN = House()
"""Trialcut's plain frame."""
PAPERS = {System.METRIC: "a4", System.INCH: "us-letter"}
"""Paper that a unit system is printed on."""
PAPER_NAMES = {"A4": "a4", "letter": "us-letter"}
"""How a shop file calls them."""
SYMBOLS = {"USD": "$", "EUR": "€", "GBP": "£", "JPY": "¥", "INR": "₹", "KRW": "₩"}
"""Symbols that stand before an amount, for currencies that have one of their own on the fonts here."""
_TYPES = {"png": "image/png", "jpg": "image/jpeg", "svg": "image/svg+xml"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """What stands over and under every paper of a shop.

    Parameters
    ----------
    name : str
        Of the shop; empty for the plain frame.
    address, contact : tuple of str
        Lines.
    logo : Logo or None
        Picture.
    paper_id : str
        The words before a paper's id.
    page : str
        Before page and number of pages: ``"Page {number} of {count}"``.
    language : str
        Of the words.
    """

    name: str
    address: tuple[str, ...]
    contact: tuple[str, ...]
    logo: Logo | None
    paper_id: str
    page: str
    language: str

    @property
    def plain(self) -> bool:
        """Nothing stands over the paper."""
        return not (self.name or self.address or self.contact or self.logo)

    @property
    def logo_address(self) -> str:
        """The logo inside a page, so that nothing is loaded; empty without one."""
        if self.logo is None:
            return ""
        return f"data:{_TYPES[self.logo.form]};base64,{b64encode(self.logo.content).decode('ascii')}"


def letterhead(house: House) -> Letterhead:
    """What stands over and under a paper, in the language spoken now."""
    return Letterhead(
        name=house.name,
        address=house.address,
        contact=house.contact,
        logo=house.logo,
        paper_id=say("sheet.id"),
        page=say("sheet.page_of", number="{number}", count="{count}"),
        language=language_of(),
    )


def paper_size(house: House, system: str, paper: str = "") -> str:
    """
    Name of the paper that typst knows.

    Parameters
    ----------
    house : House
        Whose paper it is.
    system : str
        ``"inch"`` or ``"metric"``, which decides where the house does not.
    paper : str
        ``"a4"`` or ``"us-letter"``, before both.

    Returns
    -------
    str
        ``"a4"`` or ``"us-letter"``.
    """
    return paper or PAPER_NAMES.get(house.paper, "") or PAPERS[System(system)]


def said(content: DataclassInstance) -> dict[str, Any]:
    """
    All that a paper says, as a template takes it, with the paper's id.

    Parameters
    ----------
    content : dataclass
        Of the paper.

    Returns
    -------
    dict
        Its fields, and under ``id`` the beginning of the SHA-256 of all of them: ``"3f2a9-1bc07"``. Two
        papers with one id say the same.
    """
    fields = asdict(content)
    text = json.dumps(fields, sort_keys=True, default=lambda raw: sha256(raw).hexdigest())
    digest = sha256(text.encode("utf-8")).hexdigest()
    return fields | {"id": f"{digest[:5]}-{digest[5:10]}"}


def currency_sign(house: House, currency: str) -> str:
    """What stands over a column of amounts: symbol or code."""
    return SYMBOLS.get(currency, currency) if house.currency == "symbol" else currency


def money(house: House, value: float, currency: str, *, spread: float | None = None) -> str:
    """
    An amount as the house writes it.

    Parameters
    ----------
    house : House
        Symbol or code.
    value : float
        Amount.
    currency : str
        ISO 4217 code.
    spread : float, optional
        Standard deviation that decides the digits.

    Returns
    -------
    str
        ``"11.84 USD"`` or ``"$11.84"``.
    """
    return _signed(house, format_value(value, Kind.MONEY, "metric", spread=spread, unit=currency), currency)


def money_spread(house: House, mean: float, sd: float, currency: str) -> str:
    """An amount with its standard deviation: ``"11.84 ± 0.42 USD"`` or ``"$11.84 ± 0.42"``."""
    return _signed(house, format_spread(mean, sd, Kind.MONEY, "metric", unit=currency), currency)


def amount(mean: float, sd: float, currency: str) -> str:
    """
    An amount in a column whose head carries the sign.

    Parameters
    ----------
    mean, sd : float
        Of the amount; less than half of the smallest coin is no spread. [currency]
    currency : str
        ISO 4217 code.

    Returns
    -------
    str
        ``"11.84 ± 0.42"``.
    """
    coin = 10.0 ** -minor_digits(currency)
    text = format_spread(mean, sd if sd >= 0.5 * coin else 0.0, Kind.MONEY, "metric", unit=currency)
    return text.removesuffix(f" {currency}")


def _signed(house: House, text: str, currency: str) -> str:
    sign = currency_sign(house, currency)
    if sign == currency:
        return text
    amount = text.removesuffix(f" {currency}")
    return f"−{sign}{amount[1:]}" if amount[:1] in "−-" else f"{sign}{amount}"
