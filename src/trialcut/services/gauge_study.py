"""Gauges: study one in use, and see which decides what is asked."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from trialcut.errors import DataError, QuantityError
from trialcut.planning.gauge_choice import GaugeVerdict, gauge_verdicts
from trialcut.planning.study import Study
from trialcut.services.files import plain_name, write_files
from trialcut.services.shop import Shop
from trialcut.services.shop_file import load_shop
from trialcut.services.toml_lines import SIZE_LIMIT, read_toml
from trialcut.trials.gauges import GaugeStudy, Method, Pooling, read_gauge_table, study_gauge
from trialcut.trials.gauges.types import Interval
from trialcut.units import Kind, parse, parse_limits

SCHEMA = "trialcut/gauge-study/1"


def gauge_study_of(
    text: str,
    *,
    name: str = "the gauge study",
    method: str = Method.ANOVA,
    pooling: str = Pooling.BY_LEVEL,
    tolerance: str | None = None,
) -> GaugeStudy:
    """
    Study a gauge from the readings of several appraisers.

    Parameters
    ----------
    text : str
        A row of headings and a row for each reading, see `trialcut.trials.gauges.read_gauge_table`.
    name : str
        Of the file, for messages.
    method : str
        ``"anova"`` or ``"range"``.
    pooling : str
        ``"by level"``, ``"pooled"`` or ``"kept"``: what an analysis of variance does with the interaction.
    tolerance : str, optional
        Width between the limits that the gauge has to decide, ``"0.01 in"``; or the limits, ``"±0.005 in"``.

    Returns
    -------
    GaugeStudy
        Components, intervals, number of classes, and notes.

    Raises
    ------
    QuantityError
        If a value has no unit, or the tolerance is no width.
    DataError
        If the readings have gaps.
    ComputationError
        If all repeats read the same.
    """
    width = None if tolerance is None else _width(tolerance)
    return study_gauge(
        read_gauge_table(text, name=name), method=Method(method), pooling=Pooling(pooling), tolerance=width
    )


def read_gauge_file(path: Path) -> str:
    """
    Text of a file with the readings of a gauge study.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    str
        Its content.

    Raises
    ------
    DataError
        If there is no such file, it is very large, or it holds no text.
    """
    try:
        if path.stat().st_size > SIZE_LIMIT:
            raise DataError(f"{path} has more than {SIZE_LIMIT / 1e6:g} MB: that is no gauge study")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise DataError(f"{path} is no text: save the readings as CSV, in UTF-8") from None
    except OSError as error:
        raise DataError(f"cannot read {path}: {error.strerror or error}; name a file of readings") from None


def gauge_study_document(study: GaugeStudy) -> dict[str, Any]:
    """
    A gauge study for other programs, all in SI.

    Parameters
    ----------
    study : GaugeStudy
        To be written down.

    Returns
    -------
    dict
        Ready for JSON.
    """
    table, anova = study.table, study.anova
    return {
        "schema": SCHEMA,
        "method": study.method.value,
        "appraisers": list(table.appraisers),
        "parts": list(table.parts),
        "trials": list(table.trials),
        "readings": table.values.tolist(),
        "components": [
            {
                "source": each.source.value,
                "sd": each.sd,
                "of_variation": each.of_variation,
                "of_variance": each.of_variance,
                "of_tolerance": each.of_tolerance,
            }
            for each in study.components
        ],
        "gauge_sd": _interval(study.gauge_sd),
        "repeatability_sd": _interval(study.repeatability_sd),
        "ndc": study.ndc,
        "tolerance": study.tolerance,
        "anova": None
        if anova is None
        else {
            "pooled": anova.pooled,
            "level": anova.level,
            "denominator": anova.denominator,
            "lines": [
                {
                    "source": each.source,
                    "square": each.square,
                    "freedom": each.freedom,
                    "tests": [
                        {"over": test.over, "f_ratio": test.f_ratio, "probability": test.probability}
                        for test in each.tests
                    ],
                }
                for each in anova.lines
            ],
        },
        "ranges": {
            "mean": study.ranges.mean_range,
            "limit": study.ranges.limit,
            "out_of_control": [
                {"appraiser": each.appraiser, "part": each.part, "range": each.range}
                for each in study.ranges.wide
            ],
        },
        "notes": [{"code": note.code, "message": note.message} for note in study.notes],
    }


def issue_gauge_study(study: GaugeStudy, name: str, folder: Path) -> list[Path]:
    """
    Write the picture and the document of a gauge study.

    Parameters
    ----------
    study : GaugeStudy
        To be issued.
    name : str
        Start of the file names.
    folder : Path
        Made if it does not exist.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    DataError
        If they cannot be written.
    """
    from trialcut.papers.gauge_study_svg import gauge_study_svg  # noqa: PLC0415
    from trialcut.services.documents import document_text  # noqa: PLC0415

    stem = plain_name(name)
    return write_files(
        folder,
        {
            f"{stem}-gauge-study.svg": gauge_study_svg(study),
            f"{stem}-gauge-study.json": document_text(gauge_study_document(study)),
        },
    )


def check_gauges(study: Study, shop: Shop) -> tuple[GaugeVerdict, ...]:
    """
    What the gauge of a study decides of what it asks, and which gauge of the shop would do better.

    Parameters
    ----------
    study : Study
        With its gauge.
    shop : Shop
        With all of its gauges.

    Returns
    -------
    tuple of GaugeVerdict
        One for each demand that a gauge can decide.
    """
    return gauge_verdicts(study, tuple(shop.gauges.values()))


def shop_of_study(path: Path) -> Shop:
    """
    The shop that a study file names.

    Parameters
    ----------
    path : Path
        A study file.

    Returns
    -------
    Shop
        The bundled one where it names none.

    Raises
    ------
    DataError
        If either file cannot be read.
    """
    _, content = read_toml(path, kind="study file")
    named = content.get("shop")
    return load_shop(path.parent / str(named) if named else None)


def _width(text: str) -> float:
    try:
        return _positive_width(text)
    except QuantityError as error:
        error.message = f"tolerance: {error.message}"
        raise


def _positive_width(text: str) -> float:
    limits = parse_limits(text) if "±" in text or "+" in text else None
    if limits is not None and limits.lower is not None and limits.upper is not None:
        width = limits.upper - limits.lower
    else:
        width = parse(text, Kind.LENGTH)
    if not width > 0.0:
        raise QuantityError(
            f"'{text}' leaves no room: a tolerance is a width above zero, '0.01 in' or '±0.1 mm'"
        )
    return width


def _interval(interval: Interval) -> dict[str, float]:
    return {
        "estimate": interval.estimate,
        "low": interval.low,
        "high": interval.high,
        "confidence": interval.confidence,
    }
