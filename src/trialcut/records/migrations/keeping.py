"""Triggers that refuse to change or delete what is in the book."""

from __future__ import annotations

from collections.abc import Iterable

from alembic import op

REFUSAL = "the book is never overwritten: enter a correction"


def keep(tables: Iterable[str]) -> None:
    """
    Let rows of tables be added and read, and nothing else.

    Parameters
    ----------
    tables : iterable of str
        Their names.
    """
    if op.get_bind().dialect.name == "sqlite":
        for table in tables:
            for change in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER keep_{table}_{change.lower()} BEFORE {change} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
                )
        return
    op.execute(
        "CREATE OR REPLACE FUNCTION keep_the_book() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$"
    )
    for table in tables:
        op.execute(
            f"CREATE TRIGGER keep_{table}_rows BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION keep_the_book()"
        )
        op.execute(
            f"CREATE TRIGGER keep_{table}_whole BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION keep_the_book()"
        )
