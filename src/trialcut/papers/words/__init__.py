"""Every sentence of the papers, by key, in one file a language.

``en.toml`` is the language that exists; another is one more file with the same keys.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def catalogue(language: str = "en") -> dict[str, str]:
    """All words of a language, by dotted key."""
    text = (files(__name__) / f"{language}.toml").read_text(encoding="utf-8")
    return {
        f"{table}.{key}": sentence
        for table, sentences in tomllib.loads(text).items()
        for key, sentence in sentences.items()
    }


def say(key: str, /, **values: object) -> str:
    """One sentence with its values filled in; ``KeyError`` if there is none of that key."""
    return catalogue()[key].format(**values)
