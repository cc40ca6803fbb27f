"""The bench on paper: a table for people, and one line a shop for those who look further."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from trialcut.twins.coverage import Unseen
from trialcut.twins.one_shop import Contest, ShopResult
from trialcut.twins.summary import WHO, Figure, Summary

NAMES = {
    "plan": "Trialcut: trial, fit, plan",
    "slow": "habit: one slow speed",
    "three": "habit: three speeds, by eye",
    "oracle": "oracle that knows the twin",
}


def markdown_table(summary: Summary) -> str:
    """
    Figures with standard errors, and the targets.

    Parameters
    ----------
    summary : Summary
        Of a bench.

    Returns
    -------
    str
        Markdown.
    """
    lines = [
        "# Twin shops",
        "",
        f"{summary.shops} shops; the oracle reaches the odds asked for in {summary.feasible}, and in "
        f"{summary.promised} of these the plan says that it holds. The tool failed in {summary.failed} shops "
        f"and refused intervals in {summary.refused}. Figures are means over shops ± one standard error.",
        "",
        "| intervals hold | 50 % | 90 % | 95 % |",
        "| --- | --- | --- | --- |",
        *(
            f"| unseen {kind} | {_percent(of[50])} | {_percent(of[90])} | {_percent(of[95])} |"
            for kind, of in summary.coverage.items()
        ),
        *(
            f"| the same after a trial, unseen {kind} "
            f"| {_percent(of[50])} | {_percent(of[90])} | {_percent(of[95])} |"
            for kind, of in summary.coverage_after_trial.items()
        ),
        "",
        "| who plans | parts that hold | less the odds asked for | lot cost over the oracle's "
        "| with coupons or samples | cost of a good part over the oracle's |",
        "| --- | --- | --- | --- | --- | --- |",
        *(
            f"| {NAMES[who]} | {_percent(summary.share[who])} | {_percent(summary.hold_over_asked[who])} "
            f"| {_ratio(summary.cost[who])} | {_ratio(summary.cost_with_search[who])} "
            f"| {_ratio(summary.cost_each_good[who])} |"
            for who in WHO
        ),
        "",
        f"Coupons a shop: {_ratio(summary.coupons)}, at most {summary.most_coupons}.",
        "",
        "| target | found | wanted | |",
        "| --- | --- | --- | --- |",
        *(
            f"| {target.name} | {_ratio(target.figure, 3)} | {target.wanted} "
            f"| {'met' if target.met else f'missed by {target.short:.3g}'} |"
            for target in summary.targets
        ),
        "",
    ]
    return "\n".join(lines)


def shops_csv(results: Sequence[ShopResult]) -> str:
    """
    One line a shop.

    Parameters
    ----------
    results : sequence of ShopResult
        Of a bench.

    Returns
    -------
    str
        CSV with a heading; lengths in millimetres.
    """
    out = io.StringIO()
    rows = [_row(result) for result in results]
    writer = csv.DictWriter(out, fieldnames=list(rows[0]) if rows else ["seed"], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _row(result: ShopResult) -> dict[str, object]:
    row: dict[str, object] = {
        "seed": result.seed,
        "part": result.part,
        "material": result.material,
        "machine": result.machine,
        "gauge": result.gauge,
        "thickness_mm": f"{result.thickness * 1e3:g}",
        "tolerance_mm": f"{result.tolerance * 1e3:.2f}",
        "quantity": result.quantity,
        "asked": result.asked,
        "feasible": int(result.feasible),
        "coupons": result.coupons,
        "readings": result.readings,
        "slips": result.slips,
        "doubts": result.doubts,
        "promised": int(result.promised),
        "first_piece": int(result.first_piece),
        "odds": f"{result.odds:.4f}",
    }
    contests: dict[str, Contest | None] = {
        "plan": result.plan,
        "slow": result.slow,
        "three": result.three,
        "oracle": result.oracle,
    }
    for who, contest in contests.items():
        row |= {
            f"{who}_share": "" if contest is None else f"{contest.share:.4f}",
            f"{who}_cost": "" if contest is None else f"{contest.cost:.2f}",
            f"{who}_search_cost": "" if contest is None else f"{contest.search_cost:.2f}",
            f"{who}_piece_s": "" if contest is None else f"{contest.piece_time:.1f}",
        }
    for kind in Unseen:
        hits = result.hits.get(kind)
        row |= {
            f"{kind}_values": "" if hits is None else hits.values,
            f"{kind}_at_50": "" if hits is None else hits.at_50,
            f"{kind}_at_90": "" if hits is None else hits.at_90,
            f"{kind}_at_95": "" if hits is None else hits.at_95,
        }
    return row | {"refused": result.refused, "failure": result.failure}


def _percent(figure: Figure) -> str:
    return f"{100.0 * figure.mean:.1f} ± {100.0 * figure.error:.1f} %"


def _ratio(figure: Figure, digits: int = 2) -> str:
    return f"{figure.mean:.{digits}f} ± {figure.error:.{digits}f}"
