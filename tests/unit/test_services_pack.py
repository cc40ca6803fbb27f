"""A study in one archive and out of it: the same bytes, the same plan, and nothing from a bad one.

The fit is made up; what is compared is Trialcut with itself, as packing must change nothing.
"""

from __future__ import annotations

import json
import re
import shutil
import struct
import zipfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest

from sample_fits import sample_fit, sample_readings, sample_trials
from trialcut.errors import DataError, UsageError
from trialcut.records import open_book
from trialcut.services import (
    demo_shop_text,
    load_study,
    pack_study,
    plan_document,
    plan_study,
    unpack_study,
    with_book,
)
from trialcut.services.archive import MANIFEST, SIZE_LIMIT, archive_bytes, read_archive
from trialcut.services.bundled import bundled
from trialcut.services.fit_records import record_of_fit
from trialcut.services.toml_change import with_values
from trialcut.trials.knowledge import FittedKnowledge, PriorKnowledge

STUDY = """\
# what the customer asked
quantity = 5
shop = "../cell/shop.toml"  # ours
demands = ["sizes ±0.010 in", "finish 250 uin"]

[drawing]
file = "../drawings/link.dxf"

[stock]
material = "6061"
thickness = "1/2 in"

[setup]
head = "medium"
tube = "tube 12"

[draws]
number = 128
"""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """A study with its drawing and shop in folders of their own, and a book with a fit and a worn tube."""
    root = tmp_path_factory.mktemp("shelf")
    for name in ("studies", "drawings", "cell"):
        (root / name).mkdir()
    (root / "studies" / "big link.toml").write_text(STUDY, encoding="utf-8")
    shutil.copy(bundled("link.dxf"), root / "drawings" / "link.dxf")
    shop = demo_shop_text()
    shop = shop.replace("[machine.north]", "[machine.tilting]").replace('"north"', '"tilting"')
    (root / "cell" / "shop.toml").write_text(shop, encoding="utf-8")
    trials = sample_trials()
    readings = sample_readings(trials)
    with open_book(root / "book.db") as book:
        for trial in trials:
            book.add_trial(trial)
        book.add_readings(readings)
        fit = sample_fit(trials, readings)
        book.add_fit(record_of_fit(fit))
        bad = replace(fit, flags=tuple(replace(flag, bad=True) for flag in fit.flags))
        book.add_fit(record_of_fit(bad))
        book.log_tube_hours("tube 12", 20.0 * 3600.0, "MK")
    return root


@pytest.fixture(scope="module")
def packed(shelf):
    with open_book(shelf / "book.db", make=False) as book:
        return pack_study(shelf / "studies" / "big link.toml", shelf / "link", book=book)


def rewritten(packed: Path, out: Path, **changes: bytes | None) -> Path:
    """A sound archive of other files: None leaves one out."""
    held = read_archive(packed)
    files = {**held.files, **{name: each for name, each in changes.items() if each is not None}}
    files = {name: each for name, each in files.items() if changes.get(name, b"") is not None}
    facts = {key: value for key, value in held.facts.items() if key not in ("files", "sha256")}
    out.write_bytes(archive_bytes(files, facts))
    return out


def refused(path: Path, folder: Path) -> DataError:
    """The error of an archive, which must leave nothing behind."""
    before = sorted(folder.parent.iterdir())
    with pytest.raises(DataError) as caught:
        unpack_study(path, folder)
    assert sorted(folder.parent.iterdir()) == before
    assert "\n" not in caught.value.message
    return caught.value


def test_an_unpacked_study_plans_to_the_same_document_without_a_book(shelf, packed, tmp_path):
    with open_book(shelf / "book.db", make=False) as book:
        own = with_book(load_study(shelf / "studies" / "big link.toml"), book)
    found = unpack_study(packed, tmp_path / "elsewhere")
    study = load_study(found.study)
    assert isinstance(own.knowledge, FittedKnowledge)
    assert own.context.tube_hours == study.context.tube_hours == 20.0 * 3600.0
    assert study.setup == own.setup
    assert study.notes == own.notes
    assert [note.code for note in study.notes if note.code == "fit-refused"] == ["fit-refused"]
    document = plan_document(study, plan_study(study))
    assert document == plan_document(own, plan_study(own))
    assert document == json.loads((tmp_path / "elsewhere" / "plan.json").read_text(encoding="utf-8"))
    assert document["study"]["name"] == "big link"


def test_packing_what_was_unpacked_gives_the_same_bytes(packed, tmp_path):
    found = unpack_study(packed, tmp_path / "out")
    again = pack_study(found.study, tmp_path / "again.trialcut.zip")
    assert again.read_bytes() == packed.read_bytes()


