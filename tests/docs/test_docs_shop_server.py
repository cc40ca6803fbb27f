"""The files of a shop server: what they say fits together, and fits the program.

No container is started here: syntax and names are checked by hand against the published form of such files.
"""

from __future__ import annotations

import re
import shlex
from configparser import ConfigParser
from pathlib import Path
from typing import Any

import pytest
import yaml
from typer.main import get_command

from trialcut.app.entry import Entry
from trialcut.app.people.throttle import OF_ACCOUNT, OF_ADDRESS, WINDOW
from trialcut.app.store import ENTITY_LIMIT, UPLOAD_LIMIT
from trialcut.app.uploads import RECEIVED_WITHIN
from trialcut.cli.commands import app
from trialcut.records import ROLES
from trialcut.services.people import IDLE, LINK_FOR, LONGEST, SHORTEST, SIGNED_IN_FOR

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "deploy"
KEYS = {
    "image", "build", "restart", "environment", "volumes", "healthcheck", "depends_on", "expose", "ports",
}  # fmt: skip
"""Keys of a service that the Compose specification has, as far as they are used here."""


def _compose() -> dict[str, Any]:
    return yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))


def _options(words: list[str]) -> set[str]:
    return {word for word in words if word.startswith("--")}


def _known(*path: str) -> set[str]:
    command: Any = get_command(app)
    for name in path:
        command = command.commands[name]
    return {option for each in command.params for option in (*each.opts, *each.secondary_opts)}


def test_the_compose_file_has_services_volumes_and_nothing_unknown() -> None:
    compose = _compose()
    assert set(compose) == {"name", "services", "volumes"}
    for name, service in compose["services"].items():
        assert set(service) <= KEYS, name
        assert ("image" in service) != ("build" in service), name
        assert set(service.get("depends_on", ())) <= set(compose["services"]), name
        for volume in service.get("volumes", ()):
            source = volume.split(":")[0]
            assert source in compose["volumes"] or source.startswith("./"), volume
        for variable in service.get("environment", {}).values():
            assert set(re.findall(r"\$\{(\w+)", variable)) <= {"DB_PASSWORD"}


def test_only_the_proxy_is_reached_from_outside() -> None:
    published = {name: service.get("ports") for name, service in _compose()["services"].items()}
    assert published == {"db": None, "workbench": None, "proxy": ["443:443"]}


def test_the_files_that_are_named_are_there() -> None:
    compose = _compose()["services"]
    build = compose["workbench"]["build"]
    context = (DEPLOY / build["context"]).resolve()
    assert (context / build["dockerfile"]).is_file()
    assert compose["proxy"]["volumes"][0].startswith("./proxy.conf:")
    assert (DEPLOY / "proxy.conf").is_file()
    for line in (DEPLOY / "Dockerfile").read_text(encoding="utf-8").splitlines():
        word, _, rest = line.partition(" ")
        assert word in {"FROM", "WORKDIR", "COPY", "RUN", "USER", "ENV", "EXPOSE", "CMD"}
        if word == "COPY":
            for source in rest.split()[:-1]:
                assert (context / source).exists(), source


def test_the_proxy_passes_on_what_the_workbench_needs() -> None:
    text = (DEPLOY / "proxy.conf").read_text(encoding="utf-8")
    assert text.count("{") == text.count("}") == 2
    for line in text.splitlines():
        assert not line.strip() or line.strip()[-1] in "{};" or line.startswith("#"), line
    assert "proxy_set_header Host $host;" in text
    assert "proxy_set_header X-Forwarded-For $remote_addr;" in text
    assert "proxy_pass http://workbench:8765;" in text
    largest = int(re.findall(r"client_max_body_size (\d+)m;", text)[0])
    assert largest * 2**20 > UPLOAD_LIMIT


def test_commands_of_unit_and_image_are_the_programs_own() -> None:
    unit = ConfigParser(interpolation=None, strict=False)
    unit.optionxform = str  # type: ignore[assignment, method-assign]
    unit.read(DEPLOY / "trialcut.service")
    words = shlex.split(unit["Service"]["ExecStart"])
    assert words[1] == "serve"
    assert _options(words) <= _known("serve")
    (image,) = re.findall(r"^CMD (.*)$", (DEPLOY / "Dockerfile").read_text(encoding="utf-8"), re.MULTILINE)
    words = yaml.safe_load(image)
    assert words[:2] == ["trialcut", "serve"]
    assert _options(words) <= _known("serve")
    assert "--behind-proxy" in words
    assert Entry(behind_proxy=True).cookie.startswith("__Host-")


@pytest.mark.parametrize("command", [("serve",), ("people", "add"), ("book", "export"), ("book", "check")])
def test_the_page_shows_commands_that_there_are(command: tuple[str, ...]) -> None:
    page = (ROOT / "docs/shop-server.md").read_text(encoding="utf-8")
    lines = [
        line for line in page.splitlines() if f"trialcut {' '.join(command)}" in line and "`" not in line
    ]
    lines += re.findall(rf"`(trialcut {' '.join(command)}[^`]*)`", page)
    assert lines
    for line in lines:
        assert _options(line.split()) - {"--rm"} <= _known(*command), line


def test_the_page_tells_the_limits_that_hold() -> None:
    page = (ROOT / "docs/shop-server.md").read_text(encoding="utf-8")
    for told in (
        f"of {SHORTEST} to {LONGEST} characters",
        f"after {IDLE.total_seconds() / 3600:.0f} hours without a request",
        f"after {SIGNED_IN_FOR.days} days in any case",
        f"After {OF_ACCOUNT} wrong passwords for one name, or {OF_ADDRESS} from one address, "
        f"within {WINDOW / 60:.0f} minutes",
        f"{UPLOAD_LIMIT / 1e6:.0f} MB and {ENTITY_LIMIT:,} entities",
        *(f"| `{role}` |" for role in ROLES),
    ):
        assert told in page, told
    assert (LINK_FOR.days, RECEIVED_WITHIN) == (2, 120.0)
