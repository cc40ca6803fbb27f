"""Where on the piece a reading was taken; gauge studies, studies, issued plans and their papers."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from trialcut.records.columns import Utc
from trialcut.records.migrations.keeping import keep

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the column and the tables."""
    op.add_column(  # not in a batch: that would make the table anew, without its triggers
        "readings", sa.Column("place", sa.Text(), nullable=False, server_default=sa.text("''"))
    )
    op.create_table(
        "gauge_studies",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("gauge", sa.Text(), nullable=False, index=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", Utc(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "studies",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False, index=True),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "plans",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("study", sa.Integer(), sa.ForeignKey("studies.number"), nullable=False, index=True),
        sa.Column("option", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", Utc(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "papers",
        sa.Column("plan", sa.Integer(), sa.ForeignKey("plans.number"), primary_key=True),
        sa.Column("name", sa.Text(), primary_key=True),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    keep(("gauge_studies", "studies", "plans", "papers"))