def test_papers_next_to_a_study_are_taken_along(packed, tmp_path):
    found = unpack_study(packed, tmp_path / "out")
    (tmp_path / "out" / "papers" / "sent").mkdir(parents=True)
    (tmp_path / "out" / "papers" / "sent" / "sheet.pdf").write_bytes(b"%PDF")
    more = pack_study(found.study, tmp_path / "more.zip")
    assert more.name == "more.trialcut.zip"
    assert read_archive(more).files["papers/sent/sheet.pdf"] == b"%PDF"


def test_any_unzip_tool_opens_it_and_its_manifest_names_what_it_was_made_with(packed):
    with zipfile.ZipFile(packed) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == [
            MANIFEST,
            "big-link.toml",
            "book/fit.npz",
            "book/knowledge.json",
            "drawing/link.dxf",
            "plan.json",
            "shop/shop.toml",
        ]
        assert {each.date_time for each in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        manifest = json.loads(archive.read(MANIFEST))
        study = archive.read("big-link.toml").decode()
    assert set(manifest["made_with"]) == {"python", "numpy", "scipy", "numba", "shapely", "ezdxf"}
    assert manifest["study"] == "big-link.toml"
    assert "# what the customer asked" in study
    assert 'shop = "shop/shop.toml"  # ours' in study


def test_a_study_packed_without_a_book_takes_nothing_from_the_book_of_another_machine(shelf, tmp_path):
    alone = pack_study(shelf / "studies" / "big link.toml", tmp_path / "alone")
    study = load_study(unpack_study(alone, tmp_path / "out").study)
    with open_book(shelf / "book.db", make=False) as book:
        found = with_book(study, book)
    assert isinstance(found.knowledge, PriorKnowledge)
    assert found.context.tube_hours == 0.0


def test_a_held_fit_is_left_out_where_the_study_was_changed_to_another_abrasive(packed, tmp_path):
    found = unpack_study(packed, tmp_path / "out")
    text = found.study.read_text(encoding="utf-8")
    found.study.write_text(text.replace('tube = "tube 12"', 'abrasive = "garnet 120"'), encoding="utf-8")
    study = load_study(found.study)
    assert isinstance(study.knowledge, PriorKnowledge)
    assert study.notes[-1].code == "fit-other-abrasive"
    assert study.context.tube_hours == 0.0


@pytest.mark.parametrize("at", [0, 10, 60, 400, 5_000, 60_000, -400, -60, -22, -10])
def test_a_changed_byte_anywhere_is_refused(packed, tmp_path, at):
    content = bytearray(packed.read_bytes())
    content[at] ^= 0x15
    bad = tmp_path / "bad.zip"
    bad.write_bytes(content)
    assert "bad.zip" in refused(bad, tmp_path / "out").message


@pytest.mark.parametrize("kept", [0, 3, 100, 5_000, -1, -30])
def test_an_archive_cut_short_is_refused(packed, tmp_path, kept):
    bad = tmp_path / "short.zip"
    bad.write_bytes(packed.read_bytes()[:kept])
    assert refused(bad, tmp_path / "out").case == "damaged-pack"


@pytest.mark.parametrize(
    "name",
    [
        "../evil.toml",
        "/etc/evil",
        "a/../../b",
        "C:/evil",
        "a\\b",
        "con",
        "x/nul.txt",
        "a//b",
        "./a",
        "a./b",
        "a\x00b",
    ],
)
def test_a_name_that_leaves_the_folder_is_refused(tmp_path, name):
    bad = tmp_path / "slip.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        entry = zipfile.ZipInfo("placeholder")
        entry.filename = name
        archive.writestr(entry, b"x")
    assert refused(bad, tmp_path / "out").case == "unsafe-archive"


def test_a_link_a_folder_a_twin_and_a_packed_part_are_refused(tmp_path):
    for number, (names, attributes, method) in enumerate(
        [(["a"], 0o120777 << 16, 0), (["a/b", "A/B"], 0, 0), (["a"], 0, zipfile.ZIP_DEFLATED)]
    ):
        bad = tmp_path / f"{number}.zip"
        with zipfile.ZipFile(bad, "w") as archive:
            for name in names:
                entry = zipfile.ZipInfo(name)
                entry.external_attr = attributes
                entry.compress_type = method
                archive.writestr(entry, b"x" * 100)
        assert refused(bad, tmp_path / "out").case == "damaged-pack"


def test_an_archive_that_says_it_is_huge_is_refused_before_a_part_is_opened(packed, tmp_path):
    content = bytearray(packed.read_bytes())
    at = content.rindex(b"PK\x01\x02")
    content[at + 20 : at + 28] = struct.pack("<II", SIZE_LIMIT + 2**21, SIZE_LIMIT + 2**21)
    bad = tmp_path / "bomb.zip"
    bad.write_bytes(content)
    assert refused(bad, tmp_path / "out").case == "too-large"


def test_more_than_the_limit_is_not_packed():
    with pytest.raises(DataError) as caught:
        archive_bytes({f"{n}": b"" for n in range(2001)}, {})
    assert caught.value.case == "too-large"


def test_a_newer_form_says_so(packed, tmp_path):
    with zipfile.ZipFile(packed) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[MANIFEST] = parts[MANIFEST].replace(b"trialcut/pack/1", b"trialcut/pack/2")
    bad = tmp_path / "new.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    error = refused(bad, tmp_path / "out")
    assert error.case == "newer-pack"
    assert "install the newest version" in error.message


def test_a_zip_of_other_things_is_no_packed_study(tmp_path):
    bad = tmp_path / "other.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        archive.writestr("letter.txt", "hello")
    assert refused(bad, tmp_path / "out").case == "not-a-pack"


@pytest.mark.parametrize(
    "changes",
    [
        {"drawing/link.dxf": b"no drawing"},
        {"drawing/link.dxf": None},
        {"shop/shop.toml": b"nonsense = 1\n"},
        {"shop/shop.toml": None},
        {"book/knowledge.json": b"[]"},
        {"book/knowledge.json": b'{"schema": "trialcut/knowledge/9"}'},
        {"book/fit.npz": b"PK"},
        {"book/fit.npz": None},
        {"big-link.toml": b"quantity = "},
        {"big-link.toml": STUDY.encode()},
    ],
)
def test_a_study_that_does_not_load_is_not_written_even_if_its_checksums_fit(packed, tmp_path, changes):
    bad = rewritten(packed, tmp_path / "bad.zip", **changes)
    assert refused(bad, tmp_path / "out").case == "unusable-pack"


def test_a_pickle_in_the_place_of_a_fit_is_not_run(packed, tmp_path):
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w") as arrays:
        arrays.writestr("CLOSING.scores.npy", b"cos\nsystem\n(S'true'\ntR.")
    bad = rewritten(packed, tmp_path / "bad.zip", **{"book/fit.npz": buffer.getvalue()})
    assert refused(bad, tmp_path / "out").case == "unusable-pack"


def test_nothing_is_written_over(packed, tmp_path):
    (tmp_path / "out").mkdir()
    unpack_study(packed, tmp_path / "out")
    assert refused(packed, tmp_path / "out").case == "folder-not-empty"
    assert refused(packed, tmp_path / "out" / "big-link.toml").case == "not-a-folder"
    assert refused(tmp_path / "none.zip", tmp_path / "new").case == "no-such-file"


def test_a_drawing_is_no_study_to_pack(tmp_path):
    with pytest.raises(UsageError) as caught:
        pack_study(bundled("link.dxf"), tmp_path / "x")
    assert "trialcut new" in caught.value.message


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('a = "x"\n', 'a = "x"\n'),
        ("a = 'y' # why\n", 'a = "x" # why\n'),
        ("[t]\nb = 1\n", 'a = "x"\n[t]\nb = 1\n'),
        ('a = """\ny"""\nc = [1, 2]\n', 'a = "x"\nc = [1, 2]\n'),
    ],
)
def test_one_value_of_a_text_is_changed_and_the_rest_is_kept(text, expected):
    assert with_values(text, {("a",): "x"}) == expected


