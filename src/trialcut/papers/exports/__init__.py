"""The as-cut solid as files for other programs."""

from trialcut.papers.exports.stl import stl_bytes
from trialcut.papers.exports.three_mf import three_mf_bytes

__all__ = ["stl_bytes", "three_mf_bytes"]
