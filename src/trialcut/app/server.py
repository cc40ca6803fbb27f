"""Running the window as a server on this machine."""

from __future__ import annotations

import socket
import sys
import threading
import webbrowser
from pathlib import Path

import uvicorn

from trialcut.app.application import create_app
from trialcut.errors import UsageError
from trialcut.services import load_shop


def run(*, host: str, port: int, shop: Path | str | None, open_browser: bool) -> None:
    """
    Listen, say where, and serve until stopped.

    Parameters
    ----------
    host : str
        Loopback address.
    port : int
        0 for any that is free.
    shop : Path or str or None
        Shop file.
    open_browser : bool
        Open the page in the usual browser.

    Raises
    ------
    UsageError
        If the port is taken.
    """
    app = create_app(shop=load_shop(shop))
    listener = _listen(host, port)
    shown = f"[{host}]" if ":" in host else host
    address = f"http://{shown}:{listener.getsockname()[1]}/"
    sys.stdout.write(f"Trialcut is at {address}  (Ctrl+C stops it)\n")
    sys.stdout.flush()
    if open_browser:
        threading.Timer(0.6, webbrowser.open, (address,)).start()
    config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False)
    with listener:
        uvicorn.Server(config).run(sockets=[listener])


def _listen(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
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
    return listener
