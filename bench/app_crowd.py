"""Twenty people who read and five who write, all at once, for a while."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Barrier, Lock, Thread
from time import perf_counter, sleep

import httpx
from app_server import keep, open_demo

READERS, WRITERS = 20, 5
LOOKED_AT = (0.5, 1.5)
"""So long a reader looks at an answer before asking for the next. [s]"""
WRITE_EVERY = 0.5
"""A page keeps what is typed once typing has rested for 0.35 s. [s]"""


@dataclass
class Found:
    """What the people found: seconds of every answer by what was asked, and what went wrong."""

    times: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    wrong: list[str] = field(default_factory=list)
    lock: Lock = field(default_factory=Lock)

    @property
    def count(self) -> int:
        return len(self.all())

    @property
    def errors(self) -> int:
        return len(self.wrong)

    @property
    def p95(self) -> float:
        return share(self.all(), 0.95)

    def all(self) -> list[float]:
        return [time for each in self.times.values() for time in each]

    def lines(self) -> list[str]:
        """For people: each kind of request, then all."""
        rows = [*sorted(self.times.items()), ("all", self.all())]
        told = [
            f"{name:10s} {len(each):6d} answers  p50 {1e3 * share(each, 0.5):6.1f} ms  "
            f"p95 {1e3 * share(each, 0.95):6.1f} ms  max {1e3 * max(each):6.1f} ms"
            for name, each in rows
        ]
        return [*told, *self.wrong[:5]]

    def timed(self, name: str, ask: Callable[[], httpx.Response]) -> httpx.Response | None:
        """Ask, and take down how long the answer took; None if there was none, or an error."""
        begun = perf_counter()
        try:
            answer, fault = ask().raise_for_status(), ""
        except httpx.HTTPError as error:
            answer, fault = None, f"{name}: {error!r}"
        with self.lock:
            self.times[name].append(perf_counter() - begun)
            if fault:
                self.wrong.append(fault)
        return answer


@dataclass
class Crowd:
    """The people, and what they ask for."""

    address: str
    studies: list[str]
    seconds: float
    found: Found = field(default_factory=Found)
    start: Barrier = field(default_factory=lambda: Barrier(READERS + WRITERS))

    def read(self, number: int) -> None:
        """Look at one page or piece of a page after the other."""
        chance = random.Random(number)
        with httpx.Client(base_url=self.address, timeout=30.0) as client:
            self.start.wait()
            until = perf_counter() + self.seconds
            while perf_counter() < until:
                name, path = self._page(chance)
                self.found.timed(name, lambda path=path: client.get(path))
                sleep(chance.uniform(*LOOKED_AT))

    def write(self, number: int) -> None:
        """Change the pieces of a study of one's own, again and again."""
        with httpx.Client(base_url=self.address, timeout=30.0) as client:
            study = open_demo(client, "metric" if number % 2 else "inch")
            edition = client.get(f"{study}/version").json()["version"]
            self.start.wait()
            until = perf_counter() + self.seconds
            while perf_counter() < until:
                said = self.found.timed(
                    "save", lambda base=edition: keep(client, study, base, quantity=str(1 + base))
                )
                edition = edition if said is None else said.json()["version"]
                sleep(WRITE_EVERY)

    def _page(self, chance: random.Random) -> tuple[str, str]:
        study, edge = chance.choice(self.studies), f"A{chance.randint(1, 4)}"
        return chance.choice(
            [
                ("studies", "/"),
                ("part", f"{study}/part"),
                ("expect", f"{study}/expect"),
                ("edge", f"{study}/edge?edge={edge}"),
                ("tried", f"{study}/expect/try?speed={chance.randint(40, 90)}+mm%2Fmin"),
                ("plan", f"{study}/plan"),
                ("papers", f"{study}/papers"),
                ("version", f"{study}/version"),
                ("jobs", "/jobs"),
                ("shop", "/shop"),
            ]
        )


def crowd(address: str, studies: list[str], *, seconds: float) -> Found:
    """Let them read and write for so long."""
    all_of_them = Crowd(address, studies, seconds)
    people = [
        *(Thread(target=all_of_them.read, args=(k,)) for k in range(READERS)),
        *(Thread(target=all_of_them.write, args=(k,)) for k in range(WRITERS)),
    ]
    for each in people:
        each.start()
    for each in people:
        each.join()
    return all_of_them.found


def share(values: list[float], part: float) -> float:
    """The value that so many of them do not exceed."""
    return sorted(values)[min(int(part * len(values)), len(values) - 1)]
