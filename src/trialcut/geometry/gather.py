"""Gathering of findings; a strict gatherer raises on the first."""

from __future__ import annotations

from collections.abc import Sequence

from trialcut.errors import DrawingError
from trialcut.geometry.curves import Point
from trialcut.geometry.findings import Finding, FindingStatus


class Gatherer:
    """List of findings in the making.

    Parameters
    ----------
    strict : bool
        Raise `DrawingError` on the first finding instead of listing it.
    """

    def __init__(self, *, strict: bool = False) -> None:
        self.strict = strict
        self.findings: list[Finding] = []

    def add(
        self,
        code: str,
        status: FindingStatus,
        message: str,
        *,
        remedy: str = "",
        where: Point | None = None,
        subjects: Sequence[str] = (),
        count: int = 1,
    ) -> None:
        """Note one finding, or raise it as an error at the strict door."""
        if self.strict:
            raise DrawingError(
                f"{message}; {remedy}" if remedy else message, code=code, where=where, count=count
            )
        self.findings.append(
            Finding(
                code=code,
                status=status,
                message=message,
                remedy=remedy,
                where=where,
                subjects=tuple(subjects),
                count=count,
            )
        )

    def fixed(self, code: str, message: str, *, where: Point | None = None, count: int = 1) -> None:
        """Note something that was mended."""
        self.add(code, FindingStatus.FIXED, message, where=where, count=count)

    def not_fixed(
        self,
        code: str,
        message: str,
        *,
        remedy: str,
        where: Point | None = None,
        subjects: Sequence[str] = (),
        count: int = 1,
    ) -> None:
        """Note something that was left as it is."""
        self.add(
            code,
            FindingStatus.NOT_FIXED,
            message,
            remedy=remedy,
            where=where,
            subjects=subjects,
            count=count,
        )

    def needs_person(
        self,
        code: str,
        message: str,
        *,
        remedy: str,
        where: Point | None = None,
        subjects: Sequence[str] = (),
        count: int = 1,
    ) -> None:
        """Note something that only a person can decide."""
        self.add(
            code,
            FindingStatus.NEEDS_PERSON,
            message,
            remedy=remedy,
            where=where,
            subjects=subjects,
            count=count,
        )


def plural(count: int, one: str, many: str | None = None) -> str:
    """Return the count with its noun: ``"1 gap"``, ``"3 gaps"``."""
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def in_both(length: float) -> str:
    """Return a length in millimetres and inches, for a finding. `length` in [m]"""
    return f"{length * 1e3:.4g} mm ({length / 0.0254:.4g} in)"


def place(point: Point) -> str:
    """Return a position on the drawing, in millimetres and inches. `point` in [m]"""
    x, y = point
    return f"x {x * 1e3:.6g} y {y * 1e3:.6g} mm ({x / 0.0254:.5g}, {y / 0.0254:.5g} in)"
