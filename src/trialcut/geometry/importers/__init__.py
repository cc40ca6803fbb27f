"""Drawing files to drawings. The one home of the DXF library within the geometry room."""

from trialcut.geometry.importers.dxf import read_dxf

__all__ = ["read_dxf"]
