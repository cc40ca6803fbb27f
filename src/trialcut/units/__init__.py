"""Quantities: parse and print them, in inch and metric alike. Everything inside is SI."""

from trialcut.units.formatting import format_spread, format_value
from trialcut.units.kinds import Kind, Quantity, System
from trialcut.units.limits import Limits, parse_limits
from trialcut.units.odds import format_odds
from trialcut.units.parsing import parse, parse_with_system
from trialcut.units.roughness import Roughness, parse_roughness

__all__ = [
    "Kind",
    "Limits",
    "Quantity",
    "Roughness",
    "System",
    "format_odds",
    "format_spread",
    "format_value",
    "parse",
    "parse_limits",
    "parse_roughness",
    "parse_with_system",
]
