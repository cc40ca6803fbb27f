"""The pages, without a browser: what each answers, and how it answers what it cannot use."""

from __future__ import annotations

import json
import re
import time
import tomllib
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from trialcut.app.paper_kinds import PAPERS

PLATE = {
    "thickness": "1/2 in",
    "material": "6061",
    "demands": "sizes ±0.010 in\npart: 250 uin",
    "quantity": "5",
}
PIECES = (
    *("part", "look", "edge", "part/demands", "part/sentence", "part/setup"),
    *("expect", "expect/try", "expect/look", "expect/edge", "plan", "plan/answer", "plan/expected", "papers"),
)

Drop = Callable[..., Any]


def planned(study: Any, **view: str) -> httpx.Response:
    """The plan, once it is worked out."""
    for _ in range(600):
        answer: httpx.Response = study.get("plan/answer", **view)
        if 'class="working"' not in answer.text:
            return answer
        time.sleep(0.1)
    raise AssertionError("the plan takes more than a minute")


def test_the_first_page_offers_a_drop_and_two_demos(client: httpx.Client) -> None:
    page = client.get("/").text
    assert 'type="file"' in page
    assert 'action="/demo/inch"' in page
    assert 'action="/demo/metric"' in page


@pytest.mark.parametrize(("system", "size"), [("inch", "1.5 × 0.9 in"), ("metric", "120 × 80 mm")])
def test_a_demo_opens_with_its_enquiry_filled_in(client: httpx.Client, system: str, size: str) -> None:
    answer = client.post(f"/demo/{system}")
    assert answer.status_code == 303
    page = client.get(answer.headers["location"])
    assert page.status_code == 200
    assert size in page.text
    assert re.search(r'id="material"[^>]*value="[^"]+"', page.text)


def test_each_drop_opens_a_study_of_its_own(drop: Drop, inch_plate: bytes) -> None:
    assert drop(inch_plate).address != drop(inch_plate).address


def test_several_drawings_dropped_together_open_a_study_each(client: httpx.Client, inch_plate: bytes) -> None:
    files = [("file", (f"together-{k}.dxf", inch_plate)) for k in range(3)]
    answer = client.post("/drawings", files=files)
    assert answer.headers["location"] == "/"
    found = client.get("/studies/rows", params={"search": "together-"}).text
    assert len(re.findall(r"<strong>together-\d</strong>", found)) == 3


def test_of_several_drawings_the_unreadable_are_told_and_the_others_opened(
    client: httpx.Client, inch_plate: bytes
) -> None:
    files = [("file", ("fine-one.dxf", inch_plate)), ("file", ("broken-one.dxf", b"garbage"))]
    answer = client.post("/drawings", files=files)
    assert answer.status_code == 422
    assert re.search(r'role="alert">[^<]*broken-one\.dxf', answer.text)
    assert "fine-one" in client.get("/studies/rows", params={"search": "fine-one"}).text


def test_the_sentence_dropped_with_a_drawing_is_filled_in(drop: Drop, inch_plate: bytes) -> None:
    page = drop(inch_plate, sentence="1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off").get("part").text
    assert re.search(r'id="thickness"[^>]*value="0.5 in"', page)
    assert re.search(r'id="material"[^>]*value="6061"', page)
    assert re.search(r'id="quantity"[^>]*value="50"', page)
    assert re.search(r'id="demands"[^>]*>sizes ±0.005 in\n125 µin</textarea>', page)


def test_a_sentence_that_cannot_be_read_stays_in_its_box(drop: Drop, inch_plate: bytes) -> None:
    page = drop(inch_plate, sentence="1/2 6061, sizes ±0.005, 5 off").get("part").text
    assert "1/2 6061, sizes ±0.005, 5 off" in page
    assert re.search(r'<p class="fault">[^<]*no unit', page)


def test_a_sentence_filled_in_later_adds_to_what_stands(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate).answer(demands="B: 10 H11")
    taken = study.client.post(
        f"{study.address}/take", data={"sentence": "12 mm 304, 3 off, part: square 0.1 mm"}
    )
    assert taken.status_code == 303
    page = study.get("part").text
    assert re.search(r'id="thickness"[^>]*value="12 mm"', page)
    assert re.search(r'id="demands"[^>]*>B: 10 H11\n[^<]*square 0.1 mm</textarea>', page)


