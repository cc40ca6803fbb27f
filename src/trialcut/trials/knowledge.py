"""What is known about the cut: the priors alone, or the priors and a fit, for one set-up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from trialcut.physics.discrepancy import KNOTS, Discrepancy
from trialcut.physics.numeric import Array, floats
from trialcut.physics.parameters import CutParameters, central_parameters, draw_parameters, stream
from trialcut.physics.setup import Setup
from trialcut.sources import Note, constant_set
from trialcut.trials.effects import (
    BORE_SEPARATION,
    THICKNESS_KNOTS,
    Change,
    discrepancy_labels,
    discrepancy_size,
    speed_covariance,
    thickness_share,
    tube_bore_label,
    tube_wear_label,
    wear_log_sd,
    wear_of_usual_tube,
)
from trialcut.trials.fit_types import Fit, FormFit
from trialcut.trials.priors import prior_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """Which tube and which plate the next cuts are made with.

    Parameters
    ----------
    tube : str
        As marked; empty for one that was never measured.
    tube_hours : float
        Jet-on time it has behind it. [s]
    lot : str
        Of the material; empty for one that was never cut.
    """

    tube: str = ""
    tube_hours: float = 0.0
    lot: str = ""


class Knowledge(Protocol):
    """Where a forecast takes its parameters from."""

    def central(self, setup: Setup) -> CutParameters:
        """Give the one set of parameters that leans and offsets are solved from."""
        ...

    def draw(self, setup: Setup, *, count: int, seed: int) -> CutParameters:
        """Give draws, shape (D,)."""
        ...

    def notes(self, setup: Setup) -> tuple[Note, ...]:
        """Say what a forecast rests on."""
        ...


@dataclass(frozen=True, slots=True)
class PriorKnowledge:
    """Published and working values alone."""

    def central(self, setup: Setup) -> CutParameters:
        """Give the medians of the sources."""
        return central_parameters(setup)

    def draw(self, setup: Setup, *, count: int, seed: int) -> CutParameters:
        """Draw parameters, and what an unknown session, tube and lot add to them."""
        known = draw_parameters(setup, count=count, seed=seed)
        return _with_effects(known, setup, _Effects(setup, Context(), {}, count=count, seed=seed))

    def notes(self, setup: Setup) -> tuple[Note, ...]:
        """Say that no reading is in it."""
        del setup
        return (
            Note(
                "no-readings",
                "No reading of this machine is in this forecast: it rests on published and working values "
                "alone, and is as wide as they are.",
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedKnowledge:
    """Priors and a fit.

    Parameters
    ----------
    fit : Fit
        Of the machine's readings.
    context : Context
        Tube and lot of the next cuts.
    """

    fit: Fit
    context: Context

    def central(self, setup: Setup) -> CutParameters:
        """Give the best form at the mean of its scores and effects."""
        best = self.fit.best
        one = replace(
            best,
            scores=best.scores.mean(axis=1, keepdims=True),
            effects=best.effects.mean(axis=1, keepdims=True),
        )
        return _scalar(self._of_form(one, setup, count=1, seed=None))

    def draw(self, setup: Setup, *, count: int, seed: int) -> CutParameters:
        """Draw from every form by its weight."""
        shares = np.array([form.weight for form in self.fit.forms])
        order = stream(name="forms", seed=seed).permutation(count)
        ends = np.round(np.cumsum(shares / shares.sum()) * count).astype(int)
        counts = np.diff(ends, prepend=0)
        parts = [
            self._of_form(_draws_of(form, int(n), seed=seed), setup, count=int(n), seed=seed)
            for form, n in zip(self.fit.forms, counts, strict=True)
            if n
        ]
        return _joined(parts, [int(n) for n in counts if n], order)

    def notes(self, setup: Setup) -> tuple[Note, ...]:
        """Say which fit it rests on, and where it goes beyond what was cut."""
        fit = self.fit
        notes = [
            Note(
                "fitted",
                f"Fit {fit.id or 'without a number'} of {len(fit.readings)} readings on {len(fit.coupons)} "
                f"coupons of machine '{fit.machine}' is in this forecast; {_forms_in_words(fit)}.",
            )
        ]
        if setup.material.name not in fit.materials:
            notes.append(
                Note("fit-other-material", f"{setup.material.name} was never cut: its number is unproved")
            )
        low, high = min(fit.thicknesses), max(fit.thicknesses)
        if not 0.9 * low <= setup.thickness <= 1.1 * high:
            notes.append(
                Note(
                    "fit-other-thickness",
                    f"{1e3 * setup.thickness:.1f} mm is outside the plates that were cut, "
                    f"{1e3 * low:.1f} to {1e3 * high:.1f} mm: what they tell is carried over in part",
                )
            )
        return tuple(notes)

    def _of_form(self, form: FormFit, setup: Setup, *, count: int, seed: int | None) -> CutParameters:
        prior = prior_of(form.form, self.fit.materials.values())
        parameters = prior.parameters(prior.values(form.scores), setup)
        rows = dict(zip(form.labels, form.effects, strict=True))
        effects = _Effects(
            setup, self.context, rows, count=count, seed=seed, discrepancy_scale=form.discrepancy_scale
        )
        edge, piece = parameters.edge_scatter, parameters.piece_scatter
        whole = form.scatter_scale**2 * (edge**2 + self.fit.position_sd**2)
        return replace(
            _with_effects(parameters, setup, effects),
            piece_scatter=piece * form.scatter_scale,
            edge_scatter=float(np.sqrt(max(whole - self.fit.position_sd**2, 0.0))),
        )


class _Effects:
    """Effects on the next cuts: fitted ones where there are any, fresh draws otherwise."""

    def __init__(
        self,
        setup: Setup,
        context: Context,
        rows: Mapping[str, Array],
        *,
        count: int,
        seed: int | None,
        discrepancy_scale: float = 1.0,
    ) -> None:
        self.setup = setup
        self.rows = rows
        self.count, self.seed = count, seed
        self.scale = discrepancy_scale
        size = {name: constant.value for name, constant in constant_set("effects").items()}
        bore = self.row(tube_bore_label(context.tube), size["tube_bore"])
        wear = self.row(tube_wear_label(context.tube), wear_log_sd())
        self.bore = bore + wear_of_usual_tube(context.tube_hours) * wear
        lot = self.row(f"lot {context.lot}", size["lot_separation"])
        self.log_separation = lot + self.fresh("session separation", size["session_separation"])
        self.log_separation = self.log_separation + BORE_SEPARATION * self.bore / setup.tube_bore
        self.kerf = self.fresh("session kerf", size["session_kerf"]) + 0.5 * self.bore
        self.log_lag = self.fresh("session lag", size["session_lag"])
        self.log_finish = self.fresh("session finish", size["session_finish"])

    def fresh(self, label: str, size: float) -> Array:
        """Draw an effect that nothing is known of; nothing for the central set."""
        if self.seed is None:
            return np.zeros(self.count)
        return np.asarray(size * stream(name=label, seed=self.seed).standard_normal(self.count))

    def row(self, label: str, size: float) -> Array:
        """Give a fitted effect, or draw it."""
        found = self.rows.get(label)
        return self.fresh(label, size) if found is None else found

    def discrepancy(self, change: Change) -> Array:
        """Give a discrepancy at the speed knots for the plate, shape (K, D)."""
        share, rest = thickness_share(self.setup.thickness)
        size = self.scale * discrepancy_size(change, 0.5 * self.setup.tube_bore)
        labels = discrepancy_labels(change)
        if labels[0] in self.rows:
            known = np.stack([self.rows[label] for label in labels])
            at_knots = np.einsum("t,tkd->kd", share, known.reshape(THICKNESS_KNOTS.size, KNOTS.size, -1))
        else:
            at_knots, rest = np.zeros((KNOTS.size, self.count)), 1.0
        root = np.linalg.cholesky(speed_covariance() + 1e-9 * np.eye(KNOTS.size))
        unknown = np.stack([self.fresh(f"{change} discrepancy at {k}", 1.0) for k in range(KNOTS.size)])
        return np.asarray(at_knots + np.sqrt(rest) * size * root @ unknown)


def _with_effects(parameters: CutParameters, setup: Setup, effects: _Effects) -> CutParameters:
    del setup
    finish = np.exp(effects.log_finish)
    return replace(
        parameters,
        separation_factor=floats(parameters.separation_factor) * np.exp(effects.log_separation),
        lag_limit_angle=floats(parameters.lag_limit_angle) * np.exp(effects.log_lag),
        finish_entry=floats(parameters.finish_entry) * finish,
        finish_gain=floats(parameters.finish_gain) * finish,
        top_shift=floats(parameters.top_shift) + effects.kerf,
        discrepancy=Discrepancy(
            top=effects.discrepancy(Change.TOP),
            taper=effects.discrepancy(Change.TAPER),
            barrel=effects.discrepancy(Change.BARREL),
        ),
    )


def _draws_of(form: FormFit, count: int, *, seed: int) -> FormFit:
    """Return a form with the wanted number of its draws, evenly taken or again with chance."""
    available = form.scores.shape[1]
    if count <= available:
        pick = np.linspace(0, available - 1, count).round().astype(int)
    else:
        pick = stream(name=f"again {form.form}", seed=seed).integers(0, available, count)
    return replace(form, scores=form.scores[:, pick], effects=form.effects[:, pick])


NOT_DRAWS = ("discrepancy", "piece_scatter", "edge_scatter", "finish_scatter")


def _joined(parts: Sequence[CutParameters], counts: Sequence[int], order: NDArray[np.int64]) -> CutParameters:
    """Put the draws of several forms into one set, in a shuffled order."""

    def column(name: str) -> Array:
        whole = [np.broadcast_to(getattr(part, name), (n,)) for part, n in zip(parts, counts, strict=True)]
        return np.concatenate(whole)[order]

    def knots(name: str) -> Array:
        return floats(np.concatenate([getattr(part.discrepancy, name) for part in parts], axis=1)[:, order])

    drawn: dict[str, Any] = {
        each.name: column(each.name) for each in fields(CutParameters) if each.name not in NOT_DRAWS
    }
    share = np.array(counts) / sum(counts)
    for name in ("piece_scatter", "edge_scatter"):
        drawn[name] = float(np.sqrt(share @ np.array([getattr(part, name) ** 2 for part in parts])))
    return CutParameters(
        **drawn,
        finish_scatter=parts[0].finish_scatter,
        discrepancy=Discrepancy(top=knots("top"), taper=knots("taper"), barrel=knots("barrel")),
    )


def _scalar(parameters: CutParameters) -> CutParameters:
    """Turn draws of one into plain numbers."""
    single: dict[str, Any] = {
        each.name: float(value[0])
        for each in fields(parameters)
        if np.ndim(value := getattr(parameters, each.name)) == 1
    }
    return replace(parameters, **single)


def _forms_in_words(fit: Fit) -> str:
    named = [
        f"{form.form.name.lower()} {100 * form.weight:.0f} %" for form in fit.forms if form.weight > 0.005
    ]
    return "kerf forms: " + ", ".join(named)
