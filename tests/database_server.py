"""A PostgreSQL server of the tests' own, in a folder of its own, on a free port of this machine."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
import time
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

import psycopg

from trialcut.records.account_tables import OF_PEOPLE
from trialcut.records.tables import TABLES

SUPERUSER = "trialcut"


def server_programs() -> Path:
    """Folder of initdb and postgres, the newest version."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda each: float(each.parts[-3]))
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    if on_path is None:
        raise RuntimeError("these tests need a PostgreSQL server: run 'make postgres', then again")
    return Path(on_path).resolve().parent


@dataclass
class DatabaseServer:
    folder: Path
    port: int
    process: subprocess.Popen[bytes]
    numbers: count[int] = field(default_factory=count)

    def url(self, database: str, *, port: int | None = None) -> str:
        return f"postgresql://{SUPERUSER}@127.0.0.1:{port or self.port}/{database}"

    def new_database(self, template: str = "template0") -> str:
        name = f"book_{next(self.numbers)}"
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}".encode())
        return name

    def drop_database(self, name: str) -> None:
        with psycopg.connect(self.url("postgres"), autocommit=True) as connection:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())

    def empty_book(self, name: str) -> None:
        """Take all rows out of a book, in the one way its triggers do not see."""
        tables = ", ".join((*(table.name for table in TABLES), "jobs", *(table.name for table in OF_PEOPLE)))
        with psycopg.connect(self.url(name), autocommit=True) as connection:
            connection.execute("SET session_replication_role = replica")
            connection.execute(f"TRUNCATE {tables} RESTART IDENTITY".encode())

    def stop(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(timeout=5)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        shutil.rmtree(self.folder)


def start_server() -> DatabaseServer:
    programs = server_programs()
    folder = Path(tempfile.mkdtemp(prefix="trialcut-server-"))
    as_user: dict[str, object] = {}
    if os.getuid() == 0:  # which the server refuses
        user = "postgres"
        shutil.chown(folder, user)
        as_user = {"user": user, "group": user, "extra_groups": []}
    data = folder / "data"
    subprocess.run(
        [programs / "initdb", "-D", data, "-U", SUPERUSER, "-A", "trust", "-E", "UTF8", "--locale=C", "-N"],
        check=True,
        stdout=subprocess.DEVNULL,
        cwd=folder,
        **as_user,  # type: ignore[call-overload]
    )
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    settings = {
        "listen_addresses": "127.0.0.1",
        "unix_socket_directories": str(folder),
        "fsync": "off",  # the machine is not switched off in these tests
        "max_connections": "40",
        "shared_buffers": "16MB",
    }
    options = [each for name, value in settings.items() for each in ("-c", f"{name}={value}")]
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(
            [programs / "postgres", "-D", data, "-p", str(port), *options],
            stdout=log,
            stderr=log,
            cwd=folder,
            **as_user,  # type: ignore[call-overload]
        )
    server = DatabaseServer(folder, port, process)
    until = time.monotonic() + 20
    while True:
        try:
            psycopg.connect(server.url("postgres"), connect_timeout=2).close()
        except psycopg.OperationalError:
            if time.monotonic() > until or process.poll() is not None:
                said = (folder / "log").read_text()
                server.stop()
                raise RuntimeError(f"the PostgreSQL server did not start: {said}") from None
            time.sleep(0.05)
        else:
            return server
