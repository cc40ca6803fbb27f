"""The theory pages: every block runs, every model has its place, every line is one sentence."""

import doctest
import re
from pathlib import Path

import pytest

from trialcut.physics.registry import all_models

FOLDER = Path(__file__).parents[2] / "docs" / "theory"
PAGES = sorted(FOLDER.glob("*.md"))
TEXT = {page.name: page.read_text(encoding="utf-8") for page in PAGES}


@pytest.mark.parametrize("page", [name for name, text in TEXT.items() if "```python" in text])
def test_the_blocks_of_a_theory_page_run(page):
    blocks = "\n".join(re.findall(r"```python\n(.*?)```", TEXT[page], re.DOTALL))
    case = doctest.DocTestParser().get_doctest(blocks, {}, page, page, 0)
    outcome = doctest.DocTestRunner(verbose=False).run(case)
    assert outcome.attempted > 0
    assert outcome.failed == 0


@pytest.mark.parametrize("model", all_models())
def test_a_model_is_named_on_a_theory_page(model):
    assert any(f"`{model}`" in text for text in TEXT.values())


@pytest.mark.parametrize("page", [page.name for page in PAGES if page.name != "README.md"])
def test_the_list_of_pages_names_a_page(page):
    assert f"({page})" in TEXT["README.md"]


@pytest.mark.parametrize(
    "page", [name for name, text in TEXT.items() if any(f"`{model}`" in text for model in all_models())]
)
def test_a_page_with_models_says_what_is_in_doubt(page):
    assert "## Dispute and doubt" in TEXT[page]


@pytest.mark.parametrize("page", TEXT)
def test_a_line_holds_one_sentence(page):
    prose = re.sub(r"```.*?```", "", TEXT[page], flags=re.DOTALL)
    assert re.findall(r"[a-z)\]]\. [A-Z]", prose) == []
