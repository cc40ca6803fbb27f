"""What all tables of the book have in common."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from sqlalchemy import Double, LargeBinary, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from trialcut.records.columns import Utc, now

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Common to all tables."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar = {str: Text(), float: Double(), datetime: Utc(), bytes: LargeBinary()}

    entered: Mapped[datetime] = mapped_column(default=now, sort_order=100)
