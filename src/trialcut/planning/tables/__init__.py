"""Tables of the standards that planning computes from, each a TOML file with where its values were read."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def read_table(name: str) -> dict[str, Any]:
    """Content of one table file.

    Parameters
    ----------
    name : str
        File name without ending, ``"iso-286-1"``.

    Returns
    -------
    dict
        As `tomllib` gives it; shared, so not to be changed.
    """
    path = resources.files("trialcut.planning.tables") / f"{name}.toml"
    return tomllib.loads(path.read_text(encoding="utf-8"))