def test_a_drawing_without_a_unit_is_shown_both_ways(drop: Drop, unitless_plate: bytes) -> None:
    study = drop(unitless_plate)
    page = study.get("part").text
    assert "4 × 2 in" in page
    assert "101.6 × 50.8 mm" in page
    assert "4 × 2 mm" in page
    assert study.get("plan").headers["location"] == f"{study.address}/part"
    study.client.post(
        f"{study.address}/answers", data={"base": "1", "unit": "in"}, headers={"Accept": "text/html"}
    )
    assert "4 × 2 in, 5 edges, 1 opening" in study.get("part").text


def test_of_several_parts_one_is_picked(drop: Drop, three_plates: bytes) -> None:
    page = drop(three_plates).answer(part="2").get("part").text
    assert "holds 3 parts" in page
    assert re.search(r'value="2"[^>]*checked', page)
    assert "Part 2 of plate.dxf" in page


def test_every_line_of_demands_is_read_by_itself(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate).answer(demands="B: 0.8 in ±0.005\npart: 0.005\nZ9: 10 H11")
    text = study.get("part/demands").text
    assert re.search(r'"good"><code>B: 0.8 in ±0.005</code> <span>opening B, diameter: 0.800 ±0.005 in', text)
    assert re.search(r'"bad"><code>part: 0.005</code> <span>[^<]*no unit', text)
    assert re.search(r'"bad"><code>Z9: 10 H11</code> <span>[^<]*no edge or opening Z9', text)


@pytest.mark.parametrize(
    ("answers", "field", "words"),
    [
        ({"thickness": "1/2 in", "material": "alumnium"}, "material", "did you mean"),
        ({"thickness": "3", "material": "6061"}, "thickness", "no unit"),
        ({"quantity": "none"}, "quantity", "no number of pieces"),
        ({"thickness": "1/2 in", "material": "6061", "guard": "95"}, "guard", "between"),
    ],
)
def test_a_fault_of_the_set_up_stands_beside_its_field(
    drop: Drop, inch_plate: bytes, answers: dict[str, str], field: str, words: str
) -> None:
    text = drop(inch_plate).answer(**answers).get("part/setup").text
    assert re.search(rf'id="fault-{field}"[^>]*>[^<]*{words}', text)
    assert "--" not in text


def test_a_plan_waits_for_what_is_missing_and_says_so(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate)
    assert "how thick is the plate" in study.get("plan/answer").text
    assert "made of" in study.answer(thickness="1/2 in").get("plan/answer").text
    assert "cannot be used" in study.answer(demands="A1: blue").get("plan/answer").text


def test_a_plan_shows_three_options_with_odds_time_and_cost(drop: Drop, inch_plate: bytes) -> None:
    answer = planned(drop(inch_plate).answer(**PLATE))
    assert answer.text.count('name="option"') == 3
    assert answer.text.count("<dt>as known now</dt>") == 3
    assert answer.text.count("<dt>first piece measured</dt>") == 3
    assert answer.text.count("lot of 5") == 3
    assert len(re.findall(r"<dd>[0-9.]+ EUR</dd>", answer.text)) == 6
    assert "tc-look" in answer.headers["hx-trigger-after-swap"]


def test_a_plan_says_why_and_what_is_in_conflict(drop: Drop, inch_plate: bytes) -> None:
    held = planned(drop(inch_plate).answer(**PLATE)).text
    assert "Why it is cut so" in held
    assert "What is in conflict" not in held
    asked = {**PLATE, "demands": "sizes ±0.0005 in"}
    missed = planned(drop(inch_plate).answer(**asked)).text
    assert "What is in conflict" in missed
    assert "Falls short" in missed


