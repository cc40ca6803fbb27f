"""Drawings, the studies that are worked on and their edits; long work that was asked for."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from trialcut.records.columns import Utc
from trialcut.records.migrations.keeping import keep

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the tables. Jobs change as they are worked on: their rows are not kept from it."""
    op.create_table(
        "drawings",
        sa.Column("id", sa.Text(), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "drafts",
        sa.Column("id", sa.Text(), primary_key=True),
        sa.Column("drawing", sa.Text(), sa.ForeignKey("drawings.id"), nullable=False, index=True),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "draft_edits",
        sa.Column("draft", sa.Text(), sa.ForeignKey("drafts.id"), primary_key=True),
        sa.Column("version", sa.Integer(), primary_key=True),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", Utc(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("set_aside", sa.Boolean(), nullable=False),
        sa.Column("undoes", sa.Integer()),
        sa.Column("undo_next", sa.Integer()),
        sa.Column("redo_next", sa.Integer()),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "jobs",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("draft", sa.Text(), nullable=False, index=True),
        sa.Column("version", sa.Integer()),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False, index=True),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False, index=True),
        sa.Column("worker", sa.Text(), nullable=False),
        sa.Column("takes", sa.Integer(), nullable=False),
        sa.Column("begun", Utc()),
        sa.Column("beat", Utc()),
        sa.Column("doing", sa.Text(), nullable=False),
        sa.Column("fraction", sa.Double(), nullable=False),
        sa.Column("ended", Utc()),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    keep(("drawings", "drafts", "draft_edits"))
