"""Trials in a real browser: readings by keyboard, paste and drop, looked over at once, fitted and shown."""

from __future__ import annotations

import re
import time
from dataclasses import dataclass

import httpx
import pytest
from playwright.sync_api import Locator, Page, expect

from browsing import Open, assert_accessible, assert_nothing_sticks_out

pytestmark = pytest.mark.browser

CHECKED_WITHIN = 400.0
"""Milliseconds from the last key to what is said of a cell, at the fastest of several: other work slows."""


@dataclass(frozen=True)
class Issued:
    """A trial of three coupons on the real server."""

    address: str
    trial: str

    @property
    def page(self) -> str:
        return f"{self.address}/trials?trial={self.trial}"


@pytest.fixture(scope="module")
def issued(server: str) -> Issued:
    with httpx.Client(base_url=server, timeout=60.0) as client:
        address = client.post("/demo/inch").headers["location"].partition("?")[0].removesuffix("/part")
        client.post(f"{address}/trials/design")
        for _ in range(900):
            if "worth-chart" in client.get(f"{address}/trials/design").text:
                break
            time.sleep(0.1)
        told = client.post(f"{address}/trials/issue", data={"count": "3"})
        found = re.search(r"trial=(T\d+)", told.headers["hx-redirect"])
        assert found is not None
        return Issued(address, found[1])


def cell(page: Page, name: str) -> Locator:
    """The cell of a line, by what it is called."""
    return page.locator(".grid").get_by_role("textbox", name=name, exact=True)


def line_of(page: Page, key: str) -> Locator:
    """A line of the grid."""
    return page.locator(f'tr.line[data-key="{key}"]')


def paste(field: Locator, text: str) -> None:
    """Paste as a spreadsheet does."""
    field.evaluate(
        """(field, text) => { const data = new DataTransfer(); data.setData("text/plain", text);
        const event = {clipboardData: data, bubbles: true, cancelable: true};
        field.dispatchEvent(new ClipboardEvent("paste", event)); }""",
        text,
    )


def test_an_empty_study_teaches_what_trials_are(page_of: Open) -> None:
    page = page_of()
    page.get_by_role("button", name="A plate, in millimetres", exact=True).click()
    page.get_by_role("navigation", name="Questions of this study").get_by_role("link", name="Trials").click()
    for question in (
        "Which cuts are worth making?",
        "What was read?",
        "What do the readings say?",
        "Can the gauge tell?",
    ):
        expect(page.get_by_role("heading", name=question)).to_be_visible()
    expect(page.locator("#design")).to_contain_text("It may well say that none pays.")
    assert_accessible(page)