def test_after_a_plan_the_edges_are_painted_and_have_numbers(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate).answer(**PLATE)
    planned(study)
    for paint, title in (("speed", "Speed"), ("odds", "Odds"), ("finish", "Finish"), ("time", "Time")):
        picture = study.get("look", paint=paint, width="700").text
        assert "tc-painted" in picture
        assert title in picture
    edge = study.get("edge", edge="A1").text
    for name in ("speed", "separation speed", "kerf at top", "kerf at bottom", "taper per side", "lag"):
        assert f"<dt>{name}</dt>" in edge
    assert "Wall to expect" in edge
    assert "opening B, diameter" in study.get("plan/expected").text


def test_an_option_can_be_picked_by_address(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate).answer(**PLATE)
    planned(study)
    page = study.get("plan", option="accurate").text
    assert re.search(r'value="accurate" checked', page)
    assert not re.search(r'value="cheapest" checked', page)


def test_the_option_picked_is_kept_while_a_plan_is_worked_out_anew(drop: Drop, inch_plate: bytes) -> None:
    working = drop(inch_plate).answer(**PLATE | {"quantity": "41"}).get("plan/answer", option="accurate").text
    assert 'class="working"' in working
    assert re.search(r'<input type="hidden" name="option" form="study" value="accurate">', working)


def test_another_speed_gives_other_numbers(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate).answer(**PLATE)
    slow, fast = (
        study.get("expect/try", speed=speed, stance="upright").text for speed in ("5 ipm", "15 ipm")
    )
    bottoms = [re.search(r"kerf bottom</dt><dd>([0-9.]+) in", text) for text in (slow, fast)]
    assert bottoms[0] is not None
    assert bottoms[1] is not None
    assert float(bottoms[0][1]) > float(bottoms[1][1])


@pytest.mark.parametrize(
    ("machine", "view", "words"),
    [
        ("", {"speed": "5"}, "no unit"),
        ("", {"speed": "0 ipm"}, "greater than zero"),
        ("", {"speed": "90000 ipm"}, "more than machine"),
        ("", {"speed": "5 ipm", "stance": "sideways"}, "no stance"),
        ("south", {"speed": "5 ipm", "stance": "tilted"}, "no tilting head"),
    ],
)
def test_a_speed_that_cannot_be_tried_is_told(
    drop: Drop, inch_plate: bytes, machine: str, view: dict[str, str], words: str
) -> None:
    text = drop(inch_plate).answer(**PLATE, machine=machine).get("expect/try", **view).text
    assert re.search(rf'<p class="fault">[^<]*{words}', text)


@pytest.fixture(scope="module")
def bracket(drop: Drop, inch_plate: bytes) -> Any:
    """A study that is planned."""
    study = drop(inch_plate, name="bracket ü.dxf").answer(**PLATE)
    planned(study)
    return study


def test_every_paper_can_be_looked_at_and_taken_away(bracket: Any) -> None:
    page = bracket.get("papers").text
    names = re.findall(r'id="paper-(\w+)"', page)
    assert names == list(PAPERS)
    for name in names:
        shown = bracket.get(f"papers/{name}/look").text
        files = re.findall(r'href="[^"]*/papers/[^"]*/files/([^"?]+)', shown)
        assert files
        for file in files:
            taken = bracket.get(f"papers/{name}/files/{file}")
            assert taken.status_code == 200
            assert taken.headers["content-disposition"].startswith("attachment; ")
            if file.endswith(".pdf"):
                assert taken.content.startswith(b"%PDF-")
            if file.endswith("-plan.json"):
                assert json.loads(taken.text)["schema"] == "trialcut/plan/1"
            if file.endswith(".toml"):
                assert tomllib.loads(taken.text)["stock"]["thickness"] == "1/2 in"


def test_a_paper_within_a_page_runs_nothing_and_loads_nothing(bracket: Any) -> None:
    framed = bracket.get("papers/sheet/framed")
    policy = framed.headers["content-security-policy"]
    assert "sandbox" in policy
    assert "default-src 'none'" in policy
    assert "script" not in policy
    assert "Cut sheet" in framed.text


