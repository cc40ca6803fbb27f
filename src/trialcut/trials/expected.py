"""What readings to expect: every reading of a trial under everything that is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

import numpy as np

from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters
from trialcut.trials.effects import TWO_EDGES
from trialcut.trials.knowledge import Knowledge
from trialcut.trials.predict import LOGARITHMIC, PER_WALL, Predictor, ReadingTable, reading_table
from trialcut.trials.types import Coupon, FeatureKind, Reading, ReadingKind, Trial

Key = tuple[str, str, ReadingKind, float | None]
"""Coupon, cut, kind and depth of a reading."""

UNREAD = datetime(1970, 1, 1, tzinfo=UTC)
FACES = (0.0, 1.0)


def predictive(table: ReadingTable, knowledge: Knowledge, *, count: int, seed: int) -> Array:
    """
    Draws of every reading, as it is fitted, with the chance of a piece but without the gauge's.

    Parameters
    ----------
    table : ReadingTable
        Readings beside their cuts; their values do not matter.
    knowledge : Knowledge
        What is known.
    count, seed : int
        Of the draws.

    Returns
    -------
    array, shape (N, D)
        In the units that readings are fitted in.
    """
    predictor = Predictor(table)
    parameters = [knowledge.draw(batch.setup, count=count, seed=seed) for batch in predictor.batches]
    drawn, _ = predictor.evaluate(parameters)
    return drawn + _chance(table, parameters, count=count, seed=seed)


def expected_readings(
    trial: Trial, keys: Sequence[Key], knowledge: Knowledge, *, count: int = 512, seed: int = 1
) -> Mapping[Key, tuple[float, float]]:
    """
    Mean and standard deviation of readings that a trial should give.

    Parameters
    ----------
    trial : Trial
        What is cut.
    keys : sequence of tuple
        Coupon, cut, kind and depth of each reading; through readings have no expectation and are left out.
    knowledge : Knowledge
        What is known.
    count, seed : int
        Of the draws.

    Returns
    -------
    dict
        Key to mean and standard deviation in SI.
    """
    wanted = [key for key in keys if key[2] is not ReadingKind.THROUGH]
    if not wanted:
        return {}
    table = reading_table([trial], [unread(key) for key in wanted])
    drawn = predictive(table, knowledge, count=count, seed=seed)
    logarithmic = np.array([key[2] in LOGARITHMIC for key in wanted])
    values = np.where(logarithmic[:, np.newaxis], np.exp(np.minimum(drawn, 50.0)), drawn)
    return {key: (float(row.mean()), float(row.std())) for key, row in zip(wanted, values, strict=True)}


def unread(key: Key) -> Reading:
    """Give a reading that has not been taken yet, of value one."""
    coupon, cut, kind, depth = key
    return Reading(
        id="",
        coupon=coupon,
        cut=cut,
        kind=kind,
        depth=depth,
        value=1.0,
        text="",
        gauge="",
        standard_uncertainty=0.0,
        who="",
        when=UNREAD,
    )


def usual_keys(coupon: Coupon) -> tuple[Key, ...]:
    """Give what is usually read off a coupon: sizes at faces and middle, and whether steps cut through."""
    keys: list[Key] = []
    for cut in coupon.cuts:
        if cut.feature is FeatureKind.STEP:
            keys.append((coupon.id, cut.id, ReadingKind.THROUGH, None))
        elif cut.feature is FeatureKind.SLOT:
            keys += [(coupon.id, cut.id, ReadingKind.KERF, depth) for depth in FACES]
        else:
            depths = (0.0, 0.5, 1.0) if cut.feature is FeatureKind.WIDTH else FACES
            keys += [(coupon.id, cut.id, ReadingKind.SIZE, depth) for depth in depths]
    return tuple(keys)


def _chance(table: ReadingTable, parameters: Sequence[CutParameters], *, count: int, seed: int) -> Array:
    """Scatter of piece and edges on sizes and kerfs, shape (N, D)."""
    chance = np.random.default_rng([seed, 7])
    pieces: dict[str, Array] = {}
    edges: dict[tuple[str, str], Array] = {}
    rows = np.zeros((len(table.readings), count))
    piece_sd, edge_sd = parameters[0].piece_scatter, parameters[0].edge_scatter
    for n, reading in enumerate(table.readings):
        cut = table.cuts[int(table.row[n])].cut
        if reading.kind not in (ReadingKind.SIZE, ReadingKind.KERF):
            continue
        if reading.coupon not in pieces:
            pieces[reading.coupon] = piece_sd * chance.standard_normal(count)
        share = 2.0 if reading.kind is ReadingKind.KERF else -PER_WALL[cut.feature]
        rows[n] = share * pieces[reading.coupon]
        if reading.kind is ReadingKind.SIZE:
            key = (reading.coupon, reading.cut)
            if key not in edges:
                edges[key] = edge_sd * chance.standard_normal(count)
            rows[n] += share * (TWO_EDGES if cut.feature is FeatureKind.WIDTH else 1.0) * edges[key]
    return floats(rows)
