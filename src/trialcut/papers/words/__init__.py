"""Every sentence of the papers, by key, in one file a language.

``en.toml`` is the language that exists; another is one more file with the same keys.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

LANGUAGE = "en"


@cache
def catalogue(language: str = LANGUAGE) -> dict[str, dict[str, str]]:
    """All words of a language: table, key, sentence."""
    text = (files(__name__) / f"{language}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def say(key: str, /, **values: object) -> str:
    """One sentence, ``"drawing.edge"``, with its values filled in; ``KeyError`` if there is none."""
    table, _, name = key.partition(".")
    return catalogue()[table][name].format(**values)


def say_all(table: str, /, **values: object) -> tuple[str, ...]:
    """All sentences of a table, in the order of the file."""
    return tuple(sentence.format(**values) for sentence in catalogue()[table].values())


def capital(text: str) -> str:
    """With a capital first letter."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """With a capital first letter and a full stop, unless it ends a sentence already."""
    text = capital(text.strip())
    return f"{text}." if text and text[-1] not in ".!?:" else text
