"""The shop's book: what was cut, read, fitted and issued, kept for good."""

from trialcut.records.account_types import ROLES, Account, Token, TrailEntry, may
from trialcut.records.accounts import Accounts
from trialcut.records.book import Book, open_book
from trialcut.records.draft_types import Draft, DraftConflictError, DraftPage
from trialcut.records.drafts import Drafts
from trialcut.records.errors import (
    BookBusyError,
    BookError,
    BookFullError,
    BookServerError,
    DamagedBookError,
    NewerBookError,
    NotABookError,
)
from trialcut.records.job_types import Job, JobState
from trialcut.records.jobs import Jobs
from trialcut.records.serial import read_trial, trial_text
from trialcut.records.types import (
    BookInfo,
    FitRecord,
    GaugeStudyRecord,
    PlanRecord,
    ReadingVersion,
    StudyRecord,
    TubeEntry,
)

__all__ = [
    "ROLES",
    "Account",
    "Accounts",
    "Book",
    "BookBusyError",
    "BookError",
    "BookFullError",
    "BookInfo",
    "BookServerError",
    "DamagedBookError",
    "Draft",
    "DraftConflictError",
    "DraftPage",
    "Drafts",
    "FitRecord",
    "GaugeStudyRecord",
    "Job",
    "JobState",
    "Jobs",
    "NewerBookError",
    "NotABookError",
    "PlanRecord",
    "ReadingVersion",
    "StudyRecord",
    "Token",
    "TrailEntry",
    "TubeEntry",
    "may",
    "open_book",
    "read_trial",
    "trial_text",
]
