"""People who may use the workbench over a network: their accounts, sign-ins, tokens, and the trail."""

from __future__ import annotations

import re
import unicodedata
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Engine, delete, func, insert, select, update

from trialcut.errors import UnknownNameError, UsageError
from trialcut.records.account_tables import AccountRow, ApiTokenRow, AuditRow, PasswordLinkRow, SignInRow
from trialcut.records.account_types import ROLES, Account, Token, TrailEntry, lesser
from trialcut.records.columns import now
from trialcut.records.engine import reading, writing
from trialcut.records.errors import BookError

SEEN_EVERY = timedelta(minutes=1)
"""So fine is kept when a browser or a program was last here."""
_NAME = re.compile(r"[a-z0-9][a-z0-9._@-]{0,63}", re.ASCII)
_LONGEST = 300


class Accounts:
    """
    People of a book.

    Parameters
    ----------
    engine : Engine
        Of the book.
    shown : str
        The book, as messages call it.
    """

    def __init__(self, engine: Engine, shown: str) -> None:
        self._engine, self._shown = engine, shown

    # Accounts

    def has_manager(self) -> bool:
        """Return whether somebody can sign in and manage the rest."""
        with reading(self._engine, self._shown) as connection:
            return _managers(connection, with_password=True) > 0

    def any(self) -> bool:
        """Return whether there is any account."""
        with reading(self._engine, self._shown) as connection:
            return connection.execute(select(func.count()).select_from(AccountRow)).scalar_one() > 0

    def all(self) -> tuple[Account, ...]:
        """Return all accounts by name."""
        with reading(self._engine, self._shown) as connection:
            return tuple(_account(row) for row in connection.execute(_ACCOUNTS.order_by(AccountRow.name)))

    def get(self, name: str) -> Account:
        """Return one account, or raise `UnknownNameError`."""
        with reading(self._engine, self._shown) as connection:
            return _account(_row(connection, name))

    def password_of(self, name: str) -> tuple[Account | None, str]:
        """Return the account of a name and the hash of its password; None and nothing if there is none."""
        with reading(self._engine, self._shown) as connection:
            row = connection.execute(_ACCOUNTS.where(AccountRow.name == account_name(name))).first()
            return (None, "") if row is None else (_account(row), row.password)

    def add(self, name: str, *, role: str, password: str = "") -> Account:
        """
        Add an account.

        Parameters
        ----------
        name : str
            To sign in with; upper and lower case are the same.
        role : str
            One of `ROLES`.
        password : str
            Its hash; empty until one is chosen by a link.

        Returns
        -------
        Account
            As it is kept.

        Raises
        ------
        UsageError
            The name cannot be one, or there is no such role.
        BookError
            There is such an account.
        """
        kept = account_name(name)
        if not _NAME.fullmatch(kept):
            raise UsageError(
                f"'{name[:40]}' cannot be an account's name: use up to 64 letters a-z, digits, and . _ @ -",
                code="bad-name",
            )
        with writing(self._engine, self._shown) as connection:
            if connection.execute(_ACCOUNTS.where(AccountRow.name == kept)).first() is not None:
                raise BookError(
                    f"there is an account '{kept}' already: choose another name", code="name-taken"
                )
            values = {"name": kept, "password": password, "role": known_role(role), "disabled": False}
            connection.execute(insert(AccountRow).values(values))
            return _account(_row(connection, kept))

    def set_password(self, name: str, password: str, *, but: str = "") -> None:
        """
        Change a password, and end what the old one began: sign-ins and links.

        Parameters
        ----------
        name : str
            Of the account.
        password : str
            Its new hash.
        but : str
            Digest of the one sign-in that goes on.
        """
        with writing(self._engine, self._shown) as connection:
            number = _row(connection, name).number
            _set(connection, number, password=password)
            _end(connection, number, but=but)

    def renew_hash(self, name: str, *, old: str, new: str) -> None:
        """Keep a better hash of the same password, unless it was changed meanwhile."""
        with writing(self._engine, self._shown) as connection:
            same = (AccountRow.name == account_name(name), AccountRow.password == old)
            connection.execute(update(AccountRow).where(*same).values(password=new))

    def set_role(self, name: str, role: str) -> None:
        """Give an account another role; its tokens never have more."""
        with writing(self._engine, self._shown) as connection:
            row = _row(connection, name)
            _set(connection, row.number, role=known_role(role))
            _still_managed(connection)

    def disable(self, name: str) -> None:
        """Keep a person out from now on; the name stays in the trail."""
        with writing(self._engine, self._shown) as connection:
            number = _row(connection, name).number
            _set(connection, number, disabled=True)
            _still_managed(connection)
            _end(connection, number)

    def enable(self, name: str) -> None:
        """Let a person in again."""
        with writing(self._engine, self._shown) as connection:
            _set(connection, _row(connection, name).number, disabled=False)

    # Sign-ins of browsers

    def begin_sign_in(self, name: str, *, digest: str, until: datetime, address: str) -> None:
        """Enter a browser as signed in, and forget those whose time is over."""
        moment = now()
        with writing(self._engine, self._shown) as connection:
            connection.execute(delete(SignInRow).where(SignInRow.until < moment))
            connection.execute(delete(PasswordLinkRow).where(PasswordLinkRow.until < moment))
            number = _row(connection, name).number
            values = {"digest": digest, "account": number, "address": address, "seen": moment, "until": until}
            connection.execute(insert(SignInRow).values(values))

    def signed_in(self, digest: str, *, idle: timedelta) -> Account | None:
        """
        Return who is signed in, and keep that they were here.

        Parameters
        ----------
        digest : str
            Of what the browser holds.
        idle : timedelta
            After so long without a request a sign-in is over.

        Returns
        -------
        Account or None
            None if it is over, was never begun, or the account is disabled.
        """
        moment = now()
        found = (
            select(*_COLUMNS, SignInRow.seen, SignInRow.until)
            .join(SignInRow, SignInRow.account == AccountRow.number)
            .where(SignInRow.digest == digest)
        )
        with reading(self._engine, self._shown) as connection:
            row = connection.execute(found).first()
        if row is None or row.disabled or row.until <= moment or row.seen + idle <= moment:
            return None
        if moment - row.seen > SEEN_EVERY:
            with writing(self._engine, self._shown) as connection:
                connection.execute(update(SignInRow).where(SignInRow.digest == digest).values(seen=moment))
        return _account(row)

    def end_sign_in(self, digest: str) -> None:
        """Sign a browser out."""
        with writing(self._engine, self._shown) as connection:
            connection.execute(delete(SignInRow).where(SignInRow.digest == digest))

    def end_sign_ins(self, name: str, *, but: str = "") -> None:
        """Sign a person out everywhere, one browser excepted."""
        with writing(self._engine, self._shown) as connection:
            _end(connection, _row(connection, name).number, but=but)

    # Links to choose a password by

    def add_link(self, name: str, *, digest: str, until: datetime) -> None:
        """Enter a link; those made before for the same person no longer count."""
        with writing(self._engine, self._shown) as connection:
            number = _row(connection, name).number
            connection.execute(delete(PasswordLinkRow).where(PasswordLinkRow.account == number))
            values = {"digest": digest, "account": number, "until": until}
            connection.execute(insert(PasswordLinkRow).values(values))

    def link(self, digest: str) -> Account | None:
        """Return whose link it is; None if it was used, is too old, or never was."""
        with reading(self._engine, self._shown) as connection:
            return _of_link(connection, digest)

    def use_link(self, digest: str, password: str) -> Account | None:
        """Choose a password by a link, which then no longer counts, and sign the person out everywhere."""
        with writing(self._engine, self._shown) as connection:
            account = _of_link(connection, digest)
            if account is None:
                return None
            number = _row(connection, account.name).number
            _set(connection, number, password=password)
            _end(connection, number)
            return account

    # Tokens of programs

    def add_token(self, owner: str, *, name: str, digest: str, role: str) -> Token:
        """
        Add a token.

        Parameters
        ----------
        owner : str
            Account that it acts for.
        name : str
            What it is for.
        digest : str
            Of its secret.
        role : str
            At most the owner's.

        Returns
        -------
        Token
            As it is kept.

        Raises
        ------
        UsageError
            It would have more than its owner, or no name.
        """
        called = " ".join(name.split())[:60]
        if not called:
            raise UsageError("a token needs a name: say what it is for", code="bad-name")
        with writing(self._engine, self._shown) as connection:
            row = _row(connection, owner)
            if lesser(known_role(role), row.role) != role:
                raise UsageError(
                    f"a token cannot have the role '{role}', more than its owner's '{row.role}': choose that",
                    code="role-too-large",
                )
            values = {"account": row.number, "name": called, "digest": digest, "role": role}
            connection.execute(insert(ApiTokenRow).values({**values, "used": None, "withdrawn": False}))
            return _token(connection.execute(_TOKENS.where(ApiTokenRow.digest == digest)).one())

    def tokens(self, owner: str) -> tuple[Token, ...]:
        """Return the tokens of a person that still count."""
        mine = _TOKENS.where(AccountRow.name == account_name(owner), ~ApiTokenRow.withdrawn)
        with reading(self._engine, self._shown) as connection:
            return tuple(_token(row) for row in connection.execute(mine.order_by(ApiTokenRow.number)))

    def withdraw_token(self, owner: str, number: int) -> None:
        """Let a token of a person no longer count, or raise `UnknownNameError`."""
        with writing(self._engine, self._shown) as connection:
            own = (ApiTokenRow.number == number, ApiTokenRow.account == _row(connection, owner).number)
            done = connection.execute(update(ApiTokenRow).where(*own).values(withdrawn=True))
            if not done.rowcount:
                raise UnknownNameError(
                    f"'{owner}' has no token {number}: see which there are", code="no-such-token"
                )

    def bearer(self, digest: str) -> tuple[Account, str] | None:
        """Return whom a token acts for and in which role, and keep that it was used; None if for nobody."""
        moment = now()
        found = (
            select(*_COLUMNS, ApiTokenRow.role.label("granted"), ApiTokenRow.used)
            .join(ApiTokenRow, ApiTokenRow.account == AccountRow.number)
            .where(ApiTokenRow.digest == digest, ~ApiTokenRow.withdrawn)
        )
        with reading(self._engine, self._shown) as connection:
            row = connection.execute(found).first()
        if row is None or row.disabled:
            return None
        if row.used is None or moment - row.used > SEEN_EVERY:
            with writing(self._engine, self._shown) as connection:
                connection.execute(
                    update(ApiTokenRow).where(ApiTokenRow.digest == digest).values(used=moment)
                )
        return _account(row), lesser(row.granted, row.role)

    # The trail

    def note(self, *, who: str, address: str, what: str, subject: str = "") -> None:
        """Enter what somebody did, from where and to what."""
        given = {"who": who, "address": address, "what": what, "subject": subject}
        values = {name: _one_line(text) for name, text in given.items()}
        with writing(self._engine, self._shown) as connection:
            connection.execute(insert(AuditRow).values({**values, "at": now()}))

    def trail(self, *, limit: int = 50) -> tuple[TrailEntry, ...]:
        """Return what was done last, the newest first."""
        columns = (AuditRow.who, AuditRow.at, AuditRow.address, AuditRow.what, AuditRow.subject)
        with reading(self._engine, self._shown) as connection:
            rows = connection.execute(select(*columns).order_by(AuditRow.number.desc()).limit(limit))
            return tuple(TrailEntry(**row) for row in rows.mappings())


