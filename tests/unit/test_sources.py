"""Constants and notes as code receives them."""

import pytest

from trialcut.physics.registry import notes_beyond
from trialcut.sources import bibliography, constant_set, machinability, validity_ranges


def test_a_constant_carries_the_digits_as_printed():
    constant = constant_set("zeng-kim-1993")["pressure_exponent"]
    assert (constant.value, constant.printed, constant.source) == (1.594, "1.594", "zeng-kim-1993")


def test_an_entry_may_differ_from_its_set_in_source_and_flag():
    constants = constant_set("finish")
    assert (constants["finish_gain"].source, constants["finish_gain"].flag) == ("own-form", "O")
    assert (constants["rz_over_ra"].source, constants["rz_over_ra"].flag) == ("jmmp-2025-80", "P")


def test_an_unknown_set_is_a_lookup_error():
    with pytest.raises(KeyError, match="no-such-set"):
        constant_set("no-such-set")


def test_a_surer_machinability_number_is_drawn_narrower():
    numbers = machinability()
    assert numbers["mild steel"].log_sd < numbers["alumina AD 99.9"].log_sd


def test_a_source_reads_as_a_reference():
    assert str(bibliography()["zeng-kim-1993"]).endswith("(1993) 175-190 (from memory)")


def test_a_value_within_the_tested_range_has_no_note():
    low, high = validity_ranges("zeng-kim-1993")["thickness"]
    assert notes_beyond("separation_speed_zeng_1993", thickness=0.5 * (low + high)) == ()


def test_a_value_beyond_the_tested_range_is_named_with_the_range():
    (note,) = notes_beyond("separation_speed_zeng_1993", thickness=0.062)
    assert note.code == "beyond-thickness"
    assert note.message.startswith("thickness 62 mm is beyond the 50.8 mm tested for separation speed")
    assert note.source == "zeng-kim-1993"


def test_a_value_below_the_tested_range_is_named_too():
    (note,) = notes_beyond("separation_speed_zeng_1993", pressure=50e6)
    assert note.message.startswith("pressure 50 MPa is below the 100 MPa tested")
