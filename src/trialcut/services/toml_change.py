"""Other values for single keys of a TOML text, with the rest of it as it was written."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from trialcut.services.toml_lines import Location, line_numbers

_VALUE = re.compile(r"^(?P<key>[^=]*=\s*)(?:\"(?:[^\"\\]|\\.)*\"|'[^']*')(?P<rest>\s*(?:#.*)?)$")
_PLAIN = re.compile(r"^[A-Za-z0-9_-]+$")


def with_values(text: str, values: Mapping[Location, str]) -> str:
    """
    A TOML text with other values for some of its keys.

    Parameters
    ----------
    text : str
        A TOML document.
    values : mapping
        Path of a key, one or two pieces long, to its new text.

    Returns
    -------
    str
        The same text where it says so already. Comments are kept, unless the document is written in a way
        that does not let a line be changed alone; then it is written anew.
    """
    before = tomllib.loads(text)
    wanted = _changed(before, values)
    if wanted == before:
        return text
    changed = _edited(text, before, values)
    try:
        if tomllib.loads(changed) == wanted:
            return changed
    except tomllib.TOMLDecodeError:
        pass
    return "\n".join(_table(wanted, ())) + "\n"


def _changed(content: Mapping[str, Any], values: Mapping[Location, str]) -> dict[str, Any]:
    changed = dict(content)
    for path, value in values.items():
        if len(path) == 1:
            changed[path[0]] = value
        else:
            changed[path[0]] = {**changed.get(path[0], {}), path[1]: value}
    return changed


def _edited(text: str, before: Mapping[str, Any], values: Mapping[Location, str]) -> str:
    lines, places = text.splitlines(), line_numbers(text)
    new: list[str] = []
    for path, value in values.items():
        held = before.get(path[0]) if len(path) == 1 else before.get(path[0], {}).get(path[1])
        if held == value:
            continue
        written = json.dumps(value, ensure_ascii=False)
        if held is None:
            if len(path) == 1:
                new.append(f"{path[0]} = {written}")
            continue
        if path in places:
            number = places[path] - 1
            if found := _VALUE.match(lines[number]):
                lines[number] = f"{found['key']}{written}{found['rest']}"
    return "\n".join([*new, *lines, ""])


def _table(content: Mapping[str, Any], path: Location) -> list[str]:
    inner = {key: value for key, value in content.items() if isinstance(value, dict)}
    lines = [f"{_key(key)} = {_value(value)}" for key, value in content.items() if key not in inner]
    for key, value in inner.items():
        here = (*path, key)
        lines += ["", f"[{'.'.join(map(_key, here))}]", *_table(value, here)]
    return lines


def _key(key: str) -> str:
    return key if _PLAIN.match(key) else json.dumps(key, ensure_ascii=False)


def _value(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, (str, bool)):
        return json.dumps(value, ensure_ascii=False)
    return str(value)
