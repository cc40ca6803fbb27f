"""What is sent to the browser to look at a part, against the as-cut part itself.

Both sides are ours: these tests hold that nothing is lost on the way, not that the forecast is right. The
areas of outlines are compared with a union of all that the jet sweeps, which is worked out in another way.
"""

from __future__ import annotations

import json
import re
import struct
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose, assert_array_equal
from numpy.typing import NDArray

from trialcut.app.application import STATIC
from trialcut.app.look.as_cut import MOST_VERTICES, CutLook, Looks, look_of, refuse_without_walls
from trialcut.app.look.key import deviation_key
from trialcut.app.look.outline import first_times, range_words, view_box, wall_numbers
from trialcut.app.look.playback import playback_of
from trialcut.app.look.solid_data import solid_octets
from trialcut.app.look.walls import common_times, section_picture, wall_sections
from trialcut.ascut.outlines import layer_outlines
from trialcut.errors import RangeError
from trialcut.papers.ascut_look import signed
from trialcut.papers.section_svg import section_of
from trialcut.planning.results import Forecast, Stance
from trialcut.planning.study import Study
from trialcut.services import forecast_study
from trialcut.services.demo import demo_study

SPEED = 2.0e-3
FLOAT32 = 6.0e-8
"""Half a unit in the last place of a 32-bit number, over the number."""


@pytest.fixture(scope="module")
def study() -> Study:
    return demo_study(metric=True)


@pytest.fixture(scope="module")
def forecast(study: Study) -> Forecast:
    return forecast_study(study, speed=SPEED, stance=Stance.UPRIGHT, offset="centred")


@pytest.fixture(scope="module")
def look(study: Study, forecast: Forecast) -> CutLook:
    return look_of(study, forecast)


Read = tuple[dict[str, Any], dict[str, NDArray[Any]]]


def read(octets: bytes) -> Read:
    """Head and arrays, read as the form is described."""
    version, length = struct.unpack_from("<II", octets, 4)
    assert (octets[:4], version) == (b"TCAC", 1)
    head = json.loads(octets[12 : 12 + length])
    base = 12 + length
    return head, {
        name: np.frombuffer(octets, "<" + each["type"], each["count"], base + each["at"])
        for name, each in head["arrays"].items()
    }


@pytest.fixture(scope="module")
def sent(look: CutLook) -> Read:
    return read(solid_octets(look, system="metric"))


