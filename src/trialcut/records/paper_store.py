"""Gauge studies, studies, issued plans and their papers in the tables."""

from __future__ import annotations

import json
from hashlib import sha256

from sqlalchemy import Connection, insert, select

from trialcut.records.columns import now
from trialcut.records.numbers import GAUGE_STUDY, PLAN, STUDY, as_id, as_number, unknown
from trialcut.records.serial import json_text
from trialcut.records.tables import GaugeStudyRow, PaperRow, PlanRow, StudyRow
from trialcut.records.types import GaugeStudyRecord, PlanRecord, StudyRecord


def add_gauge_study(connection: Connection, study: GaugeStudyRecord) -> str:
    """Enter a gauge study, and return its id."""
    number = connection.execute(
        insert(GaugeStudyRow)
        .values(
            gauge=study.gauge,
            text=study.text,
            result=json_text(dict(study.result)),
            who=study.who,
            at=study.when,
        )
        .returning(GaugeStudyRow.number)
    ).scalar_one()
    return as_id(GAUGE_STUDY, number)


def gauge_studies(connection: Connection, gauge: str | None) -> tuple[GaugeStudyRecord, ...]:
    """Return the studies of a gauge, or all, the oldest first."""
    query = select(GaugeStudyRow.__table__).order_by(GaugeStudyRow.number)
    if gauge is not None:
        query = query.where(GaugeStudyRow.gauge == gauge)
    return tuple(
        GaugeStudyRecord(
            id=as_id(GAUGE_STUDY, row.number),
            gauge=row.gauge,
            text=row.text,
            result=json.loads(row.result),
            who=row.who,
            when=row.at,
        )
        for row in connection.execute(query)
    )


def save_study(connection: Connection, *, name: str, text: str, who: str) -> StudyRecord:
    """Enter a study as it stands; the newest entry of its name serves if it says the same."""
    newest = connection.execute(
        select(StudyRow.__table__).where(StudyRow.name == name).order_by(StudyRow.number.desc()).limit(1)
    ).one_or_none()
    if newest is not None and newest.text == text:
        return StudyRecord(
            id=as_id(STUDY, newest.number), name=name, text=text, who=newest.who, entered=newest.entered
        )
    entered = now()
    number = connection.execute(
        insert(StudyRow).values(name=name, text=text, who=who, entered=entered).returning(StudyRow.number)
    ).scalar_one()
    return StudyRecord(id=as_id(STUDY, number), name=name, text=text, who=who, entered=entered)


def studies(connection: Connection, name: str | None) -> tuple[StudyRecord, ...]:
    """Return each entry of a study, or of all, the oldest first."""
    query = select(StudyRow.__table__).order_by(StudyRow.number)
    if name is not None:
        query = query.where(StudyRow.name == name)
    return tuple(
        StudyRecord(
            id=as_id(STUDY, row.number), name=row.name, text=row.text, who=row.who, entered=row.entered
        )
        for row in connection.execute(query)
    )


def issue_plan(connection: Connection, plan: PlanRecord) -> str:
    """Enter a plan with its papers, and return its id."""
    study = as_number(STUDY, plan.study)
    if connection.execute(select(StudyRow.number).where(StudyRow.number == study)).scalar() is None:
        raise unknown(STUDY, plan.study)
    number = connection.execute(
        insert(PlanRow)
        .values(
            study=study,
            option=plan.option,
            document=json_text(dict(plan.document)),
            who=plan.who,
            at=plan.when,
        )
        .returning(PlanRow.number)
    ).scalar_one()
    papers = [
        {"plan": number, "name": name, "content": content, "sha256": sha256(content).hexdigest()}
        for name, content in plan.papers.items()
    ]
    if papers:
        connection.execute(insert(PaperRow), papers)
    return as_id(PLAN, number)


def issued_plans(connection: Connection, study_name: str | None) -> tuple[PlanRecord, ...]:
    """Return the plans that were issued for a study, or all, the oldest first."""
    query = select(PlanRow.__table__).order_by(PlanRow.number)
    if study_name is not None:
        query = query.join(StudyRow, StudyRow.number == PlanRow.study).where(StudyRow.name == study_name)
    plans = connection.execute(query).all()
    return tuple(
        PlanRecord(
            id=as_id(PLAN, row.number),
            study=as_id(STUDY, row.study),
            option=row.option,
            document=json.loads(row.document),
            papers={
                paper.name: paper.content
                for paper in connection.execute(
                    select(PaperRow.name, PaperRow.content)
                    .where(PaperRow.plan == row.number)
                    .order_by(PaperRow.name)
                )
            },
            who=row.who,
            when=row.at,
        )
        for row in plans
    )
