"""People who may sign in, how they come in, and the trail of what was done."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from trialcut.records.columns import Utc
from trialcut.records.migrations.keeping import keep

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Add the tables. The trail alone is kept from change: passwords and sign-ins must change."""
    op.create_table(
        "accounts",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("name", sa.Text(), nullable=False, unique=True),
        sa.Column("password", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("disabled", sa.Boolean(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "api_tokens",
        sa.Column("number", sa.Integer(), primary_key=True),
        _account(),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False, unique=True),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("used", Utc()),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "sign_ins",
        sa.Column("digest", sa.Text(), primary_key=True),
        _account(),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("seen", Utc(), nullable=False),
        sa.Column("until", Utc(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "password_links",
        sa.Column("digest", sa.Text(), primary_key=True),
        _account(),
        sa.Column("until", Utc(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    op.create_table(
        "audit_trail",
        sa.Column("number", sa.Integer(), primary_key=True),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("at", Utc(), nullable=False, index=True),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("entered", Utc(), nullable=False),
    )
    keep(("audit_trail",))


def _account() -> sa.Column[int]:
    return sa.Column("account", sa.Integer(), sa.ForeignKey("accounts.number"), nullable=False, index=True)
