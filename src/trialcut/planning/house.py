"""How a shop's papers look: plain data that a study carries from the shop file to the papers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Logo:
    """A shop's logo, read once.

    Parameters
    ----------
    content : bytes
        Of the file.
    form : str
        ``"png"``, ``"jpg"`` or ``"svg"``.
    """

    content: bytes
    form: str


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """House style of a shop. Without anything in it, papers have Trialcut's plain frame.

    Parameters
    ----------
    name : str
        Over every paper.
    address, contact : tuple of str
        Lines beside it.
    logo : Logo or None
        Before the name.
    currency : str
        ``"code"`` for ``11.84 USD``, ``"symbol"`` for ``$11.84`` where the currency has a symbol.
    paper : str
        ``"A4"``, ``"letter"``, or empty: by the unit system.
    language : str
        Of the words of the papers, ``"en"``.
    terms : tuple of str
        The shop's own terms, paragraph by paragraph, under its offers.
    """

    name: str = ""
    address: tuple[str, ...] = ()
    contact: tuple[str, ...] = ()
    logo: Logo | None = None
    currency: str = "code"
    paper: str = ""
    language: str = "en"
    terms: tuple[str, ...] = ()
