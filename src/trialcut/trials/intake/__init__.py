"""Taking in readings: the form to fill, the filled form read, and what a person should look at again."""

from trialcut.trials.intake.doubts import doubts
from trialcut.trials.intake.finding import ReadingFinding
from trialcut.trials.intake.form import FormGauge, FormLine, form_lines
from trialcut.trials.intake.reader import Intake, read_form
from trialcut.trials.intake.sheets import FormError, rows_of_file
from trialcut.trials.intake.writer import form_csv, form_workbook, readings_csv

__all__ = [
    "FormError",
    "FormGauge",
    "FormLine",
    "Intake",
    "ReadingFinding",
    "doubts",
    "form_csv",
    "form_lines",
    "form_workbook",
    "read_form",
    "readings_csv",
    "rows_of_file",
]
