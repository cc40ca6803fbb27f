"""What is known of each part of a batch, by its key: from earlier runs, and from this one."""

from __future__ import annotations

import json
import pickle
from collections.abc import Iterator, Sequence
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from trialcut import __version__
from trialcut.services.batch_journal import SCHEMA, Journal
from trialcut.services.batch_parts import BatchPart
from trialcut.services.batch_work import Ground, Order, Record, Stage, Status
from trialcut.services.crew import Ending
from trialcut.trials.fit_store import fit_arrays, fit_document
from trialcut.units import Kind, format_value

Item = tuple[Stage, int]
"""A stage, and the position of a part."""

NOT_FOR_GOOD = (Status.TIMED_OUT, Status.DIED, Status.FAULT)
"""What may go better another time: done again on request."""


class Batch:
    """Parts, and their records by stage.

    Parameters
    ----------
    parts : sequence of BatchPart
        In the order of the output.
    journal : Journal
        What was worked out before, and where to write.
    ground : Ground
        What all parts stand on.
    limit : float or None
        Time that one part may take. [s]
    again : bool
        Whether what may go better another time is done again.
    """

    def __init__(
        self,
        parts: Sequence[BatchPart],
        journal: Journal,
        ground: Ground,
        *,
        limit: float | None,
        again: bool,
    ) -> None:
        self.parts, self.journal, self.limit = parts, journal, limit
        self._ground = pickle.dumps(ground)
        stands_on = _ground_key(ground)
        self._drawings = [_drawing_key(part.path) for part in parts]
        self._keys = [
            _part_key(part, drawing, stands_on) for part, drawing in zip(parts, self._drawings, strict=True)
        ]
        self._again = (
            {
                (stage, key)
                for key in self._keys
                for stage in Stage
                if (found := journal.get(stage, key)) is not None and found["status"] in NOT_FOR_GOOD
            }
            if again
            else set()
        )
        self._passing: dict[str, Record] = {}
        """Records about a file that could not be read: true today, and not kept."""
        self._new: set[tuple[Stage, str]] = set()

    def missing(self, stage: Stage) -> list[Item]:
        """What is to be done in a stage; parts that are the same in all are done once."""
        first: dict[str, int] = {}
        for position, key in enumerate(self._keys):
            if self._is_due(stage, position) and self._known(stage, key) is None:
                first.setdefault(key, position)
        return [(stage, position) for position in first.values()]

    def due(self, stage: Stage) -> int:
        """How many different parts a stage has, whether done or not."""
        return len({key for position, key in enumerate(self._keys) if self._is_due(stage, position)})

    def order(self, item: Item) -> Order:
        """What a worker is told to do for an item."""
        stage, position = item
        part = self.parts[position]
        trouble, drawing = "", b""
        try:
            drawing = part.path.read_bytes()
        except OSError as error:
            trouble = f"{part.file} cannot be read: {error.strerror or error}; see to it, then run again"
        if not trouble and sha256(drawing).hexdigest() != self._drawings[position]:
            trouble, drawing = f"{part.file} was changed while the batch ran: run the same command again", b""
        if trouble:
            self._passing[self._keys[position]] = {}
        return Order(
            stage=stage,
            name=part.name,
            drawing=drawing,
            content=part.content,
            said=dict(part.said),
            ground=self._ground,
            trouble=trouble,
        )

    def take(self, item: Item, ending: Ending, record: Record | None) -> None:
        """Keep what came of an item."""
        stage, position = item
        key = self._keys[position]
        self._new.add((stage, key))
        if record is None:
            record = _ended_badly(ending, self.limit)
        if key in self._passing:
            self._passing[key] = record
        else:
            self.journal.add(stage, key, record)

    def worked(self, last: Stage) -> int:
        """How many parts this run came to an end with."""
        count = 0
        for position, key in enumerate(self._keys):
            stage = last if self._is_due(last, position) else Stage.FINDINGS
            count += (stage, key) in self._new
        return count

    def rows(self, last: Stage, table: str) -> Iterator[Record]:
        """
        A record for each part, in order.

        Parameters
        ----------
        last : Stage
            The last that was asked for.
        table : str
            Name of the table, for messages.

        Yields
        ------
        dict
            With part, file, and line of the table.
        """
        for position, part in enumerate(self.parts):
            record = self._result(position, last)
            head: Record = {"part": part.name, "file": part.file}
            if part.line is not None:
                head["line"] = part.line
                if record["status"] == Status.NOT_PLANNED:
                    record = record | {"note": f"{table} line {part.line}: {record['note']}"}
            yield head | record

    def _result(self, position: int, last: Stage) -> Record:
        key = self._keys[position]
        passing = self._passing.get(key)
        if passing:
            return passing
        looked = self._known(Stage.FINDINGS, key)
        if looked is None:
            return {"status": Status.TO_DO.value, "note": ""}
        if last is Stage.FINDINGS or looked["status"] != Status.READY:
            return looked
        planned = self._known(Stage.PLAN, key)
        return looked | (planned or {"status": Status.TO_DO.value, "note": ""})

    def _known(self, stage: Stage, key: str) -> Record | None:
        if (stage, key) in self._again and (stage, key) not in self._new:
            return None
        return self.journal.get(stage, key)

    def _is_due(self, stage: Stage, position: int) -> bool:
        if stage is Stage.FINDINGS:
            return True
        looked = self._known(Stage.FINDINGS, self._keys[position])
        return looked is not None and looked["status"] == Status.READY


def _ended_badly(ending: Ending, limit: float | None) -> Record:
    if ending is Ending.TIMED_OUT:
        allowed = format_value(limit or 0.0, Kind.TIME, "metric")
        note = f"it took longer than {allowed}: give a longer --timeout with --again, or plan it alone"
        return {"status": Status.TIMED_OUT.value, "note": note}
    note = (
        "the process that worked on it ended: see whether memory is short, use fewer --workers with --again"
    )
    return {"status": Status.DIED.value, "note": note}


def _drawing_key(path: Path) -> str:
    """Return the fingerprint of a drawing, empty if it cannot be read."""
    try:
        return sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def _ground_key(ground: Ground) -> str:
    """Return the fingerprint of shop and fit; where the shop file stands does not matter."""
    found = sha256(repr(replace(ground.shop, path=None)).encode())
    if ground.extract is not None:
        found.update(json.dumps(dict(ground.extract.tube_hours), sort_keys=True).encode())
        for machine, fits in sorted(ground.extract.fits.items()):
            for known in fits:
                told = [machine, fit_document(known.fit), sorted(known.bores.items())]
                found.update(json.dumps(told, sort_keys=True, default=repr).encode())
                found.update(fit_arrays(known.fit))
    return found.hexdigest()


def _part_key(part: BatchPart, drawing: str, stands_on: str) -> str:
    """Return the fingerprint of all that the result for a part depends on."""
    said = sorted(("/".join(location), name) for location, name in part.said.items())
    facts = [SCHEMA, __version__, stands_on, drawing, part.file, part.name, dict(part.content), said]
    return sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()
