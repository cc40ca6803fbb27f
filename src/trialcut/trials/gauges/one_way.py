"""One-way analysis of variance, kept accurate for values that agree in many leading digits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import fsum, sqrt

from trialcut.errors import DataError

Exact = float | Decimal | Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class OneWay:
    """Between and within groups.

    Parameters
    ----------
    mean : float
        Of all values.
    between_square, within_square : float
        Sums of squares, in the square of the values' unit.
    between_freedom, within_freedom : int
        Their degrees of freedom.
    """

    mean: float
    between_square: float
    within_square: float
    between_freedom: int
    within_freedom: int

    @property
    def between_mean_square(self) -> float:
        """Sum of squares between groups over its degrees of freedom."""
        return self.between_square / self.between_freedom

    @property
    def within_mean_square(self) -> float:
        """Sum of squares within groups over its degrees of freedom."""
        return self.within_square / self.within_freedom

    @property
    def f_ratio(self) -> float:
        """Mean square between over within. [-]"""
        return self.between_mean_square / self.within_mean_square

    @property
    def probability(self) -> float:
        """That groups which do not differ give an F ratio as large. [-]"""
        from scipy.special import fdtrc  # noqa: PLC0415 - heavy

        return float(fdtrc(self.between_freedom, self.within_freedom, self.f_ratio))

    @property
    def r_squared(self) -> float:
        """Share of the squares that lies between groups. [-]"""
        return self.between_square / (self.between_square + self.within_square)

    @property
    def within_sd(self) -> float:
        """Standard deviation within a group, in the values' unit."""
        return sqrt(self.within_mean_square)

    def between_variance(self, replicates: int) -> float:
        """Variance of the groups' true means, for equal groups; it may be below zero."""
        return (self.between_mean_square - self.within_mean_square) / replicates


def one_way_anova(groups: Sequence[Sequence[Exact]]) -> OneWay:
    """
    Analysis of variance of values in groups.

    Parameters
    ----------
    groups : sequence of sequence
        Values of each group, not all of one length perhaps. Decimals and fractions keep digits that a float
        has no room for.

    Returns
    -------
    OneWay
        Sums of squares and what follows from them.

    Raises
    ------
    DataError
        If there are fewer than two groups, an empty one, or no group with two values.

    Notes
    -----
    The first value is taken off all others before they are rounded to floats, which is exact for values near
    each other; then means, and squares about them, with correctly rounded sums.
    """
    if len(groups) < 2 or not all(groups):
        raise DataError(f"{len(groups)} groups, one perhaps empty: two or more with values are needed")
    freedom = sum(map(len, groups)) - len(groups)
    if freedom < 1:
        raise DataError("every group has a single value: repeat at least one to see the scatter within")
    origin = groups[0][0]
    shifted = [[float(value - origin) for value in group] for group in groups]  # type: ignore[operator]
    means = [fsum(group) / len(group) for group in shifted]
    grand = fsum(value for group in shifted for value in group) / sum(map(len, groups))
    return OneWay(
        mean=float(origin) + grand,
        between_square=fsum(
            len(group) * (mean - grand) ** 2 for group, mean in zip(shifted, means, strict=True)
        ),
        within_square=fsum(
            (value - mean) ** 2 for group, mean in zip(shifted, means, strict=True) for value in group
        ),
        between_freedom=len(groups) - 1,
        within_freedom=freedom,
    )


def one_way_from_summaries(*, means: Sequence[float], sds: Sequence[float], replicates: int) -> OneWay:
    """
    The same from the mean and the standard deviation of equal groups.

    Parameters
    ----------
    means, sds : sequence of float
        Of each group.
    replicates : int
        Values in every group, 2 or more.

    Returns
    -------
    OneWay
        Sums of squares and what follows from them.

    Raises
    ------
    DataError
        If there are fewer than two groups, or fewer than two values in each.
    """
    if len(means) < 2 or replicates < 2:
        raise DataError(f"{len(means)} groups of {replicates}: two or more groups of two or more are needed")
    shifted = [mean - means[0] for mean in means]
    grand = fsum(shifted) / len(shifted)
    return OneWay(
        mean=means[0] + grand,
        between_square=replicates * fsum((mean - grand) ** 2 for mean in shifted),
        within_square=(replicates - 1) * fsum(sd * sd for sd in sds),
        between_freedom=len(means) - 1,
        within_freedom=len(means) * (replicates - 1),
    )
