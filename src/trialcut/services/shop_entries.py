"""A shop file as its entries with the remark beside each, and changing one of them in place."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from trialcut.errors import DataError, TrialcutError
from trialcut.services.bundled import bundled
from trialcut.services.shop_file import DEMO_SHOP, load_shop
from trialcut.services.toml_lines import Location, line_numbers, read_toml

LONGEST = 400
"""Longest new value. [character]"""
BEFORE = ".before"
"""Ending of the copy that a changed shop file leaves beside it."""

_ENTRY = re.compile(
    r"^(?P<key>\s*[^=]+?\s*=\s*)(?P<value>\"(?:[^\"\\]|\\.)*\"|'[^']*'|[^#\[{]*?|[\[{].*?[\]}])"
    r"(?P<gap>\s*)(?P<remark>#.*)?$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopEntry:
    """One field of a shop file.

    Parameters
    ----------
    location : tuple of str
        Its path: ``("machine", "north", "acceleration")``.
    value : str
        As written, a text without its quotes.
    remark : str
        What stands beside it: where it is from, what it means.
    text : bool
        Whether it is a text, as every quantity is.
    """

    location: Location
    value: str
    remark: str
    text: bool

    @property
    def name(self) -> str:
        """For people."""
        return self.location[-1].replace("_", " ")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopGroup:
    """A table of a shop file: one machine, one head, the prices.

    Parameters
    ----------
    kind, name : str
        ``"machine"`` and ``"north"``; the name is empty where there is one alone.
    remark : str
        What stands beside it.
    entries : tuple of ShopEntry
        Its fields.
    """

    kind: str
    name: str
    remark: str
    entries: tuple[ShopEntry, ...]


def shop_text(path: Path | None) -> str:
    """Text of a shop file; of the bundled demo shop if None."""
    return read_toml(bundled(DEMO_SHOP) if path is None else path, kind="shop file")[0]


def shop_groups(text: str) -> tuple[ShopGroup, ...]:
    """
    The tables of a shop file, in its order.

    Parameters
    ----------
    text : str
        Of a valid shop file.

    Returns
    -------
    tuple of ShopGroup
        Values that run over several lines are left to the file itself.
    """
    lines, places = text.splitlines(), line_numbers(text)
    groups: dict[Location, list[ShopEntry]] = {}
    remarks: dict[Location, str] = {}
    for location, number in places.items():
        line = lines[number - 1]
        if line.lstrip().startswith("["):
            remarks[location] = line.partition("#")[2].strip()
            groups.setdefault(location, [])
        elif found := _ENTRY.match(line):
            entry = ShopEntry(
                location=location,
                value=_plain(found["value"]),
                remark=(found["remark"] or "").lstrip("# ").strip(),
                text=found["value"][:1] in {'"', "'"},
            )
            groups.setdefault(location[:-1], []).append(entry)
    return tuple(_grouped(groups, remarks))


def _grouped(groups: dict[Location, list[ShopEntry]], remarks: dict[Location, str]) -> Iterator[ShopGroup]:
    for location, entries in groups.items():
        kind = location[0] if location else ""
        yield ShopGroup(
            kind=kind,
            name=", ".join(location[1:]),
            remark=remarks.get(location, ""),
            entries=tuple(entries),
        )


def change_entry(path: Path, location: Location, value: str, *, was: str) -> None:
    """
    Give one field of a shop file another value; the rest stays as it was written, remarks too.

    Parameters
    ----------
    path : Path
        The shop file. As it was, it is kept beside itself.
    location : tuple of str
        Of the field.
    value : str
        The new value, as written, a text without its quotes.
    was : str
        The value that it had when somebody decided to change it.

    Raises
    ------
    DataError
        If the field has another value by now, is not there, or runs over several lines.
    FileFormatError
        If the shop would not be valid with it; then the file is left alone.
    """
    text = shop_text(path)
    lines = text.splitlines()
    number = line_numbers(text).get(location)
    found = None if number is None else _ENTRY.match(lines[number - 1])
    if number is None or found is None or found["value"][:1] in {"[", "{"}:
        raise DataError(
            f"'{'.'.join(location)}' cannot be changed here: change it in {path.name} itself", code="no-entry"
        )
    if len(value) > LONGEST or any(ord(each) < ord(" ") for each in value):
        raise DataError(f"'{location[-1]}': a value is one line of up to {LONGEST} letters", code="bad-value")
    if _plain(found["value"]) != was:
        raise DataError(
            f"'{location[-1]}' was changed meanwhile, to '{_plain(found['value'])}': look again",
            code="conflict",
        )
    quoted = found["value"][:1] in {'"', "'"}
    written = json.dumps(value, ensure_ascii=False) if quoted else value.strip()
    lines[number - 1] = f"{found['key']}{written}{found['gap']}{found['remark'] or ''}"
    _replace(path, "\n".join(lines) + ("\n" if text.endswith("\n") else ""))


def _replace(path: Path, text: str) -> None:
    """Write a shop file that loads, and keep the one before; all or nothing."""
    trial = path.with_name(f".{path.stem}-{os.getpid()}{path.suffix}")
    try:
        trial.write_text(text, encoding="utf-8")
        load_shop(trial)
        kept = path.with_name(f"{path.stem}{BEFORE}{path.suffix}")
        kept.write_bytes(path.read_bytes())
        trial.replace(path)
    except TrialcutError as error:
        error.message = error.message.replace(trial.name, path.name)
        raise
    except OSError as error:
        raise DataError(
            f"{path.name} cannot be written: {error.strerror or error}", code="unwritable-file"
        ) from None
    finally:
        trial.unlink(missing_ok=True)


def _plain(written: str) -> str:
    if written[:1] == '"':
        return str(json.loads(written))
    return written.strip("'") if written[:1] == "'" else written.strip()
