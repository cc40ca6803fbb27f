"""Nothing runs over the margins or into its neighbour, on every paper, whatever the part and its names."""

from __future__ import annotations

import pytest

from pdf_reading import MILLIMETRE, pages_of
from sample_papers import PAPERS, SIZES, STUDIES, on_paper

# The templates' margins (13 mm at the sides, 10 mm at the top) less half of the widest stroke, as that lies
# half outside of what it borders; the foot's text ends 4.5 mm above the paper's edge.
LEFT, TOP, BOTTOM = 12.7 * MILLIMETRE, 9.7 * MILLIMETRE, 4.5 * MILLIMETRE
# ISO 216 A4, and US letter of 8.5 in by 11 in. [pt]
AREAS = {"A4": (210.0 * MILLIMETRE, 297.0 * MILLIMETRE), "letter": (612.0, 792.0)}
CASES = [
    (paper, study)
    for paper in PAPERS
    for study in STUDIES
    if paper not in ("trial sheet", "reading form", "capability sheet") or study not in ("plate", "400 edges")
]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(("paper", "study"), CASES)
def test_all_stays_within_the_margins_and_nothing_runs_into_another(paper, study, size):
    kind = PAPERS[paper]
    pages = pages_of(kind.pdf(kind.content(on_paper(STUDIES[study](), size))))
    assert pages
    for page in pages:
        assert (page.width, page.height) == pytest.approx(AREAS[size], abs=0.01)
        assert len(page.runs) > 10
        assert page.points
        assert page.outside(LEFT, TOP, BOTTOM) == []
        assert list(page.collisions()) == []


def test_what_stands_outside_and_what_collides_is_noticed():
    page = pages_of(PAPERS["offer"].pdf(PAPERS["offer"].content(STUDIES["bracket"]())))[0]
    assert page.outside(LEFT + MILLIMETRE, TOP, BOTTOM)
    assert page.outside(LEFT, TOP, BOTTOM + 3.0 * MILLIMETRE)
    page.runs.append(page.runs[5])
    moved = page.runs[6]
    page.runs.append(type(moved)("over it", (moved.start[0] + 1.0, moved.start[1]), moved.end, moved.size))
    assert [other.text for _, other in page.collisions()] == ["over it"]


@pytest.mark.parametrize("paper", PAPERS)
def test_a_letterhead_of_long_words_leaves_the_page_to_the_paper(paper):
    kind = PAPERS[paper]
    content = kind.content(STUDIES["60 characters without a space"]())
    page = pages_of(kind.pdf(content))[0]
    (title,) = [run for run in page.runs if run.text == content.kind.upper()]
    assert title.start[1] > page.height - 60.0 * MILLIMETRE


@pytest.mark.parametrize("paper", PAPERS)
def test_a_name_of_60_characters_is_printed_whole(paper):
    study = STUDIES["60 characters without a space"]()
    kind = PAPERS[paper]
    text = "".join(page.text for page in pages_of(kind.pdf(kind.content(study)))).replace("\u200b", "")
    assert len(study.name) == 60
    assert study.name in text.replace(" ", "")
