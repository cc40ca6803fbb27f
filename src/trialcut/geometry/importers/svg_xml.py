"""The elements of an SVG file, read by a parser that opens nothing else and expands nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from xml.parsers import expat

from trialcut.errors import DrawingError

SVG = "http://www.w3.org/2000/svg"
_DEPTH_LIMIT = 100
_ELEMENT_LIMIT = 1_000_000


@dataclass(slots=True)
class Element:
    """One element.

    Parameters
    ----------
    tag : str
        Without namespace; empty where the namespace is another's.
    attributes : dict
        Names without namespace; an attribute without one goes before one of the same name with one.
    children : list of Element
        In the order of the file.
    line : int
        Of the file.
    """

    tag: str
    attributes: dict[str, str]
    line: int
    children: list[Element] = field(default_factory=list)


class _Declared(Exception):  # noqa: N818, it carries no fault of ours
    """The file declares an entity."""


class _TooMuch(Exception):  # noqa: N818
    """The file is nested too deep, or holds too much."""


def read_elements(data: bytes, name: str) -> Element:
    """
    Read an SVG file.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Of the file, for messages.

    Returns
    -------
    Element
        The root.

    Raises
    ------
    DrawingError
        If it is no SVG, is damaged, declares entities, or is nested absurdly deep.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    stack: list[Element] = []
    root: list[Element] = []
    count = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal count
        count += 1
        if count > _ELEMENT_LIMIT or len(stack) >= _DEPTH_LIMIT:
            raise _TooMuch
        element = Element(_svg_name(tag), _plain(attributes), parser.CurrentLineNumber)
        (stack[-1].children if stack else root).append(element)
        stack.append(element)

    def end(_: str) -> None:
        stack.pop()

    def declared(*_: object) -> int:
        raise _Declared

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.EntityDeclHandler = declared
    parser.UnparsedEntityDeclHandler = declared
    parser.ExternalEntityRefHandler = declared
    try:
        parser.Parse(data, True)
    except _Declared:
        raise DrawingError(
            f"{name} line {parser.CurrentLineNumber} declares an entity, which is not read; "
            "save it as plain SVG",
            code="entity-declared",
        ) from None
    except _TooMuch:
        raise DrawingError(
            f"{name} holds more than {_ELEMENT_LIMIT:,} elements, or nests them over {_DEPTH_LIMIT} deep; "
            "flatten its groups",
            code="too-many-elements",
        ) from None
    except expat.ExpatError as error:
        raise DrawingError(
            f"{name} line {error.lineno} is no sound XML ({expat.ErrorString(error.code)}); "
            "export the drawing again",
            code="damaged-file",
        ) from None
    except (ValueError, LookupError, UnicodeError) as error:
        raise DrawingError(
            f"{name} cannot be read as text ({' '.join(str(error).split())[:80]}); save it as UTF-8",
            code="damaged-file",
        ) from None
    if root[0].tag != "svg":
        raise DrawingError(
            f"{name} is an XML file, but no SVG; export the drawing as DXF or SVG", code="not-svg"
        )
    return root[0]


def _svg_name(tag: str) -> str:
    space, _, name = tag.rpartition(" ")
    return name if space in ("", SVG) else ""


def _plain(attributes: dict[str, str]) -> dict[str, str]:
    plain = {key.rpartition(" ")[2]: value for key, value in attributes.items() if " " in key}
    return plain | {key: value for key, value in attributes.items() if " " not in key}
