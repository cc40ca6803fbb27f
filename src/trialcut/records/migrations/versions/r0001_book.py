"""The first form: machines, tubes, trials, readings and fits."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from trialcut.records.columns import Utc
from trialcut.records.migrations.keeping import keep

revision = "0001"
down_revision = None


def _entered() -> sa.Column[object]:
    return sa.Column("entered", Utc(), nullable=False)


def _word(name: str, *, empty: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=empty)


def _figure(name: str, *, empty: bool = False) -> sa.Column[float]:
    return sa.Column(name, sa.Double(), nullable=empty)


def _number() -> sa.Column[int]:
    return sa.Column("number", sa.Integer(), primary_key=True)


def upgrade() -> None:
    """Make the tables."""
    op.create_table("machines", sa.Column("name", sa.Text(), primary_key=True), _entered())
    op.create_table(
        "heads",
        sa.Column("machine", sa.Text(), sa.ForeignKey("machines.name"), primary_key=True),
        sa.Column("name", sa.Text(), primary_key=True),
        _entered(),
    )
    op.create_table("tubes", sa.Column("name", sa.Text(), primary_key=True), _entered())
    op.create_table(
        "tube_log",
        _number(),
        sa.Column("tube", sa.Text(), sa.ForeignKey("tubes.name"), nullable=False, index=True),
        _figure("hours"),
        _figure("bore", empty=True),
        _word("who"),
        sa.Column("at", Utc(), nullable=False),
        _word("remark"),
        _entered(),
    )
    op.create_table("lots", sa.Column("name", sa.Text(), primary_key=True), _word("material"), _entered())
    op.create_table(
        "sessions",
        sa.Column("machine", sa.Text(), sa.ForeignKey("machines.name"), primary_key=True),
        sa.Column("name", sa.Text(), primary_key=True),
        _entered(),
    )
    op.create_table("trial_numbers", _number(), _entered())
    op.create_table(
        "trials",
        _number(),
        _word("id"),
        sa.Column("machine", sa.Text(), sa.ForeignKey("machines.name"), nullable=False, index=True),
        _word("head"),
        sa.Column("tube", sa.Text(), sa.ForeignKey("tubes.name")),
        sa.Column("lot", sa.Text(), sa.ForeignKey("lots.name")),
        _word("session"),
        _word("study"),
        _word("material"),
        _figure("thickness"),
        sa.Column("cut_at", Utc()),
        _word("document"),
        sa.Column("supersedes", sa.Integer(), sa.ForeignKey("trials.number"), unique=True),
        _word("reason"),
        _word("changed_by"),
        _entered(),
        sa.ForeignKeyConstraint(["machine", "head"], ["heads.machine", "heads.name"]),
        sa.ForeignKeyConstraint(["machine", "session"], ["sessions.machine", "sessions.name"]),
    )
    first = sa.text("supersedes IS NULL")
    op.create_index(
        "uq_trials_id_first", "trials", ["id"], unique=True, sqlite_where=first, postgresql_where=first
    )
    op.create_table(
        "coupons",
        sa.Column("id", sa.Text(), primary_key=True),
        sa.Column("trial", sa.Integer(), sa.ForeignKey("trials.number"), nullable=False, index=True),
        _word("kind"),
        _entered(),
    )
    op.create_table(
        "cuts",
        sa.Column("trial", sa.Integer(), sa.ForeignKey("trials.number"), primary_key=True),
        sa.Column("coupon", sa.Text(), sa.ForeignKey("coupons.id"), primary_key=True),
        sa.Column("id", sa.Text(), primary_key=True),
        _word("feature"),
        *(
            _figure(name)
            for name in ("thickness", "nominal", "speed", "tilt", "lead", "offset", "curvature", "length")
        ),
        _entered(),
    )
    op.create_table(
        "readings",
        _number(),
        sa.Column("coupon", sa.Text(), sa.ForeignKey("coupons.id"), nullable=False, index=True),
        _word("cut"),
        _word("kind"),
        _figure("depth", empty=True),
        _figure("value"),
        _word("text"),
        _word("gauge"),
        _figure("standard_uncertainty"),
        _word("who"),
        sa.Column("at", Utc(), nullable=False),
        _word("remark"),
        sa.Column("supersedes", sa.Integer(), sa.ForeignKey("readings.number"), unique=True),
        _word("reason"),
        _word("changed_by"),
        _entered(),
    )
    op.create_table(
        "withdrawals",
        sa.Column("reading", sa.Integer(), sa.ForeignKey("readings.number"), primary_key=True),
        _word("reason"),
        _word("who"),
        _entered(),
    )
    op.create_table(
        "fits",
        _number(),
        sa.Column("machine", sa.Text(), sa.ForeignKey("machines.name"), nullable=False, index=True),
        _word("head"),
        sa.Column("created", Utc(), nullable=False),
        _word("version"),
        sa.Column("good", sa.Boolean(), nullable=False),
        _word("header"),
        _word("kind"),
        sa.Column("arrays", sa.LargeBinary(), nullable=False),
        _word("sha256"),
        _entered(),
    )
    op.create_table(
        "fit_readings",
        sa.Column("fit", sa.Integer(), sa.ForeignKey("fits.number"), primary_key=True),
        sa.Column("position", sa.Integer(), primary_key=True),
        sa.Column("reading", sa.Integer(), sa.ForeignKey("readings.number"), nullable=False, index=True),
        _entered(),
    )
    keep(
        (
            "machines",
            "heads",
            "tubes",
            "tube_log",
            "lots",
            "sessions",
            "trial_numbers",
            "trials",
            "coupons",
            "cuts",
            "readings",
            "withdrawals",
            "fits",
            "fit_readings",
        )
    )
