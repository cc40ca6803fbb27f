"""People at the workbench: their passwords, how they come in, and the programs that act for them.

The one home of the password hash. Secrets (what a browser holds, a token, a link) are random, and the book
keeps a digest of each alone.
"""

from __future__ import annotations

import hmac
from datetime import datetime, timedelta
from functools import cache
from hashlib import sha256
from secrets import token_urlsafe
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from trialcut.errors import DataError, UsageError
from trialcut.records import Account, Book, Token
from trialcut.records.columns import now

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST, LONGEST = 12, 200
"""Characters of a password."""
IDLE = timedelta(hours=12)
"""After so long without a request a browser is signed out."""
SIGNED_IN_FOR = timedelta(days=7)
"""After so long a browser is signed out in any case."""
LINK_FOR = timedelta(hours=48)
"""So long a link to choose a password counts."""
_AT_ONCE = BoundedSemaphore(2)  # each hash takes 64 MiB


def digest_of(secret: str) -> str:
    """What the book keeps of a secret; a plain digest will do for 256 random bits."""
    return sha256(secret.encode()).hexdigest()


def proof_of(secret: str) -> str:
    """What a page proves with that it was made for the browser that holds a secret, without telling it."""
    return hmac.new(secret.encode(), b"trialcut form", sha256).hexdigest()


def new_secret() -> str:
    """Return 256 random bits as text."""
    return token_urlsafe(32)


def add_person(book: Book, name: str, *, role: str, password: str | None = None) -> Account:
    """
    Add an account.

    Parameters
    ----------
    book : Book
        The shop's.
    name : str
        To sign in with.
    role : str
        ``"view"``, ``"measure"``, ``"plan"`` or ``"manage"``.
    password : str, optional
        Without one nobody can sign in until one is chosen by a link.

    Returns
    -------
    Account
        As it is kept.

    Raises
    ------
    UsageError
        The name, role or password cannot be one.
    BookError
        There is such an account.
    """
    if password is None:
        return book.accounts.add(name, role=role)
    return book.accounts.add(name, role=role, password=hash_of(usable_password(password, name)))


def choose_password(book: Book, name: str, password: str, *, staying: str = "") -> None:
    """
    Change a password; every browser but one is signed out.

    Parameters
    ----------
    book : Book
        The shop's.
    name : str
        Of the account.
    password : str
        The new one.
    staying : str
        Secret of the browser that stays signed in; none if empty.
    """
    book.accounts.get(name)
    but = digest_of(staying) if staying else ""
    book.accounts.set_password(name, hash_of(usable_password(password, name)), but=but)


def right_password(book: Book, name: str, password: str) -> Account | None:
    """
    Check a password, in the same time whether or not there is such an account.

    Parameters
    ----------
    book : Book
        The shop's.
    name, password : str
        As typed.

    Returns
    -------
    Account or None
        None for an unknown name, a wrong password, or an account that is disabled or has no password.
    """
    account, kept = book.accounts.password_of(name)
    able = account is not None and not account.disabled and bool(kept)
    right = _verified(kept if able else _nobodys(), password[: 4 * LONGEST])
    if not (able and right):
        return None
    if _hasher().check_needs_rehash(kept):
        book.accounts.renew_hash(name, old=kept, new=hash_of(password))
    return account


def begin_sign_in(book: Book, account: Account, *, address: str) -> str:
    """Sign a browser in; gives the secret that it shall hold, new each time."""
    secret = new_secret()
    until = now() + SIGNED_IN_FOR
    book.accounts.begin_sign_in(account.name, digest=digest_of(secret), until=until, address=address)
    return secret


def password_link(book: Book, name: str) -> tuple[str, datetime]:
    """Make a link to choose a password by, once; gives its secret and until when it counts."""
    secret, until = new_secret(), now() + LINK_FOR
    book.accounts.add_link(name, digest=digest_of(secret), until=until)
    return secret, until


def use_password_link(book: Book, secret: str, password: str) -> Account:
    """Choose a password by a link, which then no longer counts."""
    account = book.accounts.link(digest_of(secret))
    if account is not None:
        kept = hash_of(usable_password(password, account.name))
        account = book.accounts.use_link(digest_of(secret), kept)
    if account is None:
        raise DataError(
            "this link was used already, or is too old: ask who manages the people for a new one",
            code="no-such-link",
        )
    return account


def make_token(book: Book, owner: str, *, name: str, role: str) -> tuple[str, Token]:
    """Make a token for a program; gives its secret, which is never shown again."""
    secret = f"tc_{new_secret()}"
    return secret, book.accounts.add_token(owner, name=name, digest=digest_of(secret), role=role)


def usable_password(password: str, name: str) -> str:
    """
    Return a password that may be used, as it is.

    Raises
    ------
    UsageError
        It is too short or too long, or is the name.
    """
    if not SHORTEST <= len(password) <= LONGEST:
        raise UsageError(
            f"a password has {SHORTEST} to {LONGEST} characters, and this one has {len(password)}: "
            "take four words that do not belong together",
            code="bad-password",
            field="password",
        )
    if name.strip().lower() in password.lower() and len(name.strip()) > SHORTEST // 2:
        raise UsageError(
            "a password must not hold the name: choose another", code="bad-password", field="password"
        )
    if len(set(password)) < SHORTEST // 2:
        raise UsageError(
            "this password repeats too few characters: take four words that do not belong together",
            code="bad-password",
            field="password",
        )
    return password


def hash_of(password: str) -> str:
    """Argon2id hash of a password, with its salt and parameters."""
    with _AT_ONCE:
        return _hasher().hash(password)


def _verified(kept: str, password: str) -> bool:
    from argon2.exceptions import InvalidHashError, VerificationError  # noqa: PLC0415

    try:
        with _AT_ONCE:
            return _hasher().verify(kept, password)
    except (VerificationError, InvalidHashError):
        return False


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher  # noqa: PLC0415 - seldom needed

    return PasswordHasher()  # Argon2id with the second set of parameters that RFC 9106 recommends


@cache
def _nobodys() -> str:
    return hash_of(new_secret())