_COLUMNS = (
    AccountRow.number,
    AccountRow.name,
    AccountRow.password,
    AccountRow.role,
    AccountRow.disabled,
    AccountRow.entered,
)
_ACCOUNTS = select(*_COLUMNS)
_TOKENS = select(
    ApiTokenRow.number,
    AccountRow.name.label("owner"),
    ApiTokenRow.name,
    ApiTokenRow.role,
    ApiTokenRow.entered.label("created"),
    ApiTokenRow.used,
).join(AccountRow, AccountRow.number == ApiTokenRow.account)


def account_name(name: str) -> str:
    """The one form in which the name of an account is kept and compared."""
    return unicodedata.normalize("NFKC", name).strip().lower()


def known_role(role: str) -> str:
    """A role as it stands, or raise `UsageError`."""
    if role not in ROLES:
        raise UsageError(f"there is no role '{role[:20]}': there is {', '.join(ROLES)}", code="no-such-role")
    return role


def _row(connection: Connection, name: str) -> Any:
    row = connection.execute(_ACCOUNTS.where(AccountRow.name == account_name(name))).first()
    if row is None:
        raise UnknownNameError(
            f"there is no account '{name[:40]}': see which there are, or add it", code="no-such-account"
        )
    return row


def _account(row: Any) -> Account:
    return Account(
        name=row.name,
        role=row.role,
        disabled=row.disabled,
        has_password=bool(row.password),
        created=row.entered,
    )


