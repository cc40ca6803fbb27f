"""Drawing files to drawings. The one home of the DXF library within the geometry room."""

from trialcut.geometry.importers.dxf import read_dxf
from trialcut.geometry.importers.reading import SOLID_SUFFIXES, SUFFIXES, read_file
from trialcut.geometry.importers.svg import read_svg

__all__ = ["SOLID_SUFFIXES", "SUFFIXES", "read_dxf", "read_file", "read_svg"]
