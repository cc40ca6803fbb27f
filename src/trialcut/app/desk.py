"""What pages and API work on: the shop, the book, the drawings, and what was worked out last."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from pathlib import Path

from markupsafe import Markup

from trialcut.app.answers import Answers
from trialcut.app.demand_lines import Reading, read_demands
from trialcut.app.recent import Recent, Same
from trialcut.app.shop_shelf import ShopShelf
from trialcut.app.store import DrawingStore, clean_name, refuse_unusable
from trialcut.errors import DataError, QuantityError
from trialcut.geometry.contours import Drawing, Part
from trialcut.planning.cut_part import Cut
from trialcut.planning.forecast import forecast
from trialcut.planning.prepared import PreparedStudy, prepare
from trialcut.planning.results import Forecast, Stance
from trialcut.planning.study import Study
from trialcut.records import Book
from trialcut.services import Shop, choose_part, read_drawing, study_from_options, with_book
from trialcut.units import Kind, parse


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything a request needs.

    Parameters
    ----------
    shelf : ShopShelf
        What the cell has, as its file says now.
    book : Book
        What was cut, read and fitted, and the studies that are worked on.
    store : DrawingStore
        Drawings of the book as files.
    """

    shelf: ShopShelf
    book: Book
    store: DrawingStore
    _drawings: Recent[Drawing] = field(default_factory=lambda: Recent(32))
    _readings: Recent[Reading] = field(default_factory=lambda: Recent(64))
    _studies: Recent[Study] = field(default_factory=lambda: Recent(64))
    _prepared: Recent[PreparedStudy] = field(default_factory=lambda: Recent(16))
    _forecasts: Recent[Forecast] = field(default_factory=lambda: Recent(64))
    pictures: Recent[Markup] = field(default_factory=lambda: Recent(128))

    @property
    def shop(self) -> Shop:
        """What the cell has now."""
        return self.shelf.shop

    def keep_drawing(self, name: str, content: bytes) -> str:
        """Keep a drawing in the book; gives its id."""
        refuse_unusable(content)
        name = clean_name(name)
        drawing_id = self.book.drafts.keep_drawing(name, content)
        self.store.put(drawing_id, name, content)
        return drawing_id

    def path(self, drawing_id: str) -> Path:
        """File of a drawing, from the book if it is not at hand."""
        try:
            return self.store.path(drawing_id)
        except DataError:
            self.store.put(drawing_id, *self.book.drafts.drawing(drawing_id))
            return self.store.path(drawing_id)

    def drawing(self, drawing_id: str, unit: str) -> Drawing:
        """A drawing, read in a unit if it states none."""
        path = self.path(drawing_id)
        return self._drawings.get((path, unit), lambda: read_drawing(path, unit=unit or None))

    def part(self, drawing_id: str, answers: Answers) -> Part:
        """The part a study is about; the first one until one is chosen."""
        drawing = self.drawing(drawing_id, answers.unit)
        return choose_part(drawing, answers.part) if answers.part else drawing.parts[0]

    def reading(self, drawing_id: str, answers: Answers, system: str) -> Reading:
        """The lines of demands, read on the part and printed in a unit system."""
        part = self.part(drawing_id, answers)
        key = (drawing_id, answers.unit, part.id, answers.demands, system)
        return self._readings.get(key, lambda: read_demands(part, answers, system))

    def key(self, drawing_id: str, answers: Answers) -> Hashable:
        """What a study and all that is worked out from it depend on."""
        _ = self.shop  # read again if its file has changed
        return (drawing_id, answers.key(), self.shelf.stamp, self.book.evidence_stamp())

    def study(self, drawing_id: str, answers: Answers) -> Study:
        """The study that the answers make, with what the book knows about its machine and tube."""

        def made() -> Study:
            plain = study_from_options(self.path(drawing_id), answers.options(), shop=self.shop)
            return with_book(plain, self.book)

        return self._studies.get(self.key(drawing_id, answers), made)

    def prepared(self, drawing_id: str, answers: Answers) -> PreparedStudy:
        """The study, ready to be forecast at any speed."""
        study = self.study(drawing_id, answers)
        return self._prepared.get(Same(study), lambda: prepare(study))

    def forecast(self, drawing_id: str, answers: Answers, *, speed: str, stance: str) -> Forecast:
        """What all edges at one speed and stance would give."""
        prepared = self.prepared(drawing_id, answers)
        cut = Cut(read_speed(speed), read_stance(stance))
        return self._forecasts.get(
            (Same(prepared), cut),
            lambda: forecast(prepared, assignment={edge.id: cut for edge in prepared.edges}),
        )


def read_speed(text: str) -> float:
    """Speed as written [m/s]."""
    speed = parse(text, Kind.SPEED)
    if speed <= 0.0:
        raise QuantityError(f"'{text[:40]}': a speed must be greater than zero", field="speed")
    return speed


def read_stance(text: str) -> Stance:
    """Stance as written; upright unless said."""
    try:
        return Stance(text or "upright")
    except ValueError:
        raise QuantityError(
            f"'{text[:40]}' is no stance: write 'upright' or 'tilted'", field="stance"
        ) from None
