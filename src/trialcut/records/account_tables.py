"""The tables of people: accounts, how they come in, and the trail of what was done.

They are of one shop server and never leave it: no export holds them. All but the trail change in place,
as a password does; the trail is only added to, like the rest of the book.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from trialcut.records.table_base import Base


class AccountRow(Base):
    """A person who may sign in."""

    __tablename__ = "accounts"
    number: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    password: Mapped[str]
    role: Mapped[str]
    disabled: Mapped[bool]


class ApiTokenRow(Base):
    """A program that may act for a person; its secret is not in the book, only a digest."""

    __tablename__ = "api_tokens"
    number: Mapped[int] = mapped_column(primary_key=True)
    account: Mapped[int] = mapped_column(ForeignKey("accounts.number"), index=True)
    name: Mapped[str]
    digest: Mapped[str] = mapped_column(unique=True)
    role: Mapped[str]
    used: Mapped[datetime | None]
    withdrawn: Mapped[bool]


class SignInRow(Base):
    """A browser that is signed in."""

    __tablename__ = "sign_ins"
    digest: Mapped[str] = mapped_column(primary_key=True)
    account: Mapped[int] = mapped_column(ForeignKey("accounts.number"), index=True)
    address: Mapped[str]
    seen: Mapped[datetime]
    until: Mapped[datetime]


class PasswordLinkRow(Base):
    """A link that lets a person choose a password, once."""

    __tablename__ = "password_links"
    digest: Mapped[str] = mapped_column(primary_key=True)
    account: Mapped[int] = mapped_column(ForeignKey("accounts.number"), index=True)
    until: Mapped[datetime]


class AuditRow(Base):
    """One thing that somebody did, or was refused."""

    __tablename__ = "audit_trail"
    number: Mapped[int] = mapped_column(primary_key=True)
    who: Mapped[str]
    at: Mapped[datetime] = mapped_column(index=True)
    address: Mapped[str]
    what: Mapped[str]
    subject: Mapped[str]


OF_PEOPLE = tuple(
    Base.metadata.tables[row.__tablename__]
    for row in (AccountRow, ApiTokenRow, SignInRow, PasswordLinkRow, AuditRow)
)
"""In no export. Of them, the trail alone is kept from change."""
