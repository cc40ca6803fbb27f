"""A study as the text of a file to edit: TOML, with comments that say what may be changed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from trialcut.geometry.contours import Contour, ContourRole, EdgeKind
from trialcut.planning.study import Study
from trialcut.units import Kind, format_value


def study_text(content: Mapping[str, Any], study: Study) -> str:
    """
    Text of a study file.

    Parameters
    ----------
    content : mapping
        The fields that are stated.
    study : Study
        The same, resolved: gives the usual values of those that are not.

    Returns
    -------
    str
        TOML with comments.
    """
    return "\n".join(
        [
            "# A study: one part, what is asked of it, how it is set up. Edit, then: trialcut plan THIS_FILE",
            "# Every quantity is a text with its unit. All fields: docs/study-file.md",
            "",
            *_line("name", content["name"]),
            *_line("quantity", content["quantity"], "pieces in the lot"),
            *_line("odds", content["odds"], "with which all demands together shall hold"),
            *(_line("buy_price", content["buy_price"]) if "buy_price" in content else []),
            *(_line("guard", content["guard"]) if "guard" in content else []),
            *_line("units", content["units"], 'how results are printed: "inch" or "metric"'),
            *(_line("shop", content["shop"]) if "shop" in content else ['# shop = "shop.toml"']),
            "",
            "# What the drawing asks, a line each: what it is on, a colon, what is asked.",
            *_demands(content["demands"]),
            "#",
            *_what_there_is(study),
            "",
            "[drawing]",
            *(line for key, value in content["drawing"].items() for line in _line(key, value)),
            "",
            "[stock]",
            *(line for key, value in content["stock"].items() for line in _line(key, value)),
            "",
            "[setup]  # what is commented out is the shop's usual choice",
            *_setup(content["setup"], study),
            "",
        ]
    )


def _line(key: str, value: object, comment: str = "") -> list[str]:
    return [f"{key} = {_toml(value)}" + (f"  # {comment}" if comment else "")]


def _toml(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def _demands(demands: list[str]) -> list[str]:
    return ["demands = [", *(f"    {_toml(text)}," for text in demands), "]"]


def _what_there_is(study: Study) -> list[str]:
    return [
        "# Edges of the part:",
        *(f"#   {_contour(contour, study.system)}" for contour in study.part.contours),
    ]


def _contour(contour: Contour, system: str) -> str:
    role = "outline" if contour.role is ContourRole.OUTLINE else "opening"
    edges = []
    for edge in contour.edges:
        if edge.kind is EdgeKind.CIRCLE:
            measure = f"diameter {format_value(2.0 * edge.radius, Kind.LENGTH, system)}"
        elif edge.kind is EdgeKind.ARC:
            measure = f"radius {format_value(edge.radius, Kind.LENGTH, system)}"
        else:
            measure = format_value(edge.length, Kind.LENGTH, system)
        edges.append(f"{edge.id} {edge.kind.value} {measure}")
    return f"{contour.id}, {role}: {'; '.join(edges)}"


def _setup(chosen: Mapping[str, str], study: Study) -> list[str]:
    setup, names, system = study.setup, study.setup_names, study.system
    usual = {
        "machine": names["machine"],
        "pump": names["pump"],
        "head": names["head"],
        "tube_bore": format_value(setup.tube_bore, Kind.LENGTH, system),
        "abrasive": names["abrasive"],
        "pressure": format_value(setup.pressure, Kind.PRESSURE, system),
        "abrasive_rate": format_value(setup.abrasive_rate, Kind.MASS_FLOW, system),
        "standoff": format_value(setup.standoff, Kind.LENGTH, system),
        "gauge": names["gauge"],
    }
    return [
        f"{key} = {_toml(chosen[key])}" if key in chosen else f"# {key} = {_toml(value)}"
        for key, value in usual.items()
    ]
