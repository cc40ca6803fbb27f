"""The list of models and constants is the one that the files give."""

import importlib.util
from pathlib import Path

ROOT = Path(__file__).parents[2]


def _tool():
    spec = importlib.util.spec_from_file_location("constants_page", ROOT / "tools" / "constants_page.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_of_constants_is_up_to_date():
    tool = _tool()
    assert tool.PAGE.read_text(encoding="utf-8") == tool.page(), "run tools/constants_page.py"


def test_no_model_is_without_a_published_check():
    assert "unverified" not in _tool().page()