def _token(row: Any) -> Token:
    return Token(**row._mapping)


def _set(connection: Connection, number: int, **values: Any) -> None:
    connection.execute(update(AccountRow).where(AccountRow.number == number).values(**values))


def _end(connection: Connection, number: int, *, but: str = "") -> None:
    own = (SignInRow.account == number, SignInRow.digest != but)
    connection.execute(delete(SignInRow).where(*own))
    connection.execute(delete(PasswordLinkRow).where(PasswordLinkRow.account == number))


def _of_link(connection: Connection, digest: str) -> Account | None:
    found = (
        select(*_COLUMNS, PasswordLinkRow.until)
        .join(PasswordLinkRow, PasswordLinkRow.account == AccountRow.number)
        .where(PasswordLinkRow.digest == digest)
    )
    row = connection.execute(found).first()
    return None if row is None or row.disabled or row.until <= now() else _account(row)


def _managers(connection: Connection, *, with_password: bool = False) -> int:
    able = [AccountRow.role == "manage", ~AccountRow.disabled]
    if with_password:
        able.append(AccountRow.password != "")
    return connection.execute(select(func.count()).select_from(AccountRow).where(*able)).scalar_one()


def _still_managed(connection: Connection) -> None:
    if not _managers(connection):
        raise BookError(
            "nobody would be left who may manage: give the role 'manage' to somebody else first",
            code="last-manager",
        )


def _one_line(text: str) -> str:
    return "".join(each if each.isprintable() else " " for each in text)[:_LONGEST]
