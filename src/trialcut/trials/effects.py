"""What differs between sessions, tubes, lots, pieces and cuts, and what a form leaves unsaid.

Effects are small: each moves a reading in proportion, by the reading's answer to one of a few elementary
changes of the cut. Their sizes are known before any reading; a fit scales scatter and discrepancy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from trialcut.physics.cut import unfitted_separation_speed
from trialcut.physics.discrepancy import KNOTS, Discrepancy, hats
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.physics.separation import ZENG_KIM_1993
from trialcut.physics.wear import TUBE_WEAR
from trialcut.sources import constant_set
from trialcut.trials.predict import Predictor, ReadingTable
from trialcut.trials.types import FeatureKind, ReadingKind

THICKNESS_KNOTS: Array = np.log(np.array([3e-3, 4.5e-3, 6.7e-3, 10e-3, 15e-3, 22e-3, 33e-3, 50e-3]))
"""Logarithms of the thicknesses between which a discrepancy is passed on."""

BORE_SEPARATION = -ZENG_KIM_1993.tube_exponent * ZENG_KIM_1993.speed_exponent
"""Change of the logarithm of separation speed with that of the bore. [-]"""

TWO_EDGES = np.sqrt(0.5)
"""Scatter of the mean of two edges over that of one. [-]"""


class Change(StrEnum):
    """An elementary change of a cut."""

    TOP = "top"
    TAPER = "taper"
    BARREL = "barrel"
    SEPARATION = "separation"
    LAG = "lag"
    FINISH = "finish"
    PIERCE = "pierce"


STEP = {
    Change.TOP: 1e-6,
    Change.TAPER: 1e-6,
    Change.BARREL: 1e-6,
    Change.SEPARATION: 1e-3,
    Change.LAG: 1e-3,
    Change.FINISH: 1e-3,
    Change.PIERCE: 1e-3,
}
"""Step of each change when the answer to it is taken: metres, or of a logarithm."""


FINISH = ("finish_entry", "finish_gain")
"""Parameters that a change of the finish scales together."""


class Block(StrEnum):
    """Groups of effects, by what a fit may learn of their size."""

    KNOWN = "known"
    """Session, tube, lot: too few of them to say."""
    SCATTER = "scatter"
    """From piece to piece and edge to edge."""
    DISCREPANCY = "discrepancy"
    """Between form and wall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """One effect before its size is known.

    Parameters
    ----------
    label : str
        ``"session 2026-03-02a kerf"``.
    block : Block
        What may scale it.
    """

    label: str
    block: Block


@dataclass(frozen=True, kw_only=True)
class EffectTable:
    """Effects on a table of readings.

    Parameters
    ----------
    effects : tuple of Effect
        Q of them.
    share : array, shape (Q, N, C)
        Of each elementary change in each effect, at each reading.
    covariance : array, shape (Q, Q)
        Before any scaling.
    """

    effects: tuple[Effect, ...]
    share: Array
    covariance: Array

    @property
    def labels(self) -> tuple[str, ...]:
        """Label of every effect."""
        return tuple(each.label for each in self.effects)

    def block(self, block: Block) -> Array:
        """Covariance of one block, zero elsewhere, shape (Q, Q)."""
        inside = np.array([each.block is block for each in self.effects])
        return np.where(np.outer(inside, inside), self.covariance, 0.0)

    def matrix(self, answers: Array) -> Array:
        """Move of each reading by each effect, shape (N, Q), from answers of shape (N, C)."""
        return np.asarray(np.einsum("qnc,nc->nq", self.share, answers))


def answers(predictor: Predictor, parameters: Sequence[CutParameters]) -> Array:
    """
    Answer of every reading to every elementary change.

    Parameters
    ----------
    predictor : Predictor
        Of the readings.
    parameters : sequence of CutParameters
        One for each of its batches, each of one draw.

    Returns
    -------
    array, shape (N, C)
        Per metre, or per unit of a logarithm.
    """
    changed = [_changed(each) for each in parameters]
    readings, _ = predictor.evaluate(changed)
    steps = np.array([STEP[change] for change in Change])
    return np.asarray((readings[:, 1:] - readings[:, :1]) / steps)


