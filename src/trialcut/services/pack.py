"""One archive of a study with everything in it, and a folder of files out of one."""

from __future__ import annotations

import os
import platform
import shutil
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from trialcut import __version__
from trialcut.errors import DataError, TrialcutError, UsageError
from trialcut.planning.study import Study
from trialcut.services.archive import SIZE_LIMIT, archive_bytes, read_archive
from trialcut.services.bundled import bundled
from trialcut.services.documents import document_text, plan_document
from trialcut.services.files import plain_name, write_files
from trialcut.services.fit_choice import with_book
from trialcut.services.held_knowledge import ARRAYS, DOCUMENT, knowledge_files
from trialcut.services.plans import plan_study
from trialcut.services.shop_file import DEMO_SHOP, load_shop
from trialcut.services.study_file import load_study
from trialcut.services.toml_change import with_values
from trialcut.services.toml_lines import read_toml

if TYPE_CHECKING:
    from trialcut.records import Book

SUFFIX = ".trialcut.zip"
PLAN = "plan.json"
PAPERS = "papers"
_MADE_WITH = ("numpy", "scipy", "numba", "shapely", "ezdxf")
_SHOP_NAMES = (("house", "logo"), ("program", "template"))
"""Keys of a shop file that name a file."""


@dataclass(frozen=True, kw_only=True)
class Unpacked:
    """A study out of an archive.

    Parameters
    ----------
    study : Path
        The study file.
    files : tuple of Path
        All files.
    version : str
        Of Trialcut that packed it.
    """

    study: Path
    files: tuple[Path, ...]
    version: str


