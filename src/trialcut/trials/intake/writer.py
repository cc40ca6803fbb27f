"""The reading form as files that a spreadsheet opens and `reader.read_form` reads back."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from io import BytesIO, StringIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from trialcut.trials.intake.form import COLUMNS, FormLine, depth_word, usual_unit
from trialcut.trials.types import Reading, ReadingKind, Trial

_MOMENT = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_WIDTHS = {"coupon": 12, "cut": 6, "what": 14, "depth": 10, "gauge": 22, "value": 14, "unit": 8, "remark": 40}


def form_csv(
    lines: Iterable[FormLine],
    *,
    trial: Trial,
    system: str,
    filled: Mapping[FormLine, str] | None = None,
    separator: str = ",",
) -> str:
    """
    The form as comma-separated values.

    Parameters
    ----------
    lines : iterable of FormLine
        From `form.form_lines`.
    trial : Trial
        Named at its head.
    system : str
        ``"inch"`` or ``"metric"``: which units it offers.
    filled : mapping of FormLine to str, optional
        Values, with or without a unit of their own.
    separator : str
        Between cells.

    Returns
    -------
    str
        With comment lines at its head.
    """
    text = StringIO()
    for remark in form_notes(trial):
        text.write(f"# {remark}\n")
    table = csv.writer(text, delimiter=separator, lineterminator="\n")
    table.writerow(COLUMNS)
    table.writerows(_cells(line, system, filled or {}) for line in lines)
    return text.getvalue()


def form_workbook(
    lines: Iterable[FormLine],
    *,
    trial: Trial,
    system: str,
    filled: Mapping[FormLine, str] | None = None,
) -> bytes:
    """
    The form as an XLSX workbook.

    Parameters
    ----------
    lines, trial, system, filled
        As for `form_csv`.

    Returns
    -------
    bytes
        The file.
    """
    from openpyxl import Workbook  # noqa: PLC0415  slow to import
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side  # noqa: PLC0415
    from openpyxl.utils import get_column_letter  # noqa: PLC0415

    book = Workbook()
    sheet = book.active
    sheet.title = "Readings"
    for remark in form_notes(trial):
        sheet.append([f"# {remark}"])
        sheet.cell(sheet.max_row, 1).font = Font(color="5E6A70", size=9)
    sheet.append(list(COLUMNS))
    head = sheet.max_row
    thin = Side(style="thin", color="9AA5AA")
    for k, name in enumerate(COLUMNS, start=1):
        cell = sheet.cell(head, k)
        cell.font = Font(bold=True)
        cell.border = Border(bottom=thin)
        cell.alignment = Alignment(horizontal="right" if name == "value" else "left")
        sheet.column_dimensions[get_column_letter(k)].width = _WIDTHS[name]
    room = PatternFill(fill_type="solid", start_color="F4F6F5", end_color="F4F6F5")
    value = COLUMNS.index("value") + 1
    for line in lines:
        sheet.append(_cells(line, system, filled or {}))
        for k in range(1, len(COLUMNS) + 1):
            cell = sheet.cell(sheet.max_row, k)
            # An id such as 3-2 must not become a date, nor a remark a formula.
            cell.data_type = "s" if cell.value not in {None, ""} else cell.data_type
        for k in (value, value + 1, len(COLUMNS)):
            sheet.cell(sheet.max_row, k).fill = room
        sheet.cell(sheet.max_row, value).alignment = Alignment(horizontal="right")
    sheet.freeze_panes = sheet.cell(head + 1, 1)
    sheet.print_title_rows = f"{head}:{head}"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    data = BytesIO()
    book.save(data)
    return _without_dates(data)


def _without_dates(book: BytesIO) -> bytes:
    """Return a workbook without the moment it was saved, so that the same form gives the same bytes."""
    packed = BytesIO()
    with ZipFile(book) as old, ZipFile(packed, "w", ZIP_DEFLATED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = _MOMENT.sub(rb"\g<1>2000-01-01T00:00:00Z", content)
            new.writestr(ZipInfo(entry.filename), content, ZIP_DEFLATED)
    return packed.getvalue()


def readings_csv(readings: Sequence[Reading]) -> str:
    """
    Readings as the form that would give them again.

    Parameters
    ----------
    readings : sequence of Reading
        With their texts.

    Returns
    -------
    str
        Columns of the form, then who, when and place; the unit stands with the value.
    """
    text = StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow((*COLUMNS, "who", "when", "place"))
    for each in readings:
        table.writerow(
            (
                each.coupon,
                each.cut,
                each.kind,
                depth_word(each.depth),
                each.gauge,
                each.text,
                "",
                each.remark,
                each.who,
                each.when.isoformat(),
                each.place,
            )
        )
    return text.getvalue()


def form_notes(trial: Trial) -> tuple[str, ...]:
    """What stands at the head of a form, as remarks that the reader passes over."""
    return (
        f"Trial {trial.id}: {trial.setup.material.name}, machine {trial.machine}, session {trial.session}.",
        "Write what the gauge shows, with its unit here or in the column unit; yes or no for through.",
        "Leave a value empty that could not be read. Read it twice before writing it once.",
    )


def _cells(line: FormLine, system: str, filled: Mapping[FormLine, str]) -> list[str]:
    unit = "" if line.kind is ReadingKind.THROUGH else usual_unit(line.kind, system)
    value = filled.get(line, "")
    own = any(character.isalpha() or character in "\"'µ%:" for character in value)
    return [
        line.coupon,
        line.cut,
        line.kind.value,
        depth_word(line.depth),
        line.gauge,
        value,
        "" if own else unit,
        "",
    ]