def test_issued_papers_are_kept_as_they_are(bracket: Any) -> None:
    issued = bracket.client.post(f"{bracket.address}/papers/issue", data={"kind": ["sheet", "inspection"]})
    assert issued.status_code == 303
    page = bracket.get("papers").text
    links = re.findall(r'href="([^"]*/papers/issued/(P\d+)/([^"]+))"', page)
    assert {name.rpartition(".")[2] for _, _, name in links} == {"pdf", "html", "svg", "csv"}
    kept = {name: bracket.client.get(link).content for link, _, name in links}
    sheet = next(name for name in kept if name.endswith("cheapest.pdf"))
    assert kept[sheet] == bracket.get(f"papers/sheet/files/{sheet}").content
    form = next(content for name, content in kept.items() if name.endswith(".csv"))
    assert b"coupon,cut,what" in form


def test_what_was_issued_stays_with_a_study_that_is_given_another_name(drop: Drop, inch_plate: bytes) -> None:
    study = drop(inch_plate, name="named once.dxf").answer(**PLATE)
    planned(study)
    study.client.post(f"{study.address}/papers/issue", data={"kind": ["plan"]})
    study.answer(title="Named twice")
    page = study.get("papers").text
    assert "Named twice" in page
    assert re.search(r"/papers/issued/P\d+/named once-plan\.json", page)


def test_nothing_ticked_is_told(bracket: Any) -> None:
    told = bracket.client.post(f"{bracket.address}/papers/issue", data={})
    assert "tick the papers" in told.text


@pytest.mark.parametrize(
    "path", ["papers/invoice/look", "papers/sheet/files/other.pdf", "papers/plan/framed"]
)
def test_a_paper_that_there_is_not_is_told(bracket: Any, path: str) -> None:
    answer = bracket.get(path)
    assert answer.status_code == 404
    assert re.search("there is no (paper|file)|has no page", answer.text)


def test_papers_without_a_plan_say_what_to_do(drop: Drop, inch_plate: bytes) -> None:
    shown = drop(inch_plate).answer(**PLATE | {"quantity": "77"}).get("papers/sheet/look").text
    assert "plan it first" in shown


@pytest.mark.parametrize("piece", PIECES)
def test_every_piece_answers_without_any_answers(drop: Drop, inch_plate: bytes, piece: str) -> None:
    assert drop(inch_plate).get(piece).status_code == 200


@pytest.mark.parametrize("piece", PIECES)
def test_markup_in_an_answer_is_shown_and_not_obeyed(drop: Drop, inch_plate: bytes, piece: str) -> None:
    nasty = '"><script>alert(1)</script>'
    study = drop(inch_plate).answer(
        **dict.fromkeys(("sentence", "demands", "thickness", "material", "machine", "title"), nasty)
    )
    view = dict.fromkeys(("edge", "speed", "stance", "option", "paint"), nasty)
    assert "<script>alert" not in study.get(piece, **view).text


def test_a_study_that_is_not_in_the_book_is_told(client: httpx.Client) -> None:
    answer = client.get("/study/0000000000/part")
    assert answer.status_code == 404
    assert "is not in the book" in answer.text


def test_an_address_that_there_is_not_is_told(client: httpx.Client) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "nothing at this address" in answer.text


@pytest.mark.parametrize(
    ("content", "status", "words"),
    [
        (b"", 422, "plate.dxf: the file is empty"),
        (b"\x00\xff\x13garbage" * 200, 422, "plate.dxf"),
        (b"0\nSECTION\n2\nENT", 422, "plate.dxf"),
    ],
)
def test_a_file_that_is_no_drawing_is_told_on_the_first_page(
    client: httpx.Client, content: bytes, status: int, words: str
) -> None:
    answer = client.post("/drawings", files={"file": ("plate.dxf", content)}, data={"sentence": "5 off"})
    assert answer.status_code == status
    assert re.search(rf'role="alert">[^<]*{re.escape(words)}', answer.text)
    assert 'value="5 off"' in answer.text


def test_a_form_without_a_file_is_told(client: httpx.Client) -> None:
    answer = client.post("/drawings", files={"other": ("x.dxf", b"x")})
    assert answer.status_code == 400
    assert "choose a DXF, SVG or STEP file" in answer.text
