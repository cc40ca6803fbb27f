"""Working days against numpy's business days."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from trialcut.planning.working_days import day_done, days_for


def test_the_last_day_is_numpys_business_day():
    for shift in range(14):
        start = date(2026, 11, 23) + timedelta(days=shift)
        for days in (1, 2, 3, 4, 5, 6, 7, 10, 11, 23, 260):
            wanted = np.busday_offset(np.datetime64(start), days - 1, roll="forward")
            assert day_done(start, days) == wanted.astype(date)


@pytest.mark.parametrize(
    ("hours", "days"), [(0.1, 1), (7.9, 1), (8.0, 1), (8.1, 2), (16.0, 2), (16.5, 3), (80.0, 10)]
)
def test_a_begun_day_counts_whole(hours, days):
    assert days_for(3600.0 * hours, 8 * 3600.0) == days


def test_a_time_that_fills_its_days_takes_no_other():
    # 24 h / 10 of 2.4 h each is not exact in binary.
    assert days_for(3 * 2.4 * 3600.0, 2.4 * 3600.0) == 3
