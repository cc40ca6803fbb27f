import pytest
from numpy.testing import assert_allclose

from trialcut.errors import QuantityError
from trialcut.units import parse_limits

INCH = 0.0254


@pytest.mark.parametrize(
    ("text", "nominal", "lower", "upper", "system"),
    [
        ("±0.005 in", None, -0.005 * INCH, 0.005 * INCH, "inch"),
        ("+/-0.005 in", None, -0.005 * INCH, 0.005 * INCH, "inch"),
        ("± 0,1 mm", None, -1e-4, 1e-4, "metric"),
        ("40 mm ±0.1", 0.04, -1e-4, 1e-4, "metric"),
        ("40 ±0.1 mm", 0.04, -1e-4, 1e-4, "metric"),
        ("1-1/4 ±1/64 in", 1.25 * INCH, -INCH / 64, INCH / 64, "inch"),
        ('1.250" ±.005"', 1.25 * INCH, -0.005 * INCH, 0.005 * INCH, "inch"),
        ("+0.1/-0 mm", None, 0.0, 1e-4, "metric"),
        ("+0.1 -0.05 mm", None, -5e-5, 1e-4, "metric"),
        ("0/+0.1 mm", None, 0.0, 1e-4, "metric"),
        ("-0.02/-0.05 mm", None, -5e-5, -2e-5, "metric"),
        ("1.250 +0.005/-0.000 in", 1.25 * INCH, 0.0, 0.005 * INCH, "inch"),
        ("40 mm -0.1", 0.04, -1e-4, 0.0, "metric"),
        ('0.005"', 0.005 * INCH, None, None, "inch"),
        ("1/2 in", 0.5 * INCH, None, None, "inch"),
    ],
)
def test_deviations_are_read_from_the_nominal_size(text, nominal, lower, upper, system):
    limits = parse_limits(text)
    assert not limits.absolute
    assert limits.system == system
    for value, expected in ((limits.nominal, nominal), (limits.lower, lower), (limits.upper, upper)):
        if expected is None:
            assert value is None
        else:
            assert_allclose(value, expected, rtol=1e-15)


@pytest.mark.parametrize(
    ("text", "lower", "upper"),
    [
        ("25.00/25.10 mm", 0.025, 0.0251),
        ("25.10/25.00 mm", 0.025, 0.0251),
        ("25.00 - 25.10 mm", 0.025, 0.0251),
        ("25 to 25.1 mm", 0.025, 0.0251),
        ("max 0.1 mm", None, 1e-4),
        ("0.1 mm max.", None, 1e-4),
        ("≤ 0.1 mm", None, 1e-4),
        ("min 5 mm", 0.005, None),
    ],
)
def test_limits_written_as_sizes_are_sizes_not_deviations(text, lower, upper):
    limits = parse_limits(text)
    assert limits.absolute
    assert limits.nominal is None
    assert (limits.lower, limits.upper) == (lower, upper)


@pytest.mark.parametrize(
    ("text", "nominal", "fit"),
    [("10 H11", 0.01, "H11"), ("Ø10 H11", 0.01, "H11"), ("25 mm h7", 0.025, "h7"), ("js6", None, "js6")],
)
def test_a_fit_is_in_millimetres_and_kept_as_written(text, nominal, fit):
    limits = parse_limits(text)
    assert (limits.nominal, limits.fit, limits.system) == (nominal, fit, "metric")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("±0.005", "'±0.005' has no unit: write '±0.005 in' or '±0.005 mm'"),
        ("40 ±0.1", "'40 ±0.1' has no unit: write '40 ±0.1 in' or '40 ±0.1 mm'"),
        ("±0 mm", "'±0 mm' leaves no room between the limits: nothing measures exactly that"),
        (
            "25/26 mm",
            "'25/26 mm' can be read two ways: "
            "write '25.0/26.0 mm' for two limits, or the fraction as a decimal",
        ),
        (
            "about right",
            "'about right' is no limits of size: "
            "write as '±0.005 in', '+0.1/-0 mm', '25.0/25.1 mm' or '10 H11'",
        ),
    ],
)
def test_what_is_no_limits_is_refused_in_one_line_with_the_remedy(text, message):
    with pytest.raises(QuantityError) as caught:
        parse_limits(text)
    assert str(caught.value) == message