def test_a_value_in_an_inline_table_is_changed():
    assert with_values('t = { b = "y", c = true }\n', {("t", "b"): "x"}) == '\n[t]\nb = "x"\nc = true\n'


def test_files_that_the_shop_names_come_along_from_wherever_they_are(shelf, tmp_path):
    (tmp_path / "post").mkdir()
    (tmp_path / "post" / "shop.toml").write_text("a template with an odd name {{ body }}", encoding="utf-8")
    shop = (shelf / "cell" / "shop.toml").read_text(encoding="utf-8")
    (tmp_path / "cell").mkdir()
    (tmp_path / "cell" / "shop.toml").write_text(
        re.sub(r"(?m)^(\[program\].*)$", r'\1\ntemplate = "../post/shop.toml"  # ours', shop),
        encoding="utf-8",
    )
    packed = pack_study(
        shelf / "studies" / "big link.toml", tmp_path / "link", shop=tmp_path / "cell" / "shop.toml"
    )
    files = read_archive(packed).files
    assert files["shop/template-shop.toml"] == b"a template with an odd name {{ body }}"
    assert b'template = "template-shop.toml"  # ours' in files["shop/shop.toml"]
    found = unpack_study(packed, tmp_path / "out")
    assert pack_study(found.study, tmp_path / "again").read_bytes() == packed.read_bytes()
    bad = rewritten(packed, tmp_path / "bad.zip", **{"shop/template-shop.toml": None})
    assert refused(bad, tmp_path / "other").case == "unusable-pack"
