"""A shop on the terminal."""

from __future__ import annotations

from math import degrees, isfinite

from rich.console import Console
from rich.text import Text

from trialcut.cli.output import facts, heading, paragraph, put, table
from trialcut.planning.study import Prices
from trialcut.services import Shop
from trialcut.units import Kind, format_odds, format_value


def show_shop(out: Console, shop: Shop) -> None:
    """Everything in a shop file, after it has been found valid."""
    out.print(Text(f"{shop.name}: {shop.path or 'bundled'} is valid", style="bold"))
    heading(out, "Machines")
    put(
        out,
        table(
            ["", "cuts at\nup to", "accelerates", "jerk", "head"],
            [
                (
                    name,
                    format_value(machine.cut_speed_max, Kind.SPEED, "metric"),
                    format_value(machine.acceleration, Kind.ACCELERATION, "metric"),
                    format_value(machine.jerk, Kind.JERK, "metric")
                    if isfinite(machine.jerk)
                    else "not limited",
                    f"tilts to {degrees(machine.tilt_travel):.3g}°" if machine.can_tilt else "upright",
                )
                for name, machine in shop.machines.items()
            ],
        ),
    )
    heading(out, "Pumps")
    put(
        out,
        table(
            ["", "motor", "efficiency", "pressure"],
            [
                (
                    name,
                    format_value(pump.nameplate_power, Kind.POWER, "metric"),
                    f"{pump.efficiency:.2f}",
                    format_value(pump.pressure_max, Kind.PRESSURE, "metric"),
                )
                for name, pump in shop.pumps.items()
            ],
        ),
    )
    heading(out, "Heads")
    put(
        out,
        table(
            ["", "orifice", "tube bore"],
            [(name, _length(head.orifice), _length(head.tube_bore)) for name, head in shop.heads.items()],
        ),
    )
    heading(out, "Abrasives")
    put(
        out,
        table(
            ["", "median grain", "largest grain", "cutting power"],
            [
                (name, _length(each.grain_size), _length(each.grain_size_max), f"{each.cutting_power:g}")
                for name, each in shop.abrasives.items()
            ],
        ),
    )
    heading(out, "Gauges")
    put(
        out,
        table(
            ["", "measures", "standard\nuncertainty"],
            [
                (
                    name,
                    ", ".join(gauge.measures),
                    format_value(
                        gauge.standard_uncertainty,
                        Kind.LENGTH,
                        "metric",
                        unit="µm",
                        spread=gauge.standard_uncertainty,
                    ),
                )
                for name, gauge in shop.gauges.items()
            ],
            left=2,
        ),
    )
    heading(out, "Prices")
    put(out, facts(_prices(shop.prices)))
    heading(out, "Materials")
    paragraph(out, ", ".join(shop.materials))
    heading(out, "A study gets, unless it says otherwise")
    usual = shop.defaults
    put(
        out,
        facts(
            [
                ("machine", usual.machine),
                ("pump", usual.pump),
                ("head", usual.head),
                (
                    "abrasive",
                    f"{usual.abrasive}, {format_value(usual.abrasive_rate, Kind.MASS_FLOW, 'metric')}",
                ),
                ("pressure", format_value(usual.pressure, Kind.PRESSURE, "metric")),
                ("standoff", _length(usual.standoff)),
                ("gauge", usual.gauge),
                ("odds", format_odds(usual.odds)),
            ]
        ),
    )


def _prices(prices: Prices) -> list[tuple[str, str]]:
    def priced(value: float, kind: Kind, per: str = "") -> str:
        return format_value(value, kind, "metric", unit=f"{prices.currency}{per}")

    def lasting(value: float) -> str:
        return format_value(value, Kind.TIME, "metric", unit="h")

    def minutes(value: float) -> str:
        return format_value(value, Kind.TIME, "metric", unit="min")

    return [
        ("machine", priced(prices.machine, Kind.PRICE_PER_TIME, "/h")),
        ("water", priced(prices.water, Kind.PRICE_PER_VOLUME, "/m3")),
        ("abrasive", priced(prices.abrasive, Kind.PRICE_PER_MASS, "/kg")),
        ("energy", priced(prices.energy, Kind.PRICE_PER_ENERGY, "/kWh")),
        ("orifice", f"{priced(prices.orifice, Kind.MONEY)}, lasts {lasting(prices.orifice_life)}"),
        ("mixing tube", f"{priced(prices.tube, Kind.MONEY)}, lasts {lasting(prices.tube_life)}"),
        ("set-up", f"{minutes(prices.setup_time)}, once a lot"),
        ("handling", f"{minutes(prices.handling_time)}, once a piece"),
        ("first piece", f"{minutes(prices.measuring_time)} of measuring, once a lot"),
    ]


def _length(value: float) -> str:
    return f"{format_value(value, Kind.LENGTH, 'metric')} ({format_value(value, Kind.LENGTH, 'inch')})"
