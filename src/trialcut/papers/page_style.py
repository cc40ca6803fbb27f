"""Style of a drawing on a page: follows the reader's light or dark setting through CSS variables.

A page may set the variables itself, or force one form with ``data-theme="light"`` or ``"dark"`` on the root.
"""

from __future__ import annotations

from trialcut.papers.palette import DARK, LIGHT, css_variables

VARIABLES = (
    f":root{{{css_variables(LIGHT)}}}"
    f"@media screen and (prefers-color-scheme:dark){{:root:not([data-theme=light]){{{css_variables(DARK)}}}}}"
    f"@media screen{{:root[data-theme=dark]{{{css_variables(DARK)}}}}}"
)
"""The palette as variables, for a page's own style. Print is always light."""

_FILLS = {
    "tc-body": "fill",
    "tc-label,.tc-page .tc-opening,.tc-page .tc-key-title": "ink",
    "tc-key": "grey",
    "tc-size,.tc-page .tc-arrow,.tc-page .tc-read,.tc-page .tc-number-text": "accent",
    "tc-missed .tc-size,.tc-page .tc-missed .tc-arrow": "warm",
    "tc-pierce,.tc-page .tc-start,.tc-page .tc-order-text,.tc-page .tc-flag": "warm",
    "tc-corner,.tc-page .tc-order,.tc-page .tc-ring": "paper",
    "tc-flag-text": "paper",
}
_STROKES = {
    "tc-corner,.tc-page .tc-tick": "grey",
    "tc-lead,.tc-page .tc-order,.tc-page .tc-spot": "warm",
    "tc-start": "paper",
    "tc-later": "ink",
    "tc-thin,.tc-page .tc-leader": "soft",
    "tc-measure,.tc-page .tc-reach,.tc-page .tc-ring": "accent",
    "tc-missed .tc-measure": "warm",
}

DRAWING = (
    "".join(f".tc-page .{names}{{fill:var(--tc-{tone})}}" for names, tone in _FILLS.items())
    + "".join(f".tc-page .{names}{{stroke:var(--tc-{tone})}}" for names, tone in _STROKES.items())
    + ".tc-page{max-width:100%;height:auto;font-variant-numeric:tabular-nums}"
    ".tc-page .tc-edge,.tc-page .tc-swatch{stroke:var(--v,var(--tc-ink))}"
    ".tc-page .tc-bar-dark{display:none}"
    ".tc-page .tc-hit{cursor:pointer;outline:none}"
    ".tc-page .tc-hit:hover,.tc-page .tc-hit[aria-pressed=true]"
    "{stroke:color-mix(in srgb,var(--tc-accent) 22%,transparent)}"
    ".tc-page .tc-hit:focus-visible{stroke:color-mix(in srgb,var(--tc-accent) 40%,transparent)}"
    ".tc-page .tc-selected{stroke-width:3.6}"
    "@media screen and (prefers-color-scheme:dark){"
    ":root:not([data-theme=light]) :is(.tc-page .tc-edge,.tc-page .tc-swatch){stroke:var(--vd,var(--tc-ink))}"
    ":root:not([data-theme=light]) .tc-page .tc-bar-light{display:none}"
    ":root:not([data-theme=light]) .tc-page .tc-bar-dark{display:inline}}"
    "@media screen{"
    ":root[data-theme=dark] :is(.tc-page .tc-edge,.tc-page .tc-swatch){stroke:var(--vd,var(--tc-ink))}"
    ":root[data-theme=dark] .tc-page .tc-bar-light{display:none}"
    ":root[data-theme=dark] .tc-page .tc-bar-dark{display:inline}}"
)
"""Rules for the marks of a drawing; they need `VARIABLES`."""
