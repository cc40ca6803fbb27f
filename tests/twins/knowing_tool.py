"""A tool that knows its twin: with it, the bench must find that everything is as it says."""

from dataclasses import dataclass, replace

import numpy as np

from trialcut.planning.demands import DemandKind
from trialcut.planning.results import Spread, Stance
from trialcut.services import forecast_study
from trialcut.twins.oracle import Oracle
from trialcut.twins.physics import draw_twin
from trialcut.twins.walls import DEPTHS, conditions_of, inspection_of, path_curvature, planned_cuts, wall

DAYS, PIECES = 40, 8


@dataclass(frozen=True)
class Coupon:
    id: str
    thickness: float
    cuts: tuple
    cycle: object = None


@dataclass(frozen=True)
class Cut:
    id: str
    feature: str
    nominal: float
    speed: float
    tilt: float
    lead: float
    offset: float
    curvature: float
    length: float


@dataclass(frozen=True)
class Line:
    coupon: str
    cut: str
    kind: str
    depth: float | None
    gauge: str = "caliper"


LINES = tuple(Line("T1-1", cut, "size", depth) for cut in ("X", "H") for depth in (0.0, 0.5, 1.0))


def coupon(thickness, speed):
    common = {"speed": speed, "tilt": 0.0, "lead": 0.0, "offset": 0.55e-3}
    return Coupon(
        id="T1-1",
        thickness=thickness,
        cuts=(
            Cut(id="X", feature="width", nominal=40e-3, curvature=0.0, length=80e-3, **common),
            Cut(id="H", feature="opening", nominal=12e-3, curvature=-180.0, length=35e-3, **common),
        ),
    )


@dataclass(frozen=True)
class Knowing:
    shop: object
    readings: int
    coupons: int = 1
    doubts: int = 0
    refused: str = ""

    @property
    def twin(self):
        return draw_twin(self.shop.believed, self.shop.seed)

    def forecast(self, study, *, speed, stance):
        usual = forecast_study(study, speed=speed, stance=stance)
        cuts = planned_cuts(study, usual)
        sizes = iter(np.moveaxis(self._sizes(study, cuts), -2, 0))
        demands = []
        for each in usual.demands:
            if each.demand.kind is DemandKind.SIZE:
                top, middle, bottom = (Spread.of(values) for values in next(sizes).T[[0, 4, 8]])
                demands.append(replace(each, top=top, middle=middle, bottom=bottom))
            else:
                demands.append(each)
        return replace(usual, demands=tuple(demands))

    def _sizes(self, study, cuts):
        inspection = inspection_of(study)
        pieces = []
        for seed in range(DAYS):
            day = self.twin.session(start=0.0, seed=10_000 + seed)
            walls = np.stack(
                [
                    wall(
                        day,
                        conditions=conditions_of(cut, thickness=study.setup.thickness),
                        offset=cut.offset,
                        curvature=path_curvature(cut),
                        depths=DEPTHS,
                    )
                    for cut in cuts
                ]
            )
            pieces += [walls + day.wall_scatter(edges=len(cuts))[:, None] for _ in range(PIECES)]
        return inspection.sizes(np.array(pieces))

    def option(self):
        study = self.shop.study
        plan = Oracle(self.twin, study, believed=self.shop.believed, gauge=self.shop.gauge, seed=77).plan()
        usual = forecast_study(study, speed=plan.cuts[0].speed, stance="upright")
        edges = tuple(
            replace(
                edge,
                speed=cut.speed,
                tilt=cut.tilt,
                lead=cut.lead,
                stance=Stance.TILTED if cut.tilted else Stance.UPRIGHT,
                offset=cut.offset,
                wall_top=Spread(cut.aim, 0.0, cut.aim, cut.aim),
                wall_bottom=Spread(cut.aim, 0.0, cut.aim, cut.aim),
            )
            for edge, cut in zip(usual.edges, plan.cuts, strict=True)
        )
        return Chosen(
            forecast=replace(usual, edges=edges, joint_odds=plan.odds, joint_odds_corrected=plan.odds),
            first_piece=plan.first_piece,
            holds=plan.holds,
        )


@dataclass(frozen=True)
class Chosen:
    forecast: object
    first_piece: bool
    holds: bool


class KnowingTool:
    def learn(self, shop, day, *, folder):
        assert folder.is_dir()
        thickness = shop.study.setup.thickness
        day.cut([coupon(thickness, 1e-3)])
        noted = day.read(LINES)
        assert len(noted) == len(LINES)
        return Knowing(shop=shop, readings=len(noted))


class FailingTool:
    def learn(self, shop, day, *, folder):
        assert folder.is_dir(), shop.part
        day.read(LINES)
