"""How a shop wants its programs: words, axes, digits, template."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, degrees, radians, tan

from trialcut.errors import UsageError

INCH = 0.0254
MILLIMETRE = 1.0e-3

PLAIN_TEMPLATE = """\
{% for line in head %}
{{ line }}
{% endfor %}
{% for line in setup %}
{{ line }}
{% endfor %}
{% for run in runs %}
{{ run.title }}
{% for line in run.position %}
{{ line }}
{% endfor %}
{% for line in run.on %}
{{ line }}
{% endfor %}
{% for line in run.cut %}
{{ line }}
{% endfor %}
{% for line in run.off %}
{{ line }}
{% endfor %}
{% endfor %}
{% for line in foot %}
{{ line }}
{% endfor %}
"""
"""Template of a shop that has none of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltAxis:
    """One tilt axis of the head.

    Parameters
    ----------
    name : str
        One letter: ``"A"``.
    leans : str
        Which way the jet's exit moves as the axis turns positive: ``"+x"``, ``"-x"``, ``"+y"``, ``"-y"``.
    """

    name: str
    leans: str

    @property
    def sign(self) -> float:
        """Of the lean under a positive turn."""
        return -1.0 if self.leans[0] == "-" else 1.0

    @property
    def along(self) -> int:
        """0 where it leans along X, 1 along Y."""
        return 0 if self.leans[1] == "x" else 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramForm:
    """What a shop's programs look like.

    Parameters
    ----------
    unit : str
        ``"mm"``, ``"in"``, or empty for that of the study.
    feed_per : str
        ``"min"`` or ``"s"``.
    length_decimals, feed_decimals, angle_decimals : int or None
        Digits after the point; None: as fine as the reader's check needs.
    block_numbers : int
        Step between block numbers; zero for none.
    arcs : str
        ``"centre"`` for I and J, ``"radius"`` for R.
    comment : str
        ``"()"``, or ``";"`` for the rest of a line.
    jet_on, jet_off : tuple of str
        Lines that switch jet and abrasive.
    dwell_word : str
        Letter of the seconds of a G4.
    pierce_dwell : float or None
        None: the plan's own time of a pierce; zero for no dwell. [s]
    header, footer : tuple of str
        The shop's own lines, written and skipped as they stand.
    axes : tuple of TiltAxis
        None, or two, in the order in which they are written.
    nested : bool
        The first axis carries the second; otherwise each shows its own projection.
    angle_unit : str
        ``"deg"`` or ``"rad"``.
    template : str
        Text of the template.
    """

    unit: str = ""
    feed_per: str = "min"
    length_decimals: int | None = None
    feed_decimals: int | None = None
    angle_decimals: int | None = None
    block_numbers: int = 10
    arcs: str = "centre"
    comment: str = "()"
    jet_on: tuple[str, ...] = ("M3", "M8")
    jet_off: tuple[str, ...] = ("M9", "M5")
    dwell_word: str = "P"
    pierce_dwell: float | None = None
    header: tuple[str, ...] = ()
    footer: tuple[str, ...] = ("M30",)
    axes: tuple[TiltAxis, ...] = ()
    nested: bool = True
    angle_unit: str = "deg"
    template: str = PLAIN_TEMPLATE

    def in_unit(self, system: str) -> ProgramForm:
        """The same with unit and digits filled in for a study of ``"inch"`` or ``"metric"``."""
        from dataclasses import replace  # noqa: PLC0415

        unit = self.unit or ("in" if system == "inch" else "mm")
        usual = (5, 3) if unit == "in" else (4, 2)
        return replace(
            self,
            unit=unit,
            length_decimals=usual[0] if self.length_decimals is None else self.length_decimals,
            feed_decimals=usual[1] if self.feed_decimals is None else self.feed_decimals,
            angle_decimals=(4 if self.angle_unit == "deg" else 6)
            if self.angle_decimals is None
            else self.angle_decimals,
        )

    @property
    def length_unit(self) -> float:
        """[m]"""
        return INCH if self.unit == "in" else MILLIMETRE

    @property
    def digit(self) -> float:
        """Unit of the last digit of a place. [m]"""
        return self.length_unit * 10.0 ** -(self.length_decimals or 0)

    @property
    def feed_unit(self) -> float:
        """[m/s]"""
        return self.length_unit / (60.0 if self.feed_per == "min" else 1.0)

    def angles_of(self, lean: complex) -> tuple[float, ...]:
        """
        Turns of the axes for a lean.

        Parameters
        ----------
        lean : complex
            Shift of the jet per depth: along X, and along Y as the imaginary part. [-]

        Returns
        -------
        tuple of float
            In the order of the axes. [rad]
        """
        if not self.axes:
            if abs(lean) > 0.0:
                raise UsageError(
                    "the plan tilts the head and [program] of the shop file has no axes for it: "
                    "give two, or hand off an upright option",
                    code="no-tilt-axes",
                )
            return ()
        slopes = (lean.real, lean.imag)
        first, second = self.axes
        outer = atan(slopes[first.along])
        inner = atan(slopes[second.along] * (cos(outer) if self.nested else 1.0))
        return (first.sign * outer, second.sign * inner)

    def lean_of(self, angles: tuple[float, ...]) -> complex:
        """
        Lean that turns of the axes give: the other way of `angles_of`.

        Parameters
        ----------
        angles : tuple of float
            In the order of the axes. [rad]

        Returns
        -------
        complex
            As in `angles_of`. [-]
        """
        if not self.axes:
            return 0j
        first, second = self.axes
        outer, inner = first.sign * angles[0], second.sign * angles[1]
        slopes = [0.0, 0.0]
        slopes[first.along] = tan(outer)
        slopes[second.along] = tan(inner) / (cos(outer) if self.nested else 1.0)
        return complex(*slopes)

    def printed_angle(self, angle: float) -> float:
        """In the unit of the axes."""
        return degrees(angle) if self.angle_unit == "deg" else angle

    def read_angle(self, printed: float) -> float:
        """[rad]"""
        return radians(printed) if self.angle_unit == "deg" else printed
