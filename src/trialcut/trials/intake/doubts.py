"""Readings that a person should look at again, each with its likely cause. None is ever left out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite, nan

from trialcut.trials.intake.expect import Expectation, Expected, Key, expectation, expectations, key_of
from trialcut.trials.intake.finding import ReadingFinding
from trialcut.trials.intake.form import FormGauge
from trialcut.trials.intake.pairs import swapped_pairs
from trialcut.trials.intake.plain_doubts import duplicates, gauge_conflicts, ladders
from trialcut.trials.intake.slips import Slip, slips
from trialcut.trials.intake.telling import expected_text, told, value_text
from trialcut.trials.types import Reading, ReadingKind, Trial

FAR = 4.5
"""Standard deviations off what was expected from which on a reading is in doubt. [-]"""
PLAUSIBLE = 3.5
"""Within which a value explains it. [-]"""
MAY_BE_ZERO = frozenset((ReadingKind.LIGHT_GAP, ReadingKind.THROUGH))
MAY_BE_NEGATIVE = frozenset((ReadingKind.LAG,))
OTHER_FEATURE_COST = 0.5
"""As `slips.COSTS`."""


def doubts(
    readings: Sequence[Reading],
    *,
    trial: Trial,
    expected: Expected | None = None,
    gauges: Mapping[str, FormGauge] | None = None,
) -> tuple[ReadingFinding, ...]:
    """
    Findings on readings that are not likely to be what was on the piece.

    Parameters
    ----------
    readings : sequence of Reading
        Of one trial.
    trial : Trial
        With its coupons.
    expected : mapping of (coupon, cut, kind, depth) to (mean, sd), optional
        What each reading should be, from the forecast or the fit. Where it says nothing, the drawn size and
        wide working values stand in, which find only gross slips.
    gauges : mapping of name to FormGauge, optional
        Whose resolution and range the readings are held against.

    Returns
    -------
    tuple of ReadingFinding
        In the order of the readings.
    """
    about = expectations(readings, trial=trial, expected=expected)
    found: list[ReadingFinding] = [*duplicates(readings), *ladders(readings, trial=trial)]
    form = _Form(readings, trial, expected)
    explained: set[int] = set()
    for places, swapped in swapped_pairs(readings, about):
        # One slip on either side may look like a swap: it is named beside it.
        single = [form.far_off(place, one) for place in places if (one := about[place]) is not None]
        codes = [code for each in single if each for code in (each.code, *each.rivals) if code != "far-off"]
        found.append(replace(swapped, rivals=tuple(dict.fromkeys(codes))))
        explained.update(places)
    for place, (reading, one) in enumerate(zip(readings, about, strict=True)):
        finding = _impossible(place, reading, one)
        if finding is None and one is not None and place not in explained:
            finding = form.far_off(place, one)
        if finding is not None:
            found.append(finding)
    caused = {finding.reading for finding in found if finding.code != "far-off"}
    found += [each for each in gauge_conflicts(readings, gauges or {}) if each.reading not in caused]
    return tuple(sorted(found, key=lambda each: -1 if each.reading is None else each.reading))


def _impossible(place: int, reading: Reading, one: Expectation | None) -> ReadingFinding | None:
    value, kind = reading.value, reading.kind
    if isfinite(value) and (
        value > 0.0 or (value == 0.0 and kind in MAY_BE_ZERO) or (value < 0.0 and kind in MAY_BE_NEGATIVE)
    ):
        return None
    if kind is ReadingKind.LAG and value == 0.0:
        return None
    if isfinite(value) and value < 0.0 and (one is None or one.off(-value) <= FAR):
        return told(
            place,
            reading,
            code="impossible",
            problem="cannot be negative",
            cause="a minus sign was typed",
            instead=-value,
        )
    problem = "cannot be zero" if value == 0.0 else "cannot be negative" if value < 0.0 else "is no number"
    likely = sorted(_single_slips(reading, one), key=_cost) if one and isfinite(value) else []
    return told(
        place,
        reading,
        code="impossible",
        problem=problem,
        cause="nothing was read, or it was typed wrong",
        rivals=tuple(dict.fromkeys(each.slip.code for each in likely)),
    )


@dataclass(frozen=True, slots=True)
class _Likely:
    """A cause that would explain a reading: how unlikely it is, and the reading it leads to, if any."""

    cost: float
    slip: Slip
    other: int | None = None


def _cost(likely: _Likely) -> float:
    return likely.cost


def _single_slips(reading: Reading, one: Expectation) -> Iterator[_Likely]:
    """Yield slips of unit, decimal mark or digit that would explain a reading."""
    for slip in slips(reading):
        if (off := one.off(slip.value)) <= PLAUSIBLE:
            yield _Likely(slip.cost + 0.5 * off * off, slip)


class _Form:
    """All readings of a form, for what one says about another."""

    def __init__(self, readings: Sequence[Reading], trial: Trial, expected: Expected | None) -> None:
        self.readings, self.trial, self.expected = readings, trial, expected
        self.places: dict[Key, int] = {}
        for place, reading in enumerate(readings):
            self.places.setdefault(key_of(reading), place)

    def far_off(self, place: int, one: Expectation) -> ReadingFinding | None:
        """Return a finding on a reading that is far from what is expected."""
        reading = self.readings[place]
        if reading.kind is ReadingKind.THROUGH or abs(one.score(reading.value)) <= FAR:
            return None
        likely = sorted((*_single_slips(reading, one), *self._other_features(reading, one)), key=_cost)
        excused = abs(one.shifted(reading.value)) <= FAR
        if excused and not (likely and likely[0].slip.shared):
            return None
        problem = f"is far from the expected {expected_text(one, reading)}"
        if not likely:
            return told(
                place,
                reading,
                code="far-off",
                problem=problem,
                cause="no single slip explains it: the piece, the gauge or the set-up is not as thought",
            )
        best = likely[0]
        codes = dict.fromkeys(each.slip.code for each in likely)
        return told(
            place,
            reading,
            code=best.slip.code,
            problem=problem,
            cause=best.slip.cause,
            instead=best.slip.value if isfinite(best.slip.value) else None,
            text=best.slip.text,
            others=() if best.other is None else (best.other,),
            rivals=tuple(code for code in codes if code != best.slip.code),
        )

    def _other_features(self, reading: Reading, one: Expectation) -> Iterator[_Likely]:
        """Yield cuts of the same coupon that the value would suit."""
        if not reading.cut:
            return
        for cut in self.trial.coupon(reading.coupon).cuts:
            if cut.id == reading.cut:
                continue
            key = (reading.coupon, cut.id, reading.kind, reading.depth)
            there = expectation(key, reading, trial=self.trial, expected=self.expected)
            if there is None or abs(there.centre - one.centre) <= there.spread:
                continue
            off = there.score(reading.value)
            if abs(off) > PLAUSIBLE:
                continue
            place = self.places.get(key)
            value, text = nan, ""
            if place is not None and one.off(self.readings[place].value) <= PLAUSIBLE:
                value, text = self.readings[place].value, value_text(self.readings[place])
            slip = Slip(
                value,
                text,
                "other-feature",
                f"it was read on {cut.id}, not on {reading.cut}",
                OTHER_FEATURE_COST,
            )
            yield _Likely(OTHER_FEATURE_COST + 0.5 * off * off, slip, place)
