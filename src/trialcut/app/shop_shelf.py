"""The shop as its file says now: read again whenever the file has changed."""

from __future__ import annotations

from pathlib import Path
from threading import Lock

from trialcut.errors import TrialcutError
from trialcut.services import Shop, load_shop


class ShopShelf:
    """A shop that follows its file.

    Parameters
    ----------
    place : Path or str or None
        Shop file; the bundled demo shop if None.

    Raises
    ------
    TrialcutError
        If the file cannot be read, or something in it is wrong.
    """

    def __init__(self, place: Path | str | None) -> None:
        self._place = place
        self._lock = Lock()
        self._shop = load_shop(place)
        self._stamp = self._look()
        self._fault = ""

    @property
    def shop(self) -> Shop:
        """The shop as of now; as it was last, while its file cannot be read."""
        stamp = self._look()
        with self._lock:
            if stamp != self._stamp:
                try:
                    self._shop, self._fault = load_shop(self._place), ""
                except TrialcutError as error:
                    self._fault = error.message
                self._stamp = stamp
            return self._shop

    @property
    def stamp(self) -> tuple[int, int]:
        """Changes when the file does."""
        return self._stamp

    @property
    def fault(self) -> str:
        """Why the file cannot be read now; empty if it can."""
        return self._fault

    def _look(self) -> tuple[int, int]:
        path = self._shop.path
        if path is None:
            return (0, 0)
        try:
            found = path.stat()
        except OSError:
            return (0, 0)
        return (found.st_mtime_ns, found.st_size)