def effect_table(table: ReadingTable, *, edge_scatter: float) -> EffectTable:
    """
    List the effects on a table of readings.

    Parameters
    ----------
    table : ReadingTable
        Readings beside their cuts.
    edge_scatter : float
        Standard deviation of one wall's position, that of the machine included. [m]

    Returns
    -------
    EffectTable
        Sessions, tubes, lots, pieces, edges, cuts and the discrepancy.
    """
    build = _Builder(table)
    size = {name: constant.value for name, constant in constant_set("effects").items()}
    scatter = {name: constant.value for name, constant in constant_set("process-scatter").items()}
    trial = [table.trial_of(int(row)) for row in table.row]
    coupon = [table.cuts[int(row)].coupon for row in table.row]
    cut = [f"{table.cuts[int(row)].coupon}/{table.cuts[int(row)].cut.id}" for row in table.row]
    session = [each.session for each in trial]
    build.groups("session {} kerf", session, Change.TOP, size["session_kerf"])
    build.groups("session {} separation", session, Change.SEPARATION, size["session_separation"])
    build.groups("session {} lag", session, Change.LAG, size["session_lag"])
    build.groups("session {} finish", session, Change.FINISH, size["session_finish"])
    build.groups("lot {}", [each.lot for each in trial], Change.SEPARATION, size["lot_separation"])
    build.tubes([each.tube for each in trial], size["tube_bore"])
    build.groups("piece {}", coupon, Change.TOP, scatter["piece_scatter"], block=Block.SCATTER)
    build.edges(cut, edge_scatter)
    build.groups("cut {} finish", cut, Change.FINISH, scatter["finish_scatter"])
    build.groups("cut {} lag", cut, Change.LAG, size["cut_lag"])
    build.discrepancy()
    return build.finished()


def tube_wear_label(tube: str) -> str:
    """Label of how much faster or slower than usual a tube wears."""
    return f"tube {tube} wear"


def tube_bore_label(tube: str) -> str:
    """Label of how much a tube's bore differs from what is marked on it."""
    return f"tube {tube} bore"


def wear_of_usual_tube(hours: float) -> float:
    """Growth of the bore of a tube that wears as usual. [m]

    Parameters
    ----------
    hours : float
        Jet-on time. [s]
    """
    return TUBE_WEAR.tube_growth * hours


def wear_log_sd() -> float:
    """Spread of the rate at which tubes wear, over the usual rate. [-]"""
    spread = constant_set("tube-wear")["tube_growth"].log_sd
    assert spread is not None
    return spread


def discrepancy_labels(change: Change) -> list[str]:
    """Labels of one discrepancy at its knots, speeds running fastest."""
    return [f"{change} discrepancy {t}.{s}" for t in range(THICKNESS_KNOTS.size) for s in range(KNOTS.size)]


def thickness_share(thickness: float) -> tuple[Array, float]:
    """
    Share of each thickness knot in the discrepancy of a plate.

    Parameters
    ----------
    thickness : float
        [m]

    Returns
    -------
    tuple of array and float
        Shares, shape (T,), and the part of the variance that no knot tells. [-]
    """
    length = constant_set("discrepancy")["thickness_length"].value
    knots = _kernel(THICKNESS_KNOTS, THICKNESS_KNOTS, length) + 1e-9 * np.eye(THICKNESS_KNOTS.size)
    here = _kernel(np.array([np.log(thickness)]), THICKNESS_KNOTS, length)[0]
    share = floats(np.linalg.solve(knots, here))
    return share, max(float(1.0 - share @ here), 0.0)


def speed_covariance() -> Array:
    """Correlation of a discrepancy between the speed knots, shape (K, K)."""
    return _kernel(KNOTS, KNOTS, constant_set("discrepancy")["speed_length"].value)


def discrepancy_covariance() -> Array:
    """Correlation of a discrepancy between all its knots, shape (T K, T K), speeds running fastest."""
    length = constant_set("discrepancy")["thickness_length"].value
    return np.asarray(
        np.kron(_kernel(THICKNESS_KNOTS, THICKNESS_KNOTS, length), speed_covariance()), dtype=np.float64
    )


def discrepancy_size(change: Change, half_bore: float) -> float:
    """Standard deviation of a discrepancy of one kind, for a tube of a half bore. [m]"""
    return constant_set("discrepancy")[f"{change}_discrepancy"].value * half_bore


def _kernel(a: Array, b: Array, length: float) -> Array:
    """Squared-exponential correlation."""
    return np.asarray(np.exp(-0.5 * ((a[:, np.newaxis] - b[np.newaxis, :]) / length) ** 2))


