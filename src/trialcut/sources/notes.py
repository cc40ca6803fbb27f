"""The remark that travels with a result to the page and the paper."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Note:
    """Something a reader must know to use a result: an extrapolation, an assumption, a caution.

    Parameters
    ----------
    code : str
        Stable identifier, ``"beyond-thickness"``.
    message : str
        One sentence.
    source : str
        Bibliography id behind it, or empty.
    """

    code: str
    message: str
    source: str = ""
