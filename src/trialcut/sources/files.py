"""Reading the TOML files of this room, each once."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any


@cache
def read_toml(name: str) -> dict[str, Any]:
    """Content of one file of this room.

    Parameters
    ----------
    name : str
        File name relative to the room, ``"constants/water.toml"``.

    Returns
    -------
    dict
        As `tomllib` gives it; shared, so not to be changed.
    """
    return tomllib.loads((resources.files("trialcut.sources") / name).read_text(encoding="utf-8"))


@cache
def constant_tables() -> dict[str, dict[str, Any]]:
    """Every constant set of the room by its id.

    Returns
    -------
    dict
        Table id to table.

    Raises
    ------
    ValueError
        If two files give the same set.
    """
    tables: dict[str, dict[str, Any]] = {}
    folder = resources.files("trialcut.sources") / "constants"
    for path in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if not path.name.endswith(".toml"):
            continue
        for set_id, table in read_toml(f"constants/{path.name}").items():
            if set_id in tables:
                raise ValueError(f"constant set {set_id} is given twice, the second time in {path.name}")
            tables[set_id] = table
    return tables
