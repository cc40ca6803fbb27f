"""The statistical reference data sets of NIST for nonlinear regression: files, models, certified values.

Files as published (https://www.itl.nist.gov/div898/strd/), in the public domain, under published/raw/strd.
"""

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent / "published" / "raw" / "strd"
MONTH = 2.0 * np.pi


def _gauss(x, b):
    return b[0] * np.exp(-b[1] * x) + sum(
        b[k] * np.exp(-((x - b[k + 1]) ** 2) / b[k + 2] ** 2) for k in (2, 5)
    )


def _lanczos(x, b):
    return sum(b[k] * np.exp(-b[k + 1] * x) for k in (0, 2, 4))


def _cubic_over_cubic(x, b):
    return (b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3) / (1 + b[4] * x + b[5] * x**2 + b[6] * x**3)


def _waves(x, b):
    periods = ((12.0, b[1], b[2]), (b[3], b[4], b[5]), (b[6], b[7], b[8]))
    return b[0] + sum(c * np.cos(MONTH * x / t) + s * np.sin(MONTH * x / t) for t, c, s in periods)


def _rising(x, b):
    return b[0] * (1 - np.exp(-b[1] * x))


def _chwirut(x, b):
    return np.exp(-b[0] * x) / (b[1] + b[2] * x)


MODELS = {
    "Bennett5": lambda x, b: b[0] * (b[1] + x) ** (-1 / b[2]),
    "BoxBOD": _rising,
    "Chwirut1": _chwirut,
    "Chwirut2": _chwirut,
    "DanWood": lambda x, b: b[0] * x ** b[1],
    "ENSO": _waves,
    "Eckerle4": lambda x, b: b[0] / b[1] * np.exp(-0.5 * ((x - b[2]) / b[1]) ** 2),
    "Gauss1": _gauss,
    "Gauss2": _gauss,
    "Gauss3": _gauss,
    "Hahn1": _cubic_over_cubic,
    "Kirby2": lambda x, b: (b[0] + b[1] * x + b[2] * x**2) / (1 + b[3] * x + b[4] * x**2),
    "Lanczos1": _lanczos,
    "Lanczos2": _lanczos,
    "Lanczos3": _lanczos,
    "MGH09": lambda x, b: b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3]),
    "MGH10": lambda x, b: b[0] * np.exp(b[1] / (x + b[2])),
    "MGH17": lambda x, b: b[0] + b[1] * np.exp(-x * b[3]) + b[2] * np.exp(-x * b[4]),
    "Misra1a": _rising,
    "Misra1b": lambda x, b: b[0] * (1 - (1 + b[1] * x / 2) ** -2),
    "Misra1c": lambda x, b: b[0] * (1 - (1 + 2 * b[1] * x) ** -0.5),
    "Misra1d": lambda x, b: b[0] * b[1] * x / (1 + b[1] * x),
    "Nelson": lambda x, b: b[0] - b[1] * x[0] * np.exp(-b[2] * x[1]),
    "Rat42": lambda x, b: b[0] / (1 + np.exp(b[1] - b[2] * x)),
    "Rat43": lambda x, b: b[0] / (1 + np.exp(b[1] - b[2] * x)) ** (1 / b[3]),
    "Roszman1": lambda x, b: b[0] - b[1] * x - np.arctan(b[2] / (x - b[3])) / np.pi,
    "Thurber": _cubic_over_cubic,
}


@dataclass(frozen=True)
class CertifiedSet:
    """Readings, two starts, and what the fit must come to."""

    name: str
    x: np.ndarray
    y: np.ndarray
    starts: tuple[np.ndarray, np.ndarray]
    parameters: np.ndarray
    sd: np.ndarray
    squares: float

    def predict(self, columns):
        """Of parameters (P, D), shape (N, D)."""
        x = self.x[..., None]
        return MODELS[self.name](x, columns)


def certified_set(name):
    """Read one file."""
    lines = (FOLDER / f"{name}.dat").read_text(encoding="latin-1").splitlines()
    rows = [
        re.findall(r"[-+]?[\d.]+(?:[eE][-+]?\d+)?", line.split("=", 1)[1])
        for line in lines
        if re.match(r"\s*b\d+ =", line)
    ]
    table = np.array([[float(value) for value in row] for row in rows])
    squares = next(float(line.split(":")[1]) for line in lines if line.startswith("Residual Sum of Squares"))
    data = np.array([[float(value) for value in line.split()] for line in lines[60:] if line.strip()])
    y, x = data[:, 0], data[:, 1]
    if name == "Nelson":
        y, x = np.log(y), data[:, 1:].T
    return CertifiedSet(
        name=name,
        x=x,
        y=y,
        starts=(table[:, 0], table[:, 1]),
        parameters=table[:, 2],
        sd=table[:, 3],
        squares=squares,
    )


def digits(value, certified):
    """How many digits agree (log relative error), at most 11: the certified values have that many."""
    error = np.abs(np.asarray(value) - certified) / np.abs(certified)
    return np.minimum(-np.log10(np.maximum(error, 1e-11)), 11.0)