def _changed(parameters: CutParameters) -> CutParameters:
    """One draw as it is, and once more for each elementary change."""
    changes = list(Change)
    count = 1 + len(changes)

    def moved(value: object, change: Change) -> Array:
        column = np.full(count, float(np.ravel(floats(value))[0]))  # type: ignore[arg-type]
        column[1 + changes.index(change)] *= np.exp(STEP[change])
        return column

    def added(change: Change) -> Array:
        rows = np.zeros((KNOTS.size, count))
        rows[:, 1 + changes.index(change)] = STEP[change]
        return rows

    wide = {
        name: np.full(count, float(np.ravel(value)[0]))
        for name in parameters.__slots__
        if name not in ("discrepancy", "kerf_form") and np.size(value := getattr(parameters, name)) == 1
    }
    finish_entry, finish_gain = (moved(getattr(parameters, name), Change.FINISH) for name in FINISH)
    return replace(
        parameters,
        **wide  # type: ignore[arg-type]
        | {
            "separation_factor": moved(parameters.separation_factor, Change.SEPARATION),
            "lag_limit_angle": moved(parameters.lag_limit_angle, Change.LAG),
            "finish_entry": finish_entry,
            "finish_gain": finish_gain,
            "pierce_time": moved(parameters.pierce_time, Change.PIERCE),
        },
        discrepancy=Discrepancy(
            top=added(Change.TOP), taper=added(Change.TAPER), barrel=added(Change.BARREL)
        ),
    )


class _Builder:
    """Gathers effects: for each its share of every elementary change at every reading."""

    def __init__(self, table: ReadingTable) -> None:
        self.table = table
        self.count = len(table.readings)
        self.effects: list[Effect] = []
        self.shares: list[Array] = []
        self.blocks: list[Array] = []

    def add(self, label: str, share: Array, *, block: Block) -> None:
        self.effects.append(Effect(label=label, block=block))
        self.shares.append(share)

    def column(self, change: Change, where: Array | Sequence[bool]) -> Array:
        share = np.zeros((self.count, len(Change)))
        share[:, list(Change).index(change)] = where
        return share

    def groups(
        self, label: str, keys: Sequence[str], change: Change, size: float, *, block: Block = Block.KNOWN
    ) -> None:
        """Add one effect for each key, on the readings that have it."""
        for key in dict.fromkeys(keys):
            self.add(label.format(key), self.column(change, [each == key for each in keys]), block=block)
            self.blocks.append(np.array([[size**2]]))

    def tubes(self, tubes: Sequence[str], size: float) -> None:
        """Add bore and wear of every tube."""
        hours = np.array([self.table.trial_of(int(row)).tube_hours for row in self.table.row])
        bore = np.array([self.table.cuts[int(row)].setup.tube_bore for row in self.table.row])
        for tube in dict.fromkeys(tubes):
            here = np.array([each == tube for each in tubes], dtype=float)
            self._bore(tube_bore_label(tube), here, bore, size**2)
            self._bore(
                tube_wear_label(tube), here * wear_of_usual_tube(1.0) * hours, bore, wear_log_sd() ** 2
            )

    def _bore(self, label: str, moved: Array, bore: Array, variance: float) -> None:
        share = self.column(Change.TOP, 0.5 * moved) + self.column(
            Change.SEPARATION, BORE_SEPARATION * moved / bore
        )
        self.add(label, share, block=Block.KNOWN)
        self.blocks.append(np.array([[variance]]))

    def edges(self, cuts: Sequence[str], size: float) -> None:
        """Add the position of every wall; a width reads the mean of two."""
        rows = self.table.row
        two = np.array([self.table.cuts[int(row)].cut.feature is FeatureKind.WIDTH for row in rows])
        moved = np.array(
            [each.kind is ReadingKind.SIZE for each in self.table.readings], dtype=float
        ) * np.where(two, TWO_EDGES, 1.0)
        for cut in dict.fromkeys(cuts):
            here = moved * np.array([each == cut for each in cuts], dtype=float)
            if here.any():
                self.add(f"edge {cut}", self.column(Change.TOP, here), block=Block.SCATTER)
                self.blocks.append(np.array([[size**2]]))

    def discrepancy(self) -> None:
        """Add what the form leaves unsaid, at knots in speed and thickness."""
        rows = [self.table.cuts[int(row)] for row in self.table.row]
        log_ratio = np.array([np.log(row.cut.speed / unfitted_separation_speed(row.setup)) for row in rows])
        speed = hats(log_ratio)
        thickness = np.stack([thickness_share(row.setup.thickness)[0] for row in rows])
        at_knot = np.einsum("nt,ns->nts", thickness, speed).reshape(self.count, -1)
        half_bore = 0.5 * float(np.mean([row.setup.tube_bore for row in rows]))
        for change in (Change.TOP, Change.TAPER, Change.BARREL):
            for knot, label in enumerate(discrepancy_labels(change)):
                self.add(label, self.column(change, at_knot[:, knot]), block=Block.DISCREPANCY)
            self.blocks.append(discrepancy_size(change, half_bore) ** 2 * discrepancy_covariance())

    def finished(self) -> EffectTable:
        from scipy.linalg import block_diag  # noqa: PLC0415, slow to import

        return EffectTable(
            effects=tuple(self.effects),
            share=np.stack(self.shares),
            covariance=np.asarray(block_diag(*self.blocks)),
        )
