"""Every finding and error of the drawing intake is described, and no other."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from trialcut.geometry.importers.layers import named_for_construction

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "drawings.md").read_text(encoding="utf-8")
STATUS = {
    "fixed": "fixed",
    "_report_places": "fixed",
    "not_fixed": "not fixed",
    "needs_person": "needs a person",
}
CODE = re.compile(r"[a-z]+(-[a-z]+)+|overlap|duplicate|branching|raised")


def calls() -> Iterator[tuple[str, ast.Call]]:
    for path in (ROOT / "src" / "trialcut" / "geometry").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                function = node.func
                yield (
                    function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", ""),
                    node,
                )


def texts(call: ast.Call) -> list[str]:
    return [a.value for a in call.args if isinstance(a, ast.Constant) and isinstance(a.value, str)]


def findings_in_code() -> set[tuple[str, str]]:
    return {
        (next(text for text in texts(call) if CODE.fullmatch(text)), STATUS[name])
        for name, call in calls()
        if name in STATUS and any(CODE.fullmatch(text) for text in texts(call))
    }


def errors_in_code() -> set[str]:
    return {
        str(keyword.value.value)
        for name, call in calls()
        if name == "DrawingError"
        for keyword in call.keywords
        if keyword.arg == "code" and isinstance(keyword.value, ast.Constant)
    }


def rows(section: str) -> list[list[str]]:
    body = PAGE.split(f"\n## {section}\n")[1].split("\n## ")[0]
    return [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in body.splitlines()
        if line[:3] == "| `"
    ]


def test_every_finding_is_described_with_its_status_and_no_other() -> None:
    described = {(row[0].strip("`"), row[1]) for row in rows("Findings")}
    assert described == findings_in_code()
    assert len(described) == len(rows("Findings"))


def test_every_finding_that_is_not_fixed_says_what_to_do() -> None:
    assert all(row[3] for row in rows("Findings") if row[1] != "fixed")


def test_every_error_is_described_and_no_other() -> None:
    # A curve that is no number is caught within the intake and becomes a finding.
    assert {row[0].strip("`") for row in rows("Errors")} == errors_in_code() - {"not-a-number"}


def test_every_error_message_in_the_code_is_one_line() -> None:
    strings = [node for name, call in calls() if name == "DrawingError" for node in ast.walk(call)]
    literals = [
        node.value for node in strings if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    assert len(literals) > 20
    assert not any("\n" in text for text in literals)


def test_the_layer_names_on_the_page_are_those_left_out() -> None:
    sentence = PAGE.split("named for construction: ")[1].split(" as a word")[0]
    names = re.findall(r"`([a-z]+)`", sentence)
    assert len(names) == 15
    assert all(
        named_for_construction(name) and named_for_construction(f"my_{name}_1".upper()) for name in names
    )
    assert not any(
        named_for_construction(name) for name in ("0", "cut", "Profile", "contextual", "Dimmer", "Outline")
    )
