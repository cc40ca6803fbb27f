"""The pages, without a browser: what each answers, and how it answers what it cannot use."""

from __future__ import annotations

import json
import re
import time
import tomllib
from collections.abc import Callable
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest

PLATE = {
    "thickness": "1/2 in",
    "material": "6061",
    "demands": "sizes ±0.010 in\npart: 250 uin",
    "quantity": "5",
}
PIECES = ("look", "demands", "sentence", "setup", "plan", "expect", "edge", "try")

Drop = Callable[..., str]


def planned(client: httpx.Client, address: str, **answers: str) -> httpx.Response:
    """The answer to 'Plan the cut', once it is worked out."""
    for _ in range(600):
        answer = client.get(f"{address}/plan", params={**PLATE, **answers})
        if "Working it out" not in answer.text:
            return answer
        time.sleep(0.1)
    raise AssertionError("the plan takes more than a minute")


def test_the_start_page_offers_a_drop_and_two_demos(client: httpx.Client) -> None:
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
    assert parse_qs(urlsplit(answer.headers["location"]).query)["material"]


def test_a_dropped_drawing_has_the_same_address_each_time(drop: Drop, inch_plate: bytes) -> None:
    assert drop(inch_plate) == drop(inch_plate)


def test_the_sentence_dropped_with_a_drawing_is_filled_in(drop: Drop, inch_plate: bytes) -> None:
    address = drop(inch_plate, sentence="1/2 in 6061, sizes ±0.005 in, 125 µin, 50 off")
    answers = parse_qs(urlsplit(address).query)
    assert answers["thickness"] == ["0.5 in"]
    assert answers["material"] == ["6061"]
    assert answers["quantity"] == ["50"]
    assert answers["demands"] == ["sizes ±0.005 in\n125 µin"]


