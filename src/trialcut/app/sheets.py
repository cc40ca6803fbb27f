"""The papers of a plan, as files to take away."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import quote

from fastapi.responses import Response

from trialcut.app.scene import Scene
from trialcut.errors import DataError
from trialcut.services import (
    document_text,
    issue_cut_sheet,
    new_study_file,
    plan_document,
)

SHEETS = {
    "cut-sheet.pdf": ("application/pdf", ".pdf"),
    "cut-sheet.html": ("text/html; charset=utf-8", ".html"),
    "drawing.svg": ("image/svg+xml", ".svg"),
}


def paper(scene: Scene, name: str) -> Response:
    """
    One paper.

    Parameters
    ----------
    scene : Scene
        The study and the option.
    name : str
        ``"cut-sheet.pdf"``, ``"cut-sheet.html"``, ``"drawing.svg"``, ``"plan.json"``, ``"study.toml"``.

    Returns
    -------
    Response
        As a file to keep.

    Raises
    ------
    DataError
        If there is no such paper.
    """
    if name == "plan.json":
        study, plan, _ = scene.planned()
        return _file(
            document_text(plan_document(study, plan)).encode(), "application/json", f"{study.name}-plan.json"
        )
    if name == "study.toml":
        path = scene.desk.path(scene.draft.drawing)
        text = new_study_file(path, scene.answers.options(), shop=scene.desk.shop, folder=path.parent)
        return _file(text.encode(), "application/toml", f"{path.stem}.toml")
    if name not in SHEETS:
        raise DataError(
            f"there is no paper '{name[:40]}': there are {', '.join(SHEETS)}, plan.json, study.toml",
            code="no-such-paper",
        )
    media, ending = SHEETS[name]
    study, _, option = scene.planned()
    with TemporaryDirectory(prefix="trialcut-") as folder:
        for path in issue_cut_sheet(study, option, Path(folder)):
            if path.suffix == ending:
                return _file(path.read_bytes(), media, path.name)
    raise DataError(f"the cut sheet has no {ending} form", code="no-such-paper")


def _file(content: bytes, media: str, name: str) -> Response:
    plain = name.encode("ascii", "replace").decode().replace("?", "_").replace('"', "_")
    headers = {"Content-Disposition": f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"}
    return Response(content, media_type=media, headers=headers)
