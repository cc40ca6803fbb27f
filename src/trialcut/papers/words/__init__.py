"""Every sentence of the papers, by key, in one file a language.

``en.toml`` is complete. Another language is one more file beside it with the same keys; a sentence that it
lacks is said in English. What planning says, names of demands and notes among it, stays as planning says it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from trialcut.errors import DataError

LANGUAGE = "en"
HOME: Traversable = files(__name__)
"""Folder of the languages."""

_spoken: ContextVar[str] = ContextVar("spoken", default=LANGUAGE)


def languages() -> tuple[str, ...]:
    """Codes of the languages that exist."""
    return tuple(sorted(each.name[:-5] for each in HOME.iterdir() if each.name.endswith(".toml")))


@cache
def catalogue(language: str = LANGUAGE) -> dict[str, dict[str, str]]:
    """
    All words of a language: table, key, sentence, in the order of the English file.

    Parameters
    ----------
    language : str
        Code of one that exists.

    Returns
    -------
    dict
        What the language lacks is in English.

    Raises
    ------
    DataError
        If there is no such language.
    """
    if language not in languages():
        raise DataError(
            f"papers have no words in {language!r}: choose one of {', '.join(languages())}, or add a file",
            code="unknown-language",
            language=language,
        )
    own = tomllib.loads((HOME / f"{language}.toml").read_text(encoding="utf-8"))
    if language == LANGUAGE:
        return own
    return {
        table: {key: own.get(table, {}).get(key, text) for key, text in sentences.items()}
        for table, sentences in catalogue(LANGUAGE).items()
    }


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Within it, this thread's sentences are in a language; `DataError` if there is none such."""
    catalogue(language)
    before = _spoken.set(language)
    try:
        yield
    finally:
        _spoken.reset(before)


def language_of() -> str:
    """Code of the language spoken now."""
    return _spoken.get()


def say(key: str, /, **values: object) -> str:
    """One sentence, ``"drawing.edge"``, with its values filled in; ``KeyError`` if there is none."""
    table, _, name = key.partition(".")
    return catalogue(_spoken.get())[table][name].format(**values)


def say_all(table: str, /, **values: object) -> tuple[str, ...]:
    """All sentences of a table, in the order of the file."""
    return tuple(sentence.format(**values) for sentence in catalogue(_spoken.get())[table].values())


def capital(text: str) -> str:
    """With a capital first letter."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """With a capital first letter and a full stop, unless it ends a sentence already."""
    text = capital(text.strip())
    return f"{text}." if text and text[-1] not in ".!?:" else text