def test_a_sentence_that_cannot_be_read_stays_in_its_box(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    address = drop(inch_plate, sentence="1/2 6061, sizes ±0.005, 5 off")
    page = client.get(address).text
    assert "1/2 6061, sizes ±0.005, 5 off" in page
    assert re.search(r'<p class="fault">[^<]*no unit', page)


def test_a_drawing_without_a_unit_is_shown_both_ways(
    client: httpx.Client, drop: Drop, unitless_plate: bytes
) -> None:
    page = client.get(drop(unitless_plate)).text
    assert "4 × 2 in" in page
    assert "101.6 × 50.8 mm" in page
    assert "4 × 2 mm" in page
    choice = re.search(r'href="([^"]*unit=in[^"]*)"', page)
    assert choice is not None
    assert "4 × 2 in, 5 edges, 1 opening" in client.get(choice[1].replace("&amp;", "&")).text


def test_of_several_parts_one_is_picked(client: httpx.Client, drop: Drop, three_plates: bytes) -> None:
    address = drop(three_plates)
    page = client.get(address, params={"part": "2"}).text
    assert "holds 3 parts" in page
    assert re.search(r'value="2"[^>]*checked', page)
    assert "Part 2 of plate.dxf" in page


def test_every_line_of_demands_is_read_by_itself(client: httpx.Client, drop: Drop, inch_plate: bytes) -> None:
    lines = "B: 0.8 in ±0.005\npart: 0.005\nZ9: 10 H11"
    text = client.get(f"{drop(inch_plate)}/demands", params={"demands": lines}).text
    assert re.search(r'"good"><code>B: 0.8 in ±0.005</code> <span>opening B, diameter: 0.800 ±0.005 in', text)
    assert re.search(r'"bad"><code>part: 0.005</code> <span>[^<]*no unit', text)
    assert re.search(r'"bad"><code>Z9: 10 H11</code> <span>[^<]*no edge or opening Z9', text)


def test_a_fault_of_the_set_up_stands_beside_its_field(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    address = drop(inch_plate)
    text = client.get(f"{address}/setup", params={"thickness": "1/2 in", "material": "alumnium"}).text
    assert re.search(r'id="fault-material"[^>]*>[^<]*did you mean', text)
    text = client.get(f"{address}/setup", params={"thickness": "3", "material": "6061"}).text
    assert re.search(r'id="fault-thickness"[^>]*>[^<]*no unit', text)
    text = client.get(f"{address}/setup", params={"quantity": "none"}).text
    assert re.search(r'id="fault-quantity"[^>]*>[^<]*no number of pieces', text)
    assert "--" not in text


def test_a_plan_waits_for_what_is_missing_and_says_so(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    address = drop(inch_plate)
    assert "how thick is the plate" in client.get(f"{address}/plan").text
    assert "made of" in client.get(f"{address}/plan", params={"thickness": "1/2 in"}).text
    assert "cannot be used" in client.get(f"{address}/plan", params={**PLATE, "demands": "A1: blue"}).text


def test_a_plan_shows_three_options_with_odds_time_and_cost(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    answer = planned(client, drop(inch_plate))
    assert answer.text.count('name="option"') == 3
    assert answer.text.count("<dt>as known now</dt>") == 3
    assert answer.text.count("<dt>first piece measured</dt>") == 3
    assert answer.text.count("lot of 5") == 3
    assert len(re.findall(r"<dd>[0-9.]+ EUR</dd>", answer.text)) == 6
    assert answer.headers["hx-trigger-after-swap"] == "tc-look"


def test_after_a_plan_the_edges_are_painted_and_have_numbers(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    address = drop(inch_plate)
    planned(client, address)
    for paint, title in (("speed", "Speed"), ("odds", "Odds"), ("finish", "Finish"), ("time", "Time")):
        picture = client.get(f"{address}/look", params={**PLATE, "paint": paint, "width": "700"}).text
        assert "tc-painted" in picture
        assert title in picture
    edge = client.get(f"{address}/edge", params={**PLATE, "edge": "A1"}).text
    for name in ("speed", "separation speed", "kerf at top", "kerf at bottom", "taper per side", "lag"):
        assert f"<dt>{name}</dt>" in edge
    assert "Wall to expect" in edge
    assert "opening B, diameter" in client.get(f"{address}/expect", params=PLATE).text


def test_an_option_can_be_picked_by_address(client: httpx.Client, drop: Drop, inch_plate: bytes) -> None:
    address = drop(inch_plate)
    planned(client, address)
    page = client.get(address, params={**PLATE, "go": "yes", "option": "accurate"}).text
    assert re.search(r'value="accurate" checked', page)
    assert not re.search(r'value="cheapest" checked', page)


def test_the_option_picked_is_kept_while_a_plan_is_worked_out_anew(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    address = drop(inch_plate)
    answers = {**PLATE, "quantity": "41", "option": "accurate"}
    working = client.get(f"{address}/plan", params=answers).text
    assert "Working it out" in working
    assert re.search(r'<input type="hidden" name="option" form="study" value="accurate">', working)


def test_another_speed_gives_other_numbers(client: httpx.Client, drop: Drop, inch_plate: bytes) -> None:
    address = drop(inch_plate)
    slow, fast = (
        client.get(f"{address}/try", params={**PLATE, "speed": speed, "stance": "upright"}).text
        for speed in ("5 ipm", "15 ipm")
    )
    bottoms = [re.search(r"kerf bottom</dt><dd>([0-9.]+) in", text) for text in (slow, fast)]
    assert bottoms[0] is not None
    assert bottoms[1] is not None
    assert float(bottoms[0][1]) > float(bottoms[1][1])


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"speed": "5"}, "no unit"),
        ({"speed": "0 ipm"}, "greater than zero"),
        ({"speed": "90000 ipm"}, "more than machine"),
        ({"speed": "5 ipm", "stance": "sideways"}, "no stance"),
        ({"speed": "5 ipm", "stance": "tilted", "machine": "south"}, "no tilting head"),
    ],
)
def test_a_speed_that_cannot_be_tried_is_told(
    client: httpx.Client, drop: Drop, inch_plate: bytes, answers: dict[str, str], words: str
) -> None:
    text = client.get(f"{drop(inch_plate)}/try", params={**PLATE, **answers}).text
    assert re.search(rf'<p class="fault">[^<]*{words}', text)


def test_the_papers_of_an_option_can_be_taken_away(
    client: httpx.Client, drop: Drop, inch_plate: bytes
) -> None:
    address = drop(inch_plate, name="bracket ü.dxf")
    papers = {
        name: client.get(f"{address}/papers/{name}", params=PLATE)
        for name in ("cut-sheet.pdf", "cut-sheet.html", "plan.json", "study.toml")
    }
    for answer in papers.values():
        assert answer.status_code == 200
        assert answer.headers["content-disposition"].startswith("attachment; ")
    assert papers["cut-sheet.pdf"].content.startswith(b"%PDF-")
    assert "<!doctype html>" in papers["cut-sheet.html"].text.lower()
    assert json.loads(papers["plan.json"].text)["schema"] == "trialcut/plan/1"
    assert tomllib.loads(papers["study.toml"].text)["stock"]["thickness"] == "1/2 in"
    assert "bracket%20%C3%BC" in papers["plan.json"].headers["content-disposition"]


def test_a_paper_that_there_is_not_is_told(client: httpx.Client, drop: Drop, inch_plate: bytes) -> None:
    answer = client.get(f"{drop(inch_plate)}/papers/invoice.pdf", params=PLATE)
    assert answer.status_code == 422
    assert "there is no paper" in answer.text


@pytest.mark.parametrize("piece", PIECES)
def test_every_piece_answers_without_any_answers(
    client: httpx.Client, drop: Drop, inch_plate: bytes, piece: str
) -> None:
    assert client.get(f"{drop(inch_plate)}/{piece}").status_code == 200


@pytest.mark.parametrize("piece", PIECES)
def test_markup_in_an_answer_is_shown_and_not_obeyed(
    client: httpx.Client, drop: Drop, inch_plate: bytes, piece: str
) -> None:
    nasty = '"><script>alert(1)</script>'
    given = dict.fromkeys(("sentence", "demands", "thickness", "material", "machine", "edge", "speed"), nasty)
    address = drop(inch_plate)
    assert "<script>alert" not in client.get(f"{address}/{piece}", params=given).text
    assert "<script>alert" not in client.get(address, params=given).text


def test_a_drawing_that_is_not_here_is_told(client: httpx.Client) -> None:
    answer = client.get(f"/study/{'0' * 24}")
    assert answer.status_code == 404
    assert "drop it again" in answer.text


def test_an_address_that_there_is_not_is_told(client: httpx.Client) -> None:
    answer = client.get("/nowhere")
    assert answer.status_code == 404
    assert "nothing at this address" in answer.text


@pytest.mark.parametrize(
    ("content", "status", "words"),
    [
        (b"", 422, "the file is empty"),
        (b"\x00\xff\x13garbage" * 200, 422, "plate.dxf"),
        (b"0\nSECTION\n2\nENT", 422, "plate.dxf"),
    ],
)
def test_a_file_that_is_no_drawing_is_told_on_the_start_page(
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
