"""DXF files that are the same bytes for the same content."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from typing import TYPE_CHECKING

from trialcut.units import System

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

METRES = {System.METRIC: 1e-3, System.INCH: 0.0254}
"""Unit of a file. [m]"""
_UNITS = {System.METRIC: 4, System.INCH: 1}


def new_document(system: System) -> Document:
    """Return an empty drawing of release 2010 in inches or millimetres, which its header states."""
    from ezdxf.filemanagement import new  # noqa: PLC0415  slow to import

    document = new("R2010", setup=False, units=_UNITS[system])
    document.header["$MEASUREMENT"] = int(system is System.METRIC)
    return document


def bytes_of(document: Document) -> bytes:
    """Return the text of a drawing; make it within `without_dates`."""
    stream = StringIO()
    document.write(stream)
    return stream.getvalue().encode("utf-8")


@contextmanager
def without_dates() -> Iterator[None]:
    """Keep dates and ids of its own out of a file."""
    from ezdxf._options import options  # noqa: PLC0415  slow to import

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
