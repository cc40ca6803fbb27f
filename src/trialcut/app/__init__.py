"""The workbench: the whole job in a browser, on the same services as the command line."""

from __future__ import annotations

from pathlib import Path

from trialcut.errors import UsageError

LOOPBACK = ("127.0.0.1", "localhost", "::1")
"""Addresses of this machine itself."""


def serve(
    *,
    host: str = "127.0.0.1",
    port: int = 8765,
    shop: Path | str | None = None,
    book: str | None = None,
    open_browser: bool = False,
    names: tuple[str, ...] = (),
    behind_proxy: bool = False,
) -> None:
    """
    Serve the workbench until it is stopped.

    Parameters
    ----------
    host : str
        Address to listen on; beyond this machine's own people must sign in.
    port : int
        Where it listens; 0 for any that is free.
    shop : Path or str, optional
        Shop file; the bundled demo shop if None.
    book : str, optional
        Place of the shop's book, a path or a URL; the usual one if None.
    open_browser : bool
        Open the page in the usual browser.
    names : tuple of str
        Host names that people type, beside this machine's own.
    behind_proxy : bool
        Whether a proxy with TLS stands before.

    Raises
    ------
    UsageError
        If people must sign in and nobody can, or the port is taken.
    """
    if not 0 <= port <= 65535:
        raise UsageError(f"--port {port}: a port lies between 1 and 65535, or is 0 for any", code="bad-port")
    from trialcut.app.server import run  # noqa: PLC0415, the web framework loads only here

    run(
        host=host,
        port=port,
        shop=shop,
        book=book,
        open_browser=open_browser,
        names=names,
        behind_proxy=behind_proxy,
    )
