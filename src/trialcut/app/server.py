"""Running the window as a server on this machine."""

from __future__ import annotations

import gc
import socket
import sys
import threading
import webbrowser
from pathlib import Path

import uvicorn

from trialcut.app import LOOPBACK
from trialcut.app.application import create_app
from trialcut.app.entry import entry_of
from trialcut.app.shop_shelf import ShopShelf
from trialcut.errors import UsageError
from trialcut.records.jobs import STALE
from trialcut.services import book_to_write


def run(
    *,
    host: str,
    port: int,
    shop: Path | str | None,
    book: str | None,
    open_browser: bool,
    names: tuple[str, ...] = (),
    behind_proxy: bool = False,
    stale: float = STALE,
) -> None:
    """
    Listen, say where, and serve until stopped.

    Parameters
    ----------
    host : str
        Address to listen on.
    port : int
        0 for any that is free.
    shop : Path or str or None
        Shop file.
    book : str or None
        Place of the shop's book; the usual one if None.
    open_browser : bool
        Open the page in the usual browser.
    names : tuple of str
        Host names that people type.
    behind_proxy : bool
        Whether a proxy with TLS stands before.
    stale : float
        How long the worker of another server may be silent before its job is taken. [s]

    Raises
    ------
    UsageError
        If the port is taken, or nobody could sign in.
    """
    shelf, opened = ShopShelf(shop), book_to_write(book)
    try:
        entry = entry_of(opened, host=host, names=names, behind_proxy=behind_proxy, place=book or "")
        listener = _listen(host, port)
    except BaseException:
        opened.close()
        raise
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{listener.getsockname()[1]}/"
    sys.stdout.write(f"Trialcut is at {address}  (Ctrl+C stops it)\n")
    if host not in LOOPBACK and not behind_proxy:
        sys.stdout.write(
            "Passwords travel unencrypted: put a proxy with TLS before it, and add --behind-proxy\n"
        )
    sys.stdout.flush()
    if open_browser:
        threading.Timer(0.6, webbrowser.open, (address,)).start()
    config = uvicorn.Config(
        create_app(shelf=shelf, book=opened, entry=entry, stale=stale),
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
    )
    threading.Thread(target=_get_ready, name="get-ready", daemon=True).start()
    with listener, opened:
        uvicorn.Server(config).run(sockets=[listener])


def _get_ready() -> None:
    """Load what the first forecast needs; all that is there by then is passed over by the collector.

    Else a look through all of it would make somebody wait a tenth of a second now and then.
    """
    import trialcut.motion._kernels  # noqa: F401, PLC0415, slow to load

    gc.freeze()


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # With the protocol named, asyncio lets no answer wait for the receipt of the one before.
    listener = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        listener.close()
        raise UsageError(
            f"--port {port} on {host} cannot be used ({error.strerror or error}): "
            "stop what listens there, or choose another with --port",
            code="port-taken",
            port=port,
        ) from None
    listener.listen(128)  # whoever reads the address may call at once, and is answered once all has started
    return listener
