"""The tables of the book. Rows are only ever added; what corrects a row names it and says why."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, ForeignKeyConstraint, Index
from sqlalchemy import text as sql
from sqlalchemy.orm import Mapped, mapped_column

from trialcut.records.account_tables import OF_PEOPLE, AuditRow
from trialcut.records.table_base import Base
from trialcut.records.work_tables import JobRow


class MachineRow(Base):
    """A machine that something in the book was cut on."""

    __tablename__ = "machines"
    name: Mapped[str] = mapped_column(primary_key=True)


class HeadRow(Base):
    """A cutting head of a machine."""

    __tablename__ = "heads"
    machine: Mapped[str] = mapped_column(ForeignKey("machines.name"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)


class TubeRow(Base):
    """A mixing tube, by what is marked on it."""

    __tablename__ = "tubes"
    name: Mapped[str] = mapped_column(primary_key=True)


class TubeLogRow(Base):
    """Jet-on time that a mixing tube gained, and its bore where it was measured."""

    __tablename__ = "tube_log"
    number: Mapped[int] = mapped_column(primary_key=True)
    tube: Mapped[str] = mapped_column(ForeignKey("tubes.name"), index=True)
    hours: Mapped[float]
    bore: Mapped[float | None]
    who: Mapped[str]
    at: Mapped[datetime]
    remark: Mapped[str]


class LotRow(Base):
    """A material lot."""

    __tablename__ = "lots"
    name: Mapped[str] = mapped_column(primary_key=True)
    material: Mapped[str]


class SessionRow(Base):
    """What shares one setting of a machine."""

    __tablename__ = "sessions"
    machine: Mapped[str] = mapped_column(ForeignKey("machines.name"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)


class TrialNumberRow(Base):
    """A trial number that was given out, whether the trial came into the book or not."""

    __tablename__ = "trial_numbers"
    number: Mapped[int] = mapped_column(primary_key=True)


class TrialRow(Base):
    """A trial as it was entered, or as it was corrected."""

    __tablename__ = "trials"
    number: Mapped[int] = mapped_column(primary_key=True)
    id: Mapped[str]
    machine: Mapped[str] = mapped_column(ForeignKey("machines.name"), index=True)
    head: Mapped[str]
    tube: Mapped[str | None] = mapped_column(ForeignKey("tubes.name"))
    lot: Mapped[str | None] = mapped_column(ForeignKey("lots.name"))
    session: Mapped[str]
    study: Mapped[str]
    material: Mapped[str]
    thickness: Mapped[float]
    cut_at: Mapped[datetime | None]
    document: Mapped[str]
    supersedes: Mapped[int | None] = mapped_column(ForeignKey("trials.number"), unique=True)
    reason: Mapped[str]
    changed_by: Mapped[str]
    __table_args__ = (
        ForeignKeyConstraint(["machine", "head"], ["heads.machine", "heads.name"]),
        ForeignKeyConstraint(["machine", "session"], ["sessions.machine", "sessions.name"]),
        Index(
            "uq_trials_id_first",
            "id",
            unique=True,
            sqlite_where=sql("supersedes IS NULL"),
            postgresql_where=sql("supersedes IS NULL"),
        ),
    )


class CouponRow(Base):
    """A coupon, under the trial that it was entered with."""

    __tablename__ = "coupons"
    id: Mapped[str] = mapped_column(primary_key=True)
    trial: Mapped[int] = mapped_column(ForeignKey("trials.number"), index=True)
    kind: Mapped[str]


class CutRow(Base):
    """A cut on a coupon, as one entry or correction of its trial has it."""

    __tablename__ = "cuts"
    trial: Mapped[int] = mapped_column(ForeignKey("trials.number"), primary_key=True)
    coupon: Mapped[str] = mapped_column(ForeignKey("coupons.id"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    feature: Mapped[str]
    thickness: Mapped[float]
    nominal: Mapped[float]
    speed: Mapped[float]
    tilt: Mapped[float]
    lead: Mapped[float]
    offset: Mapped[float]
    curvature: Mapped[float]
    length: Mapped[float]


class ReadingRow(Base):
    """A reading as it was entered, or as it was corrected."""

    __tablename__ = "readings"
    number: Mapped[int] = mapped_column(primary_key=True)
    coupon: Mapped[str] = mapped_column(ForeignKey("coupons.id"), index=True)
    cut: Mapped[str]
    kind: Mapped[str]
    depth: Mapped[float | None]
    value: Mapped[float]
    text: Mapped[str]
    gauge: Mapped[str]
    standard_uncertainty: Mapped[float]
    who: Mapped[str]
    at: Mapped[datetime]
    remark: Mapped[str]
    place: Mapped[str] = mapped_column(server_default=sql("''"))
    supersedes: Mapped[int | None] = mapped_column(ForeignKey("readings.number"), unique=True)
    reason: Mapped[str]
    changed_by: Mapped[str]


class WithdrawalRow(Base):
    """A reading set aside."""

    __tablename__ = "withdrawals"
    reading: Mapped[int] = mapped_column(ForeignKey("readings.number"), primary_key=True)
    reason: Mapped[str]
    who: Mapped[str]


class FitRow(Base):
    """A fit: what it says as text, and its arrays."""

    __tablename__ = "fits"
    number: Mapped[int] = mapped_column(primary_key=True)
    machine: Mapped[str] = mapped_column(ForeignKey("machines.name"), index=True)
    head: Mapped[str]
    created: Mapped[datetime]
    version: Mapped[str]
    good: Mapped[bool]
    header: Mapped[str]
    kind: Mapped[str]
    arrays: Mapped[bytes]
    sha256: Mapped[str]


class FitReadingRow(Base):
    """A reading that a fit used, in the fit's order."""

    __tablename__ = "fit_readings"
    fit: Mapped[int] = mapped_column(ForeignKey("fits.number"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    reading: Mapped[int] = mapped_column(ForeignKey("readings.number"), index=True)


class GaugeStudyRow(Base):
    """A study of a gauge: the table as read, and what came of it."""

    __tablename__ = "gauge_studies"
    number: Mapped[int] = mapped_column(primary_key=True)
    gauge: Mapped[str] = mapped_column(index=True)
    text: Mapped[str]
    result: Mapped[str]
    who: Mapped[str]
    at: Mapped[datetime]


class StudyRow(Base):
    """A study file as it stood."""

    __tablename__ = "studies"
    number: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(index=True)
    text: Mapped[str]
    who: Mapped[str]


class PlanRow(Base):
    """A plan that was issued for a study."""

    __tablename__ = "plans"
    number: Mapped[int] = mapped_column(primary_key=True)
    study: Mapped[int] = mapped_column(ForeignKey("studies.number"), index=True)
    option: Mapped[str]
    document: Mapped[str]
    who: Mapped[str]
    at: Mapped[datetime]


class PaperRow(Base):
    """A paper that was issued with a plan."""

    __tablename__ = "papers"
    plan: Mapped[int] = mapped_column(ForeignKey("plans.number"), primary_key=True)
    name: Mapped[str] = mapped_column(primary_key=True)
    content: Mapped[bytes]
    sha256: Mapped[str]


TABLES = tuple(table for table in Base.metadata.sorted_tables if table not in {JobRow.__table__, *OF_PEOPLE})
"""All whose rows are kept for good, each after those that it refers to."""

KEPT = (*TABLES, Base.metadata.tables[AuditRow.__tablename__])
"""All whose rows are only ever added to."""