def places(sent: Read) -> NDArray[np.float64]:
    head, arrays = sent
    layers = len(head["depth"])
    drawn = np.repeat(arrays["drawn"].astype(float).reshape(-1, 2), layers, axis=0)
    plane = drawn + head["shift_step"] * arrays["shift"].reshape(-1, 2) + head["middle"]
    height = head["thickness"] * (1.0 - np.array(head["depth"]))
    return np.column_stack((plane, np.tile(height, len(plane) // layers)))


def test_the_vertices_are_those_of_the_solid(look: CutLook, sent: Read) -> None:
    mesh = look.solid.mesh
    largest = float(np.abs(mesh.vertices).max())
    tolerance = 0.5 * sent[0]["shift_step"] + FLOAT32 * largest
    assert tolerance < 0.1e-6
    assert_allclose(places(sent), mesh.vertices, rtol=0.0, atol=tolerance)


def test_the_deviations_are_those_of_the_solid(look: CutLook, sent: Read) -> None:
    head, arrays = sent
    found = head["deviation_step"] * arrays["deviation"]
    step = 0.5 * head["deviation_step"]
    assert_allclose(found, look.solid.mesh.deviation, rtol=0.0, atol=step * (1.0 + 1e-9))
    assert_allclose(head["range"], [look.solid.mesh.deviation.min(), look.solid.mesh.deviation.max()])


def test_every_array_starts_at_a_multiple_of_four_octets(sent: Read, look: CutLook) -> None:
    octets = solid_octets(look, system="metric")
    (length,) = struct.unpack_from("<I", octets, 8)
    assert (12 + length) % 4 == 0
    assert [each["at"] % 4 for each in sent[0]["arrays"].values()] == [0] * 5
    assert len(octets) % 4 == 0


def test_faces_named_and_built_make_the_closed_solid(look: CutLook, sent: Read) -> None:
    head, arrays = sent
    layers, first, walls = len(head["depth"]), 0, []
    for ring in head["rings"]:
        count = ring["columns"]
        column, layer = (each.ravel() for each in np.indices((count, layers - 1)))
        here = first + column * layers + layer
        beside = first + (column + 1) % count * layers + layer
        walls += [np.column_stack((here, here + 1, beside + 1)), np.column_stack((here, beside + 1, beside))]
        first += count * layers
    faces = np.concatenate([*walls, arrays["caps"].reshape(-1, 3)])
    mesh = replace(look.solid.mesh, vertices=places(sent), faces=faces.astype(np.int64))
    assert mesh.closed
    # Half a step on every wall moves the volume by less than the wall's area times half a step.
    assert_allclose(mesh.volume, look.solid.mesh.volume, rtol=1e-6)


def test_edges_of_columns_are_named(look: CutLook, sent: Read) -> None:
    head, arrays = sent
    assert tuple(head["edges"]) == tuple(edge.id for edge in look.study.part.edges)
    assert_array_equal(arrays["edge"], np.concatenate([ring.edge for ring in look.solid.rings]))


@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0])
def test_an_outline_has_the_area_that_the_jet_leaves(look: CutLook, sent: Read, depth: float) -> None:
    head, _ = sent
    layer = head["depth"].index(depth)
    points = places(sent)[layer :: len(head["depth"]), :2]
    ends = np.cumsum([ring["columns"] for ring in head["rings"]])
    rings = np.split(points, ends[:-1])
    area = shapely.Polygon(rings[0], rings[1:]).area
    (swept,) = layer_outlines(
        look.study.part, look.cut.jet, look.cut.law, depths=[depth], thickness=head["thickness"]
    )
    # The sweep also knows what lies across a corner's normal; walls do not, and that is under 0.05 % here.
    assert_allclose(area, swept.pieces[0].area, rtol=5e-4)


def test_a_large_part_loses_layers_but_neither_face(look: CutLook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trialcut.app.look.as_cut.MOST_VERTICES", 3000)
    small = CutLook(look.study, look.forecast, look.part, look.cut).solid
    assert small.depth.size < look.solid.depth.size
    assert len(small.mesh.vertices) < len(look.solid.mesh.vertices) / 4.0
    assert_allclose(small.depth[[0, small.depth.size // 2, -1]], [0.0, 0.5, 1.0])
    assert_allclose(small.mesh.volume, look.solid.mesh.volume, rtol=1e-3)  # 0.01 mm on 1.2 m of wall, at most
    assert len(look.solid.mesh.vertices) < MOST_VERTICES


def test_the_clock_of_the_playback_is_the_forecasts(look: CutLook, forecast: Forecast) -> None:
    played = playback_of(look, system="metric")
    time = forecast.time
    assert_allclose(played["total"], time.total.mean, rtol=0.0, atol=0.5e-3)
    piercing = sum(run["cut"] - run["pierce"] for run in played["runs"])
    travel = sum(run["pierce"] - run["begin"] for run in played["runs"])
    cutting = sum(run["end"] - run["cut"] for run in played["runs"])
    rounded = 1e-3 * len(played["runs"])
    assert_allclose(piercing, time.piercing.mean, rtol=0.0, atol=rounded)
    assert_allclose(travel, time.traverse.mean, rtol=0.0, atol=rounded)
    assert_allclose(cutting, time.cutting.mean, rtol=0.0, atol=rounded)


def test_the_playback_keeps_order_and_speeds(look: CutLook, forecast: Forecast) -> None:
    played = playback_of(look, system="metric")
    assert [run["contour"] for run in played["runs"]] == [run.contour for run in forecast.path.runs]
    assert (np.diff(played["time"]) >= 0.0).all()
    assert max(played["speed"]) <= look.study.machine.cut_speed_max
    commanded = {edge.id: edge.speed for edge in forecast.edges}
    for place, edge in enumerate(played["edges"]):
        on_edge = np.array(played["speed"])[np.array(played["edge"]) == place]
        assert on_edge.max() <= commanded[edge] * (1.0 + 1e-6), edge


def test_between_two_samples_the_head_covers_the_way_at_its_speed(look: CutLook) -> None:
    played = playback_of(look, system="metric")
    columns = {name: np.array(played[name]) for name in ("time", "x", "y", "speed", "run")}
    same = np.diff(columns["run"]) == 0
    way = np.hypot(np.diff(columns["x"]), np.diff(columns["y"]))[same].sum()
    mean = 0.5 * (columns["speed"][1:] + columns["speed"][:-1])[same]
    covered = (mean * np.diff(columns["time"])[same]).sum() / played["pace"]
    # Samples are left out where the speed then errs by up to 0.5 % of the fastest.
    assert_allclose(covered, way, rtol=0.01)
    assert 1.0 <= played["pace"] < 1.1


def test_a_section_tells_the_numbers_of_the_forecast(look: CutLook, forecast: Forecast) -> None:
    for edge in ("A1", "B1", "D1"):
        asked = wall_sections(look, edge)[0]
        told = forecast.edge(edge)
        assert (asked.asked, asked.stance, asked.speed) == (True, told.stance, told.speed)
        for own, expected in (
            (asked.top, told.wall_top),
            (asked.middle, told.wall_middle),
            (asked.bottom, told.wall_bottom),
        ):
            assert_allclose(
                [own.mean, own.sd, own.p05, own.p95],
                [expected.mean, expected.sd, expected.p05, expected.p95],
                rtol=1e-12,
            )


def test_the_other_stance_is_what_a_forecast_of_it_says(study: Study, look: CutLook) -> None:
    other = forecast_study(study, speed=SPEED, stance=Stance.TILTED, offset="centred").edge("A1")
    upright, tilted = wall_sections(look, "A1")
    assert (tilted.stance, tilted.asked) == (Stance.TILTED, False)
    assert_allclose(
        [tilted.top.mean, tilted.bottom.mean], [other.wall_top.mean, other.wall_bottom.mean], rtol=1e-12
    )
    assert_allclose([tilted.low[0], tilted.high[0]], [other.wall_top.p05, other.wall_top.p95], rtol=1e-12)
    assert_allclose(
        [tilted.low[-1], tilted.high[-1]], [other.wall_bottom.p05, other.wall_bottom.p95], rtol=1e-12
    )
    assert abs(tilted.lean.mean) < 0.2 * abs(upright.lean.mean)


def test_a_head_that_cannot_tilt_has_one_section(study: Study) -> None:
    stiff = replace(study, machine=replace(study.machine, tilt_travel=0.0))
    upright = forecast_study(stiff, speed=SPEED, stance=Stance.UPRIGHT, offset="centred")
    assert not stiff.machine.can_tilt
    assert [each.stance for each in wall_sections(look_of(stiff, upright), "A1")] == [Stance.UPRIGHT]


def test_both_sections_are_drawn_to_one_scale_and_say_what_they_show(look: CutLook) -> None:
    sections = wall_sections(look, "A1")
    thickness = look.study.setup.thickness
    times = common_times(sections, thickness=thickness)
    pictures = [section_picture(each, thickness=thickness, times=times, system="inch") for each in sections]
    assert all(" in at the top" in str(picture) for picture in pictures)
    assert all("style=" not in picture for picture in pictures)
    bars = {str(picture).partition('class="wall-bar"')[2].partition("/>")[0] for picture in pictures}
    assert len(bars) == 1


def test_numbers_of_a_wall_are_the_fields(look: CutLook) -> None:
    field = look.cut.field
    rows = {row.edge: row for row in wall_numbers(look, system="metric")}
    assert list(rows) == list(field.edges)
    own = field.deviation[field.edge == field.edges.index("A1")]
    assert rows["A1"].least == f"{1e3 * own.min():+.3f} mm".replace("-", "−")
    assert rows["A1"].most == f"{1e3 * own.max():+.3f} mm"
    for edge in ("A1", "A3"):
        section = section_of(field, edge, 0.5).deviation
        told = [signed(float(section[layer]), "metric") for layer in (0, 12, 24)]
        assert [rows[edge].top, rows[edge].middle, rows[edge].bottom] == told
    _, _, least, most = range_words(look, system="metric")
    assert least == f"{1e3 * look.solid.mesh.deviation.min():+.3f} mm".replace("-", "−")
    assert most == f"{1e3 * look.solid.mesh.deviation.max():+.3f} mm"


def test_deviations_are_drawn_larger_within_the_slider(look: CutLook) -> None:
    assert 1 <= first_times(look) <= 50
    wide, high = map(float, view_box(look.study.part).split()[2:])
    assert wide > 120.0  # millimetres; the demo plate is 120 by 80
    assert high > 80.0


def test_the_key_has_both_ends_in_the_pages_unit(look: CutLook) -> None:
    for system, unit in (("metric", " mm"), ("inch", " in")):
        low, high, _, _ = range_words(look, system=system)
        key = str(deviation_key(look, system=system))
        assert low in key
        assert high in key
        assert low.endswith(unit)
        left, zero, right = (float(x) for x in re.findall(r'class="tc-tick" x1="([\d.]+)"', key))
        ends = [float(text.removesuffix(unit).replace("−", "-")) for text in (low, high)]
        # Printed to 0.001 mm or 0.0001 in, of about 0.2 mm, on a bar of 278 pixels.
        assert_allclose((zero - left) / (right - left), -ends[0] / (ends[1] - ends[0]), atol=0.02)


def test_a_look_is_worked_out_once(study: Study, forecast: Forecast) -> None:
    looks = Looks()
    assert looks.cut("a", study, forecast) is looks.cut("a", study, forecast)


def test_a_part_without_walls_is_refused_with_a_remedy(look: CutLook) -> None:
    field = replace(look.cut.field, deviation=np.full_like(look.cut.field.deviation, np.inf))
    nothing = CutLook(look.study, look.forecast, look.part, replace(look.cut, field=field))
    with pytest.raises(RangeError, match="cut slower"):
        refuse_without_walls(nothing)


def test_the_bundled_view_lies_beside_its_licence_and_asks_nobody_outside() -> None:
    vendor = STATIC / "vendor"
    (name,) = re.findall(r"\./vendor/(three-[\d.]+)\.min\.js", (STATIC / "solid.js").read_text("utf-8"))
    assert "MIT License" in (vendor / f"{name}.LICENSE").read_text("utf-8")
    bundle = (vendor / f"{name}.min.js").read_text("utf-8")
    assert len(bundle) < 600_000
    assert set(re.findall(r"https?://[\w.]+", bundle)) == {"http://www.w3.org"}  # the name of a namespace
    for module in ("look", "octets", "outline", "play", "solid"):
        assert (
            "http://www.w3.org" in (own := (STATIC / f"{module}.js").read_text("utf-8")) or "://" not in own
        )
