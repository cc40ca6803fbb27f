"""Write the list of models and constants from the registry and the source files."""

from __future__ import annotations

import sys
from pathlib import Path

from trialcut.physics.registry import WORDS, all_models
from trialcut.sources import Constant, bibliography, constant_set
from trialcut.sources.constants import FLAGS
from trialcut.sources.files import constant_tables

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "models-and-constants.md"


def spread(constant: Constant) -> str:
    """How sure a constant is, in words."""
    parts = []
    if constant.sd is not None:
        parts.append(f"sd {constant.sd:g}")
    if constant.log_sd is not None:
        parts.append(f"log sd {constant.log_sd:g}")
    if constant.lower is not None and constant.upper is not None:
        parts.append(f"{constant.lower:g} to {constant.upper:g}")
    return ", ".join(parts) or "–"


def tested(validity: dict[str, tuple[float, float]]) -> str:
    """Tested ranges in the units that notes use."""
    parts = []
    for name, (low, high) in validity.items():
        words, unit, unit_name = WORDS[name]
        parts.append(f"{words} {low / unit:g} to {high / unit:g} {unit_name}")
    return "; ".join(parts) or "–"


def kinds_of_evidence(model: str) -> str:
    """Kinds of published checks that a model has."""
    sys.path.insert(0, str(ROOT / "tests"))
    from published_checks import KINDS, all_checks  # noqa: PLC0415

    kinds = {check.kind for check in all_checks() if model in check.supports}
    return ", ".join(kind for kind in KINDS if kind in kinds) or "unverified"


def page() -> str:
    """The page as text."""
    lines = [
        "# Models and constants",
        "",
        "Written by `tools/constants_page.py` from the registry, the source files and the published checks.",
        "",
        "## Models",
        "",
        "| model | gives | source | tested range | checked by |",
        "| --- | --- | --- | --- | --- |",
    ]
    for name, model in sorted(all_models().items()):
        quantity = model.quantity.replace("_", " ")
        lines.append(
            f"| `{name}` | {quantity} | {model.source} | {tested(dict(model.validity))} "
            f"| {kinds_of_evidence(name)} |"
        )
    lines += ["", "## Constants", "", "Flags:", ""]
    lines += [f"- **{flag}** {meaning}" for flag, meaning in FLAGS.items()]
    for set_id in constant_tables():
        lines += ["", f"### {set_id}", ""]
        about = constant_tables()[set_id].get("about")
        lines += [about, ""] if about else []
        lines += ["| name | value | unit | as printed | where | source | flag | spread |"]
        lines += ["| --- | --- | --- | --- | --- | --- | --- | --- |"]
        lines += [
            f"| {each.name} | {each.value:.10g} | {each.unit} | {each.printed} | {each.where} "
            f"| {each.source} | {each.flag} | {spread(each)} |"
            for each in constant_set(set_id).values()
        ]
    lines += ["", "## Sources", ""]
    lines += [f"- **{each.id}** {each}" for each in bibliography().values()]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")
    print(PAGE.relative_to(ROOT))
