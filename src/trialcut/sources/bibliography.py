"""Who said it first, and where we read it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from trialcut.sources.files import read_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One entry of the bibliography.

    Parameters
    ----------
    id : str
        ``"zeng-kim-1993"``.
    authors, title, published : str
        As a reader would look it up.
    read : str
        ``"original"``, ``"abstract"``, ``"from memory"``, ``"own work"`` or ``"no source"``.
    """

    id: str
    authors: str
    title: str
    published: str
    read: str

    def __str__(self) -> str:
        return f"{self.authors}: {self.title}. {self.published} ({self.read})"


@cache
def bibliography() -> dict[str, Source]:
    """Return every source by its id."""
    return {key: Source(id=key, **entry) for key, entry in read_toml("bibliography.toml").items()}
