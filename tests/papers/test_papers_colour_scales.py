"""The colour scales against entries of the published tables that are not among our samples."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from trialcut.papers.scale import ValueScale, colour

# Entries of the 256-row tables of matplotlib 3.11 (viridis CC0, cividis CC BY 4.0), as 8-bit hex.
VIRIDIS = {
    0: "440154",
    7: "460b5e",
    52: "404588",
    98: "2b748e",
    127: "21908d",
    172: "38b977",
    203: "77d153",
    247: "eae51a",
    255: "fde725",
}
CIVIDIS = {
    0: "00224e",
    7: "002859",
    52: "36466c",
    98: "636670",
    127: "7c7b78",
    172: "a79d73",
    203: "c7b767",
    247: "f8df3c",
    255: "fee838",
}


def channels(code: str) -> list[int]:
    return [int(code[k : k + 2], 16) for k in (0, 2, 4)]


@pytest.mark.parametrize(("name", "table"), [("viridis", VIRIDIS), ("cividis", CIVIDIS)])
def test_a_scale_matches_its_published_table(name, table):
    # Two of 255 steps: straight lines between 33 samples leave up to 1.7 at the places tested here.
    for entry, code in table.items():
        ours = channels(colour(entry / 255, name=name).removeprefix("#"))
        assert_allclose(ours, channels(code), atol=2.0)


def test_a_scale_grows_lighter_all_the_way():
    def lightness(fraction):
        red, green, blue = channels(colour(fraction).removeprefix("#"))
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    steps = [lightness(k / 100) for k in range(101)]
    assert steps == sorted(steps)


def test_values_at_the_ends_of_a_scale_get_its_end_colours():
    scale = ValueScale.over([3.0, 9.0, 5.0])
    assert scale.fraction(3.0) == 0.0
    assert scale.fraction(9.0) == 1.0
    assert scale.light(3.0) == colour(0.0)
    assert scale.dark(9.0) == colour(1.0)


def test_equal_values_make_a_flat_scale_without_dividing_by_zero():
    scale = ValueScale.over([4.0, 4.0])
    assert scale.flat
    assert scale.fraction(4.0) == 0.5


def test_a_value_off_the_scale_takes_the_nearest_end():
    assert colour(-0.3) == colour(0.0)
    assert colour(1.7) == colour(1.0)