def pack_study(
    path: Path | str,
    out: Path | str,
    *,
    shop: Path | None = None,
    book: Book | None = None,
    papers: Path | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> Path:
    """
    Plan a study, and write it into one archive with everything that it needs.

    Parameters
    ----------
    path : Path or str
        The study file.
    out : Path or str
        The archive; ``.trialcut.zip`` is put after a name without it.
    shop : Path, optional
        Shop file used in place of the study's own.
    book : Book, optional
        Whose fit and tube log are used.
    papers : Path, optional
        Folder of papers to take along; the folder ``papers`` next to the study, if there, otherwise.
    progress : callable, optional
        Called with what is being done and the fraction done.

    Returns
    -------
    Path
        The archive, the same bytes for the same study.

    Raises
    ------
    TrialcutError
        If the study cannot be planned, or a file cannot be read or written; then nothing is written.
    """
    out = Path(out)
    if not out.name.endswith(SUFFIX):
        out = out.with_name(out.name.removesuffix(".zip") + SUFFIX)
    return write_files(out.parent, {out.name: _packed(Path(path), shop, book, papers, progress)})[0]


def study_to_pack(path: Path, shop: Path | None) -> Study:
    """
    The study that a study file holds; a drawing alone is none.

    Parameters
    ----------
    path : Path
        The study file.
    shop : Path or None
        Shop file used in place of the study's own.

    Returns
    -------
    Study
        Without what a book knows.

    Raises
    ------
    TrialcutError
        If it is no study file, or not valid.
    """
    if path.suffix.lower() != ".toml":
        raise UsageError(
            f"{path} is no study file: write one from a drawing with 'trialcut new', then pack it"
        )
    return load_study(path, shop=None if shop is None else load_shop(shop))


def unpack_study(path: Path | str, folder: Path | str) -> Unpacked:
    """
    Write the files of an archive into a new folder.

    Parameters
    ----------
    path : Path or str
        Of `pack_study`.
    folder : Path or str
        Must not be there yet, or be empty.

    Returns
    -------
    Unpacked
        The study file, ready to plan.

    Raises
    ------
    DataError
        If the archive is not whole and sound, the study in it does not load, or the folder holds files;
        then nothing is written.
    """
    path, folder = Path(path), Path(folder)
    archive = read_archive(path)
    if folder.exists() and not folder.is_dir():
        raise DataError(f"{folder} is a file: name a new folder", code="not-a-folder", path=str(folder))
    if folder.exists() and any(folder.iterdir()):
        raise DataError(
            f"{folder} holds files already, and none is overwritten: name a new folder",
            code="folder-not-empty",
            path=str(folder),
        )
    name = archive.facts.get("study")
    if not isinstance(name, str) or name not in archive.files:
        raise DataError(
            f"{path.name} names no study that it holds: have it packed again", code="damaged-pack"
        )
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        waiting = Path(tempfile.mkdtemp(prefix=f".{folder.name[:40]}-", dir=folder.parent))
    except OSError as error:
        raise _unwritable(folder, error) from None
    try:
        for each, content in archive.files.items():
            (waiting / each).parent.mkdir(parents=True, exist_ok=True)
            (waiting / each).write_bytes(content)
        _check(path, waiting / name, archive.files)
        waiting.chmod(0o777 & ~_umask())
        if folder.exists():
            folder.rmdir()
        os.replace(waiting, folder)
    except OSError as error:
        raise _unwritable(folder, error) from None
    finally:
        shutil.rmtree(waiting, ignore_errors=True)
    return Unpacked(
        study=folder / name,
        files=tuple(folder / each for each in sorted(archive.files)),
        version=str(archive.facts.get("version", "")),
    )


def _packed(
    path: Path,
    shop: Path | None,
    book: Book | None,
    papers: Path | None,
    progress: Callable[[str, float], None] | None,
) -> bytes:
    study = study_to_pack(path, shop)
    text, content = read_toml(path, kind="study file")
    held = path.parent / content["knowledge"] if "knowledge" in content else None
    if held is None and book is not None:
        study = with_book(study, book)
    study_name = f"{plain_name(path.stem)}.toml"
    if study.name == path.stem != plain_name(path.stem):
        text = with_values(text, {("name",): study.name})
    if study.source is None:
        raise UsageError(f"{path} names no drawing: give it one")
    drawing = f"drawing/{study.source.name}"
    named = path.parent / content["shop"] if "shop" in content else bundled(DEMO_SHOP)
    shop_file, shop_files = _shop_files(named if shop is None else shop)
    files: dict[str, bytes] = {
        study_name: with_values(
            text,
            {
                ("shop",): shop_file,
                ("knowledge",): f"book/{DOCUMENT}",
                ("drawing", "file"): drawing,
            },
        ).encode("utf-8"),
        drawing: _bytes(study.source),
        **shop_files,
        **_papers(papers, path.parent / PAPERS),
    }
    if held is None:
        knowledge = knowledge_files(study, book)
    else:
        knowledge = {DOCUMENT: _bytes(held)}
        if held.with_name(ARRAYS).exists():
            knowledge[ARRAYS] = _bytes(held.with_name(ARRAYS))
    files |= {f"book/{name}": each for name, each in knowledge.items()}
    files[PLAN] = document_text(plan_document(study, plan_study(study, progress=progress))).encode()
    return archive_bytes(files, _facts(study_name))


def _facts(study_name: str) -> dict[str, Any]:
    return {
        "version": __version__,
        "made_with": {"python": platform.python_version(), **{name: version(name) for name in _MADE_WITH}},
        "study": study_name,
    }


def _shop_files(path: Path) -> tuple[str, dict[str, bytes]]:
    """Return the packed name of a shop file, and it with what it names."""
    text, content = read_toml(path, kind="shop file")
    files: dict[str, bytes] = {}
    changes: dict[tuple[str, ...], str] = {}
    for table, key in _SHOP_NAMES:
        named = content.get(table, {}).get(key)
        if isinstance(named, str):
            own = Path(named).name
            if own == path.name or f"shop/{own}" in files:
                own = f"{key}-{own}"
            changes[table, key] = own
            files[f"shop/{own}"] = _bytes(path.parent / named)
    name = f"shop/{path.name}"
    return name, {name: with_values(text, changes).encode("utf-8"), **files}


def _papers(stated: Path | None, usual: Path) -> dict[str, bytes]:
    folder = usual if stated is None else stated
    if not folder.is_dir():
        if stated is None:
            return {}
        raise DataError(f"there is no folder {folder}: name the folder of the papers", code="not-a-folder")
    found = sorted(each for each in folder.rglob("*") if each.is_file() and not each.name.startswith("."))
    return {f"{PAPERS}/{each.relative_to(folder).as_posix()}": _bytes(each) for each in found}


def _check(path: Path, study_file: Path, files: Mapping[str, bytes]) -> None:
    """Raise `DataError` unless a study loads, and from the archive's own files alone."""
    try:
        _, content = read_toml(study_file, kind="study file")
        drawing = content.get("drawing")
        named = [content.get("shop"), content.get("knowledge")]
        named.append(drawing.get("file") if isinstance(drawing, dict) else None)
        for each in named:
            if not isinstance(each, str) or each not in files:
                raise DataError(f"{study_file.name} names a file that is not in it, {str(each)[:60]!r}")
        _stay_inside(study_file.parent / str(content["shop"]), files)
        study: Study = load_study(study_file)
    except TrialcutError as error:
        raise DataError(
            f"{path.name} holds no study that can be used ({error.message}): nothing was written",
            code="unusable-pack",
        ) from None
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise DataError(
            f"{path.name} holds no study that can be used ({error}): nothing was written",
            code="unusable-pack",
        ) from None
    if not study.knowledge_file:
        raise DataError(
            f"{path.name} holds no knowledge for its study: have it packed again", code="unusable-pack"
        )


def _stay_inside(shop: Path, files: Mapping[str, bytes]) -> None:
    _, content = read_toml(shop, kind="shop file")
    for table, key in _SHOP_NAMES:
        named = content.get(table, {}).get(key)
        if named is not None and str(PurePosixPath("shop") / str(named)) not in files:
            raise DataError(f"{shop.name} names a file that is not in it, {str(named)[:60]!r}")


def _bytes(path: Path) -> bytes:
    try:
        if path.stat().st_size > SIZE_LIMIT:
            raise DataError(f"{path} is too large to pack: leave it out", code="too-large", path=str(path))
        return path.read_bytes()
    except OSError as error:
        raise DataError(
            f"{path} cannot be packed: {error.strerror or error}; put it back, or name another",
            code="unreadable-file",
            path=str(path),
        ) from None


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _unwritable(folder: Path, error: OSError) -> DataError:
    return DataError(
        f"cannot write {folder}: {error.strerror or error}; name another folder",
        code="unwritable-folder",
        path=str(folder),
    )
