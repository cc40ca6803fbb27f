"""Write the book of the first form that the migration is tested on. Run it only to add a form."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256
from pathlib import Path

from sqlalchemy import insert, text

from sample_records import WHEN, sample_fit, sample_reading, sample_trial
from trialcut.records.columns import now
from trialcut.records.engine import make_engine, writing
from trialcut.records.fit_store import pack_arrays
from trialcut.records.migrate import upgrade
from trialcut.records.place import find_place
from trialcut.records.serial import json_text, trial_text
from trialcut.records.tables import (
    CouponRow,
    CutRow,
    FitReadingRow,
    FitRow,
    HeadRow,
    LotRow,
    MachineRow,
    ReadingRow,
    SessionRow,
    TrialNumberRow,
    TrialRow,
    TubeLogRow,
    TubeRow,
    WithdrawalRow,
)

FILE = Path(__file__).parent / "records" / "data" / "book_form_0001.db"
TRIAL = sample_trial()
READINGS = tuple(
    replace(sample_reading(coupon, value=value), id=f"R{at + 1}", place="")
    for at, (coupon, value) in enumerate((("T1-1", 0.0380), ("T1-2", 0.0381), ("T1-2", 0.0382)))
)
"""The third supersedes the second; the first form has no place on the piece."""
WITHDRAWN = replace(READINGS[0], id="R4")
FIT = sample_fit(readings=("R1", "R2"))


def fill_first_form(connection) -> None:
    """Make the tables of the first form, and put something into each."""
    upgrade(connection, "0001")

    def enter(table, **values) -> None:
        connection.execute(insert(table).values(**values, entered=now()))

    enter(MachineRow, name=TRIAL.machine)
    enter(HeadRow, machine=TRIAL.machine, name=TRIAL.head)
    enter(SessionRow, machine=TRIAL.machine, name=TRIAL.session)
    enter(TubeRow, name=TRIAL.tube)
    enter(TubeLogRow, tube=TRIAL.tube, hours=45000.0, bore=None, who="MK", at=WHEN, remark="")
    enter(LotRow, name=TRIAL.lot, material=TRIAL.setup.material.name)
    enter(TrialNumberRow, number=1)
    enter(
        TrialRow,
        number=1,
        id=TRIAL.id,
        machine=TRIAL.machine,
        head=TRIAL.head,
        tube=TRIAL.tube,
        lot=TRIAL.lot,
        session=TRIAL.session,
        study=TRIAL.study,
        material=TRIAL.setup.material.name,
        thickness=TRIAL.setup.thickness,
        cut_at=WHEN,
        document=trial_text(TRIAL),
        reason="",
        changed_by="",
    )
    for coupon in TRIAL.coupons:
        enter(CouponRow, id=coupon.id, trial=1, kind=coupon.kind)
        for cut in coupon.cuts:
            figures = ("nominal", "speed", "tilt", "lead", "offset", "curvature", "length")
            enter(
                CutRow,
                trial=1,
                coupon=coupon.id,
                id=cut.id,
                feature=cut.feature.value,
                thickness=coupon.thickness,
                **{name: getattr(cut, name) for name in figures},
            )
    columns = ("coupon", "cut", "depth", "value", "text", "gauge", "standard_uncertainty", "who", "remark")
    for reading in (*READINGS, WITHDRAWN):
        corrects = reading.id == "R3"
        enter(
            ReadingRow,
            number=int(reading.id[1:]),
            kind=reading.kind.value,
            at=reading.when,
            supersedes=2 if corrects else None,
            reason="read again" if corrects else "",
            changed_by="PL" if corrects else "",
            **{name: getattr(reading, name) for name in columns},
        )
    enter(WithdrawalRow, reading=4, reason="the piece fell", who="PL")
    blob = pack_arrays(FIT.arrays)
    enter(
        FitRow,
        number=1,
        machine=FIT.machine,
        head=FIT.head,
        created=FIT.created,
        version=FIT.version,
        good=FIT.good,
        header=json_text(dict(FIT.header)),
        kind="npz",
        arrays=blob,
        sha256=sha256(blob).hexdigest(),
    )
    for position, reading in enumerate((1, 2)):
        enter(FitReadingRow, fit=1, position=position, reading=reading)
    if connection.dialect.name == "postgresql":
        for table in ("tube_log", "trial_numbers", "trials", "readings", "fits"):
            connection.execute(
                text(
                    f"SELECT setval(pg_get_serial_sequence('{table}', 'number'), "
                    f"(SELECT max(number) FROM {table}))"
                )
            )


def main() -> None:
    place = find_place(FILE)
    FILE.unlink(missing_ok=True)
    engine = make_engine(place, wait=1)
    with engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA page_size = 512")  # a small file
        connection.exec_driver_sql("VACUUM")
        connection.exec_driver_sql("BEGIN")
    with writing(engine, place.shown) as connection:
        fill_first_form(connection)
    engine.dispose()


if __name__ == "__main__":
    main()
