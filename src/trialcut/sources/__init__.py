"""Where every number from outside comes from: bibliography, constants, priors.

The files in this room are the only copy of each number. Code receives them as frozen dataclasses.
"""

from trialcut.sources.bibliography import Source, bibliography
from trialcut.sources.constants import Constant, constant_set, load, machinability, validity_ranges
from trialcut.sources.notes import Note

__all__ = [
    "Constant",
    "Note",
    "Source",
    "bibliography",
    "constant_set",
    "load",
    "machinability",
    "validity_ranges",
]
