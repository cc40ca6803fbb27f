"""Telling what a logo is, and that it is whole, before any paper is set with it."""

from __future__ import annotations

import struct
import zlib
from xml.etree import ElementTree

from trialcut.planning.house import Logo

LARGEST_LOGO = 262144
"""[byte]"""
_PNG = b"\x89PNG\r\n\x1a\n"
_JPEG = b"\xff\xd8\xff"
_MOST_PIXELS = 16_000_000
_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
"""PNG colour types and their samples a pixel (ISO/IEC 15948)."""


def read_logo(content: bytes, *, largest: int = LARGEST_LOGO) -> tuple[Logo | None, str]:
    """
    A logo out of the bytes of a file, or what is wrong with it.

    Parameters
    ----------
    content : bytes
        Of a PNG, JPEG or SVG file.
    largest : int
        Size that is taken. [byte]

    Returns
    -------
    Logo or None
        None if it cannot be used.
    str
        Then why, to follow the file's name; empty otherwise.
    """
    if len(content) > largest:
        return (
            None,
            f"is {len(content) // 1024} KiB large: at most {largest // 1024} KiB, make it smaller",
        )
    if content.startswith(_PNG):
        form, wrong = "png", _wrong_png(content)
    elif content.startswith(_JPEG):
        form, wrong = "jpg", _wrong_jpeg(content)
    elif b"<svg" in content:
        form, wrong = "svg", _wrong_svg(content)
    else:
        return None, "is no PNG, JPEG or SVG picture: save it as one of them"
    return (None, wrong) if wrong else (Logo(content=content, form=form), "")


def _wrong_png(content: bytes) -> str:
    damaged = "is a damaged PNG: save it anew"
    place, pixels, ended = len(_PNG), zlib.decompressobj(), False
    wanted, found = -1, 0
    try:
        while place < len(content) and not ended:
            (length,) = struct.unpack_from(">I", content, place)
            kind, body = content[place + 4 : place + 8], content[place + 8 : place + 8 + length]
            (checksum,) = struct.unpack_from(">I", content, place + 8 + length)
            if checksum != zlib.crc32(kind + body):
                return damaged
            if kind == b"IHDR":
                width, height, depth, colour, _, _, interlaced = struct.unpack(">IIBBBBB", body)
                if width * height > _MOST_PIXELS:
                    return f"has {width} by {height} pixels: make it smaller"
                if not interlaced:
                    wanted = height * (1 + (width * depth * _CHANNELS[colour] + 7) // 8)
            elif kind == b"IDAT":
                found += len(pixels.decompress(body))
            ended = kind == b"IEND"
            place += 12 + length
    except (struct.error, zlib.error, KeyError):
        return damaged
    whole = ended and found > 0 and wanted in (-1, found)
    return "" if whole else damaged


def _wrong_jpeg(content: bytes) -> str:
    """Walk the segments up to the scan, which must end."""
    place = 2
    framed = False
    while place + 4 <= len(content) and content[place] == 0xFF:
        mark, length = content[place + 1], int.from_bytes(content[place + 2 : place + 4], "big")
        if 0xC0 <= mark <= 0xCF and mark not in (0xC4, 0xC8, 0xCC):
            framed = True
        if mark == 0xDA:
            return "" if framed and b"\xff\xd9" in content[-64:] else "is a damaged JPEG: save it anew"
        place += 2 + length
    return "is a damaged JPEG: save it anew"


def _wrong_svg(content: bytes) -> str:
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        return "is an SVG with a document type: save it as plain SVG"
    try:
        root = ElementTree.fromstring(content)
        content.decode("utf-8")
    except (ElementTree.ParseError, UnicodeDecodeError):
        return "is a damaged SVG: save it anew, in UTF-8"
    if root.tag not in ("svg", "{http://www.w3.org/2000/svg}svg"):
        return "is no SVG picture: save it as one"
    if not (root.get("viewBox") or (root.get("width") and root.get("height"))):
        return "is an SVG without a size: give it a viewBox"
    for node in root.iter():
        for name, value in node.attrib.items():
            if name.rpartition("}")[2] == "href" and not value.startswith(("#", "data:")):
                return "is an SVG that needs other files: embed them"
    return ""
