"""What can be listed is described, field, option and command; and what is generated is current."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
import typer
from pydantic import BaseModel

from trialcut import errors
from trialcut.cli.commands import app
from trialcut.cli.entry import INTERRUPTED, UNEXPECTED
from trialcut.services import document_page, document_schemas
from trialcut.services.shop_models import (
    AbrasiveEntry,
    DefaultTable,
    GaugeEntry,
    HeadEntry,
    HouseTable,
    MachineEntry,
    MaterialEntry,
    OperationEntry,
    PriceTable,
    ProgramTable,
    PumpEntry,
    ShopModel,
)
from trialcut.services.study_models import DrawingTable, DrawsTable, SetupTable, StockTable, StudyModel

DOCS = Path(__file__).parents[2] / "docs"

SHOP_TABLES = {
    "[machine.NAME]": MachineEntry,
    "[pump.NAME]": PumpEntry,
    "[head.NAME]": HeadEntry,
    "[abrasive.NAME]": AbrasiveEntry,
    "[material.NAME]": MaterialEntry,
    "[gauge.NAME]": GaugeEntry,
    "[operation.NAME]": OperationEntry,
    "[prices]": PriceTable,
    "[defaults]": DefaultTable,
    "[house]": HouseTable,
    "[program]": ProgramTable,
}
STUDY_TABLES = {
    "[drawing]": DrawingTable,
    "[stock]": StockTable,
    "[setup]": SetupTable,
    "[draws]": DrawsTable,
}


def sections(page: str) -> dict[str, str]:
    """Heading, without its backticks, to the text under it; what stands above the first under ''."""
    text = (DOCS / page).read_text(encoding="utf-8")
    pieces = re.split(r"^## (.*)$", text, flags=re.MULTILINE)
    return {"": pieces[0]} | {
        heading.strip("`"): body for heading, body in zip(pieces[1::2], pieces[2::2], strict=True)
    }


def described(text: str) -> set[str]:
    """The keys in the first column of the tables of a text."""
    return set(re.findall(r"^\| `([a-z_0-9]+)` \|", text, re.MULTILINE))


@pytest.mark.parametrize(
    ("page", "table", "model"),
    [
        *(("shop-file.md", table, model) for table, model in SHOP_TABLES.items()),
        *(("study-file.md", table, model) for table, model in STUDY_TABLES.items()),
    ],
)
def test_every_field_of_a_table_is_described_and_no_other(
    page: str, table: str, model: type[BaseModel]
) -> None:
    assert described(sections(page)[table]) == set(model.model_fields)


@pytest.mark.parametrize(
    ("page", "model", "tables"),
    [("shop-file.md", ShopModel, SHOP_TABLES), ("study-file.md", StudyModel, STUDY_TABLES)],
)
def test_every_key_at_the_top_is_described_or_is_a_table(
    page: str, model: type[BaseModel], tables: dict[str, type[BaseModel]]
) -> None:
    named = {re.sub(r"[\[\]]|\.NAME", "", table) for table in tables}
    assert described(sections(page)[""]) | named == set(model.model_fields)


def commands() -> dict[str, typer.core.TyperCommand]:
    group = typer.main.get_command(app)
    found = {}
    for name, command in group.commands.items():
        inner = getattr(command, "commands", None)
        found |= {f"{name} {sub}": one for sub, one in inner.items()} if inner else {name: command}
    return found


def test_every_command_is_described() -> None:
    text = (DOCS / "cli.md").read_text(encoding="utf-8")
    told = {
        " ".join(re.findall(r"[a-z]+", line.split("--")[0])[1:])
        for line in re.findall(r"^\| `(trialcut [^`]*)`", text, re.MULTILINE)
    }
    assert told == set(commands())


def test_every_option_is_described() -> None:
    text = (DOCS / "cli.md").read_text(encoding="utf-8")
    told = set(re.findall(r"`(--[a-z-]+)`", text))
    options = {
        option
        for command in commands().values()
        for parameter in command.params
        for option in (*parameter.opts, *parameter.secondary_opts)
        if option.startswith("--")
    } - {"--help"}
    assert len(options) > 30
    assert options <= told
    assert told <= options


def test_every_exit_status_is_described() -> None:
    text = sections("cli.md")["Exit status"]
    told = {int(status) for status in re.findall(r"^\| (\d+) \|", text, re.MULTILINE)}
    of_errors = {
        kind.exit_status
        for kind in vars(errors).values()
        if isinstance(kind, type) and issubclass(kind, errors.TrialcutError)
    }
    assert told == {0, UNEXPECTED, INTERRUPTED} | of_errors


@pytest.mark.parametrize("name", sorted(document_schemas()))
def test_a_schema_file_is_what_the_models_say(name: str) -> None:
    assert (DOCS / "schema" / name).read_text(encoding="utf-8") == document_schemas()[name]


def test_the_page_about_the_documents_is_what_the_models_say() -> None:
    assert (DOCS / "json.md").read_text(encoding="utf-8") == document_page()


def test_a_schema_has_every_field_that_other_programs_were_promised() -> None:
    schema = json.loads((DOCS / "schema" / "plan-1.json").read_text(encoding="utf-8"))["$defs"]
    promised = {
        "EdgeBlock": "id length speed stance separation_speed speed_ratio kerf_top kerf_bottom "
        "taper_per_side lag finish_ra tilt lead offset notes",
        "DemandBlock": "id kind lower upper top middle bottom odds",
        "TimeBlock": "cutting piercing traverse total",
        "CostBlock": "each lot breakdown",
        "OptionBlock": "name edges demands time cost notes",
        "Uncertain": "mean sd p05 p95",
    }
    for block, fields in promised.items():
        assert set(fields.split()) <= set(schema[block]["required"]), block
    assert set(schema["Uncertain"]["properties"]) == {"mean", "sd", "p05", "p95"}