def test_readings_are_typed_by_keyboard_alone_and_survive_a_reload(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    first = f"{issued.trial}-1 X size"
    cell(page, f"{first}, top").focus()
    page.keyboard.type("1.5020")
    page.keyboard.press("Enter")
    expect(cell(page, f"{first}, middle")).to_be_focused()
    page.keyboard.type("14.985")
    page.keyboard.press("Tab")
    expect(cell(page, f"Remark on {first}, middle")).to_be_focused()
    page.keyboard.type("burr")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Home")
    page.keyboard.press("ArrowLeft")
    expect(cell(page, f"{first}, top")).to_be_focused()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.type("38.07 mm")
    note = page.locator("tr.note-row:visible")
    expect(note).to_contain_text("far from the expected")
    expect(note).to_contain_text("decimal mark")

    page.reload()
    expect(cell(page, f"{first}, top")).to_have_value("1.5020")
    expect(cell(page, f"Remark on {first}, middle")).to_have_value("burr")
    expect(cell(page, f"{first}, bottom")).to_have_value("38.07 mm")
    expect(page.locator("tr.note-row:visible")).to_contain_text("decimal mark")
    page.get_by_role("button", name="Take 1.4985 in").press("Enter")
    expect(cell(page, f"{first}, middle")).to_have_value("1.4985 in")
    expect(page.locator("tr.note-row:visible")).to_have_count(0)

    page.keyboard.press("Control+Enter")
    expect(page.locator("#typed")).to_have_text(re.compile(r"^3 readings entered, R\d+ to R\d+\.$"))
    expect(page.get_by_role("button", name=re.compile(rf"^{first}, bottom: 38\.07 mm R\d+$"))).to_be_visible()
    page.reload()
    expect(page.locator("#read .reading")).to_have_count(3)
    expect(page.locator("#enter")).to_be_disabled()


def test_a_reading_is_corrected_in_its_line_and_its_history_shown(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    name = f"{issued.trial}-1 Y size, top"
    cell(page, name).fill("1.2512")
    page.locator("#enter").click()
    page.get_by_role("button", name=re.compile(rf"^{name}: ")).press("Enter")
    page.get_by_label("Should be").fill("1.2521 in")
    page.get_by_role("button", name="Correct it").click()
    expect(page.get_by_role("alert")).to_contain_text("needs a reason")
    page.get_by_label("Because").fill("digits swapped")
    page.get_by_role("button", name="Correct it").click()
    page.get_by_role("button", name=re.compile(rf"^{name}: 1\.2521 in ")).click()
    expect(page.locator(".history")).to_contain_text("1.2512 in")
    expect(page.locator(".history")).to_contain_text("digits swapped")
    assert_accessible(page)
    page.get_by_role("button", name="Close").click()
    expect(page.locator(".history")).to_be_hidden()


def test_gauge_and_units_are_chosen_once_and_kept(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    line = line_of(page, f"{issued.trial}-2|X|size|top")
    opening = line_of(page, f"{issued.trial}-2|H|size|top")
    expect(line.locator(".by")).to_have_text("micrometer")
    expect(opening.locator(".by")).to_have_text("bore gauge")
    expect(line.locator(".unit")).to_have_text("in")
    page.get_by_label("Measured with").select_option("caliper")
    for each in (line, opening):
        expect(each.locator(".by")).to_have_text("caliper")
    expect(line.locator(".unit")).to_have_text("mm")  # its display steps by 0.01 mm
    page.get_by_label("Lengths in").select_option("in")
    cell(page, f"{issued.trial}-2 X size, top").fill("1.5001")
    expect(line.locator(".unit")).to_have_text("in")
    page.reload()
    expect(page.get_by_label("Measured with")).to_have_value("caliper")
    expect(page.get_by_label("Lengths in")).to_have_value("in")
    expect(line.locator(".by")).to_have_text("caliper")


def test_what_is_typed_in_one_tab_is_in_the_other(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    other = page.context.new_page()
    other.goto(page.url)
    name = f"{issued.trial}-2 Y size, top"
    cell(page, name).fill("1.2500")
    expect(cell(other, name)).to_have_value("1.2500")


def test_a_column_pasted_from_a_spreadsheet_fills_down(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    paste(cell(page, f"{issued.trial}-2 H size, top"), "0.4990\n0.4986\tin\twarm\n12.67\tmm\n")
    expect(cell(page, f"{issued.trial}-2 H size, middle")).to_have_value("0.4986 in")
    expect(cell(page, f"Remark on {issued.trial}-2 H size, middle")).to_have_value("warm")
    expect(cell(page, f"{issued.trial}-2 H size, bottom")).to_have_value("12.67 mm")
    expect(page.locator("#enter")).to_have_text("Enter 3 readings in the book")


def test_a_form_dropped_on_the_grid_is_taken_as_readings_and_not_as_a_drawing(
    page_of: Open, issued: Issued
) -> None:
    page = page_of(issued.page)
    form = (
        f"coupon;cut;what;depth;gauge;value;unit;remark\n{issued.trial}-3;X;size;top;caliper;1.5016;in;\n"
        f"{issued.trial}-3;X;size;25 %;caliper;1.5010;in;shoulder\n"
        f"{issued.trial}-3;X;size;bottom;calliper 9;1.5;in;\n"
    )
    data = page.evaluate_handle(
        """(text) => { const data = new DataTransfer();
        data.items.add(new File([text], "filled.csv", {type: "text/csv"})); return data; }""",
        form,
    )
    page.dispatch_event("#read", "drop", {"dataTransfer": data})
    expect(cell(page, f"{issued.trial}-3 X size, top")).to_have_value("1.5016 in")
    expect(cell(page, f"{issued.trial}-3 X size 25 %")).to_have_value("1.5010 in")
    expect(page.locator("#paste-told")).to_contain_text("line 4: gauge 'calliper 9' is not known")
    assert "/trials" in page.url
    page.reload()
    expect(cell(page, f"{issued.trial}-3 X size 25 %")).to_have_value("1.5010 in")


def test_a_cell_is_looked_over_at_once(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    line = line_of(page, f"{issued.trial}-3|Y|size|top")
    taken = []
    for value in ("1.2519", "12.519", "1.2520", "12.520", "1.2521", "12.521"):
        wanted = "doubt" if value.startswith("12") else "fine"
        taken.append(
            line.evaluate(
                """(line, [value, wanted]) => new Promise((done) => {
                const field = line.querySelector("input");
                const start = performance.now();
                const look = () => line.classList.contains(wanted)
                    ? done(performance.now() - start) : requestAnimationFrame(look);
                field.value = value;
                field.dispatchEvent(new Event("input", {bubbles: true}));
                look(); })""",
                [value, wanted],
            )
        )
    assert min(taken) <= CHECKED_WITHIN, taken


def test_from_readings_to_the_fit_and_what_it_changes(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    trial = issued.trial
    rows = [
        f"{trial}-{n}\t{cut}\tsize\t{depth}\tmicrometer\t{value}\tin" for n, cut, depth, value in READINGS
    ]
    paste(cell(page, f"{trial}-2 X size, top"), "\n".join(rows))
    expect(page.locator("#enter")).to_contain_text(f"{len(READINGS)} readings")
    page.locator("#enter").click()
    expect(page.locator("#typed")).to_contain_text(f"{len(READINGS)} readings entered")
    page.get_by_role("button", name=re.compile("^Fit them")).click()
    expect(page.locator("#fit .verdict")).to_be_visible(timeout=60_000)
    expect(page.locator("#fit .tc-panels")).to_be_visible()
    expect(page.locator("#fit")).to_contain_text("Which form won?")
    page.reload()
    expect(page.locator("#fit .verdict")).to_be_visible()
    page.get_by_text("Every reading beside the fit").click()
    expect(page.get_by_role("region", name=re.compile("^Readings of fit F"))).to_be_visible()
    assert_accessible(page)


READINGS = [
    *(
        (2, "X", depth, value)
        for depth, value in (("top", "1.5018"), ("middle", "1.5024"), ("bottom", "1.5035"))
    ),
    *(
        (2, "Y", depth, value)
        for depth, value in (("top", "1.2519"), ("middle", "1.2526"), ("bottom", "1.2536"))
    ),
    *(
        (3, "X", depth, value)
        for depth, value in (("top", "1.5017"), ("middle", "1.5021"), ("bottom", "1.5030"))
    ),
    *(
        (3, "Y", depth, value)
        for depth, value in (("top", "1.2518"), ("middle", "1.2523"), ("bottom", "1.2531"))
    ),
]
"""Invented readings of a kerf that narrows a little with depth."""


def test_a_gauge_study_is_pasted_and_told(page_of: Open, issued: Issued) -> None:
    page = page_of(issued.page)
    page.get_by_text("Study a gauge in use").click()
    page.get_by_role("button", name="Fill in an invented example").click()
    page.get_by_role("button", name="Study it").click()
    expect(page.locator("#gauge-found")).to_contain_text("told apart by the micrometer")
    page.get_by_label("Readings", exact=True).fill("")
    page.get_by_role("button", name="Study it").click()
    expect(page.locator("#gauge-found .fault")).to_contain_text("paste a table first")


@pytest.mark.parametrize(
    ("width", "scheme"), [(390, "light"), (390, "dark"), (1920, "light"), (1280, "dark")]
)
def test_trials_are_readable_narrow_and_wide_light_and_dark(
    page_of: Open, issued: Issued, width: int, scheme: str
) -> None:
    page = page_of(issued.page, width=width, scheme=scheme)
    expect(page.locator("table.grid")).to_be_visible()
    cell(page, f"{issued.trial}-1 H size, top").fill("49.90")
    expect(page.locator("tr.note-row:visible").first).to_be_visible()
    cell(page, f"{issued.trial}-1 H size, middle").fill("about half")
    expect(line_of(page, f"{issued.trial}-1|H|size|middle")).to_have_class(re.compile("wrong"))
    lefts = page.locator(".grid input[data-part=value]:visible").evaluate_all(
        "(fields) => [...new Set(fields.map((each) => Math.round(each.getBoundingClientRect().left)))]"
    )
    assert len(lefts) == 1, lefts
    expect(page.locator("#fit .help, #fit .verdict").first).to_be_visible()
    page.get_by_text("Study a gauge in use").click()
    assert_nothing_sticks_out(page)
    assert_accessible(page)
