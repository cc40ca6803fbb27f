"""``trialcut people``: who may use the workbench over a network."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from trialcut.cli import options as o

if TYPE_CHECKING:
    from trialcut.records import Book

people_app = typer.Typer(help="Who may use the workbench over a network.", no_args_is_help=True)

Name = Annotated[str, typer.Argument(metavar="NAME", help="To sign in with.")]
Role = Annotated[
    str,
    typer.Option("--role", metavar="ROLE", help="view, measure, plan or manage: each with all before it."),
]


@people_app.command("add")
def add_command(*, name: Name, role: Role = "view", book: o.BookPlace = None) -> None:
    """Add somebody; asks for a password, or takes it from the first line of a pipe."""
    from trialcut import services
    from trialcut.cli.output import console
    from trialcut.services import people

    with services.book_to_write(book) as held:
        account = people.add_person(held, name, role=role, password=_password())
        _note(held, "added an account", f"{account.name}, {account.role}")
    console().print(f"{account.name} may {account.role}")


@people_app.command("list")
def list_command(*, book: o.BookPlace = None) -> None:
    """List everybody, with role and whether they can sign in."""
    from trialcut import services
    from trialcut.cli.output import console

    out = console()
    with services.book_to_use(book) as held:
        accounts = held.accounts.all()
    for account in accounts:
        state = (
            "kept out" if account.disabled else "can sign in" if account.has_password else "no password yet"
        )
        out.print(f"{account.name}: {account.role}, {state}")
    if not accounts:
        out.print("nobody: add somebody with trialcut people add NAME --role manage")


@people_app.command("role")
def role_command(
    *,
    name: Name,
    role: Annotated[str, typer.Argument(metavar="ROLE", help="view, measure, plan or manage.")],
    book: o.BookPlace = None,
) -> None:
    """Give somebody another role; holds from the next request on."""
    from trialcut import services
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        held.accounts.set_role(name, role)
        _note(held, "changed a role", f"{name}, {role}")
    console().print(f"{name} may {role}")


@people_app.command("disable")
def disable_command(
    *,
    name: Name,
    undo: Annotated[bool, typer.Option("--undo", help="Let them in again.")] = False,
    book: o.BookPlace = None,
) -> None:
    """Keep somebody out: browsers are signed out, tokens no longer count, the name stays in the trail."""
    from trialcut import services
    from trialcut.cli.output import console

    with services.book_to_use(book) as held:
        change = held.accounts.enable if undo else held.accounts.disable
        change(name)
        _note(held, "enabled an account" if undo else "disabled an account", name)
    console().print(f"{name} {'can sign in again' if undo else 'is kept out'}")


@people_app.command("password")
def password_command(*, name: Name, book: o.BookPlace = None) -> None:
    """Choose a password for somebody; signs them out everywhere."""
    from trialcut import services
    from trialcut.cli.output import console
    from trialcut.services import people

    with services.book_to_use(book) as held:
        held.accounts.get(name)
        people.choose_password(held, name, _password())
        _note(held, "changed a password", name)
    console().print(f"{name} has another password")


@people_app.command("token")
def token_command(
    *,
    name: Name,
    purpose: Annotated[str, typer.Option("--for", metavar="TEXT", help="What the token is for.")],
    role: Role = "view",
    book: o.BookPlace = None,
) -> None:
    """Make a token for a program that acts for somebody, and print it this once."""
    from trialcut import services
    from trialcut.services import people

    with services.book_to_use(book) as held:
        secret, token = people.make_token(held, name, name=purpose, role=role)
        _note(held, "made a token", f"{token.number} {token.name}, {token.role}, for {name}")
    sys.stdout.write(secret + "\n")


def _password() -> str:
    """From the first line of a pipe, or typed twice unseen."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))


def _note(held: Book, what: str, subject: str) -> None:
    from trialcut.cli.trial_work import user_name

    held.accounts.note(who=user_name(), address="command line", what=what, subject=subject)
