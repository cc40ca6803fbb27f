"""The built-in materials: names people use, densities, and their row of the machinability table."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

from trialcut.physics.setup import Material
from trialcut.services.bundled import bundled
from trialcut.sources import constant_set
from trialcut.units import Kind, parse


@dataclass(frozen=True, slots=True)
class BuiltIn:
    """A built-in material, and what else people call it."""

    material: Material
    also: tuple[str, ...]


@cache
def built_in_materials() -> dict[str, BuiltIn]:
    """Every built-in material by its name here."""
    text = bundled("materials.toml").read_text(encoding="utf-8")
    numbers = constant_set("machinability")
    return {
        name: BuiltIn(
            Material(
                name=name,
                machinability=numbers[entry["row"]].value,
                machinability_log_sd=numbers[entry["row"]].log_sd or 0.0,
                density=parse(entry["density"], Kind.DENSITY),
                brittle=entry.get("brittle", False),
            ),
            tuple(entry.get("also", ())),
        )
        for name, entry in tomllib.loads(text).items()
    }
