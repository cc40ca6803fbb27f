"""So many wrong tries, and no more for a while. Kept in memory: a restart of the server forgets them."""

from __future__ import annotations

from collections import OrderedDict, deque
from collections.abc import Callable
from threading import Lock
from time import monotonic

WINDOW = 900.0
"""Wrong tries older than this are forgotten. [s]"""
OF_ACCOUNT, OF_ADDRESS = 8, 40
"""Wrong tries within the window, for one name and from one address."""
_KEPT = 20_000


class Throttle:
    """Counts wrong tries by name and by address.

    Parameters
    ----------
    clock : callable
        Gives the time [s]; another one for tests.
    """

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._tries: OrderedDict[tuple[str, str], deque[float]] = OrderedDict()
        self._lock = Lock()

    def wait(self, *, name: str, address: str) -> float:
        """Return how long the next try must wait; zero if it may be made. [s]"""
        with self._lock:
            return max(self._wait(("name", name), OF_ACCOUNT), self._wait(("address", address), OF_ADDRESS))

    def wrong(self, *, name: str, address: str) -> None:
        """Count a wrong try, whether or not there is such a name."""
        with self._lock:
            for key in (("name", name), ("address", address)):
                self._tries.setdefault(key, deque(maxlen=OF_ADDRESS)).append(self._clock())
                self._tries.move_to_end(key)
            while len(self._tries) > _KEPT:
                self._tries.popitem(last=False)

    def right(self, *, name: str) -> None:
        """Forget the wrong tries of a name: its owner came in."""
        with self._lock:
            self._tries.pop(("name", name), None)

    def _wait(self, key: tuple[str, str], most: int) -> float:
        tries = self._tries.get(key)
        if tries is None:
            return 0.0
        moment = self._clock()
        while tries and tries[0] <= moment - WINDOW:
            tries.popleft()
        return tries[-most] + WINDOW - moment if len(tries) >= most else 0.0
