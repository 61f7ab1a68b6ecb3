"""The speed and drag of this arrow, with their doubt: from readings, from what is stated, or from papers.

Three sources of the drag coefficient, best first: speed readings at two or more distances; a stated value;
the band that papers give. Marks of the sight's own scale then sharpen speed and drag together.

Sources
-------
[1] Drag on the shaft's cross-section, from about 1.3 with a laminar to about 2.6 with a turbulent boundary
    layer, Reynolds number (by diameter) about 2e4: T. Miyazaki and others, report of KAKENHI project
    18K03943, 2020. Between them: 1.56 and 2.05 for two vane sizes at 1.2e4, Proceedings 49(1) (2020) 56,
    doi 10.3390/proceedings2020049056.
"""

from __future__ import annotations

from math import log, sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness.flight import drag_constant_per_m
from readiness.linear import dot
from readiness.quantiles import chi2_quantile
from readiness.sighting import Shooter, aim_slope

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.sighting import Medium
    from readiness.trip.model import Arrow, Mark, Sight

# [1]: the ends of the band are taken as two standard deviations from its middle.
PUBLISHED_DRAG = (1.3, 2.6)
PUBLISHED_REYNOLDS_LIMIT = 2.0e4
DEFAULT_SPEED_SD_M_S = 2 * 0.3048
STATED_DRAG_SD_SHARE = 0.1  # of a stated coefficient without its own doubt: common practice, no source
DEFAULT_MARK_SD_M = 0.3e-3  # one reading of a sight scale and the group behind it: an assumption, printed
FEWEST_MARKS = 3


class Ballistics(NamedTuple):
    """Launch speed [m/s] and drag coefficient [-], their variances and covariance, and where they come from."""

    speed_m_s: float
    drag_coefficient: float
    speed_variance: float
    drag_variance: float
    covariance: float
    drag_source: str
    note: str = ""
    warning: str = ""

    @property
    def speed_sd_m_s(self) -> float:
        """One standard deviation of the launch speed, [m/s]."""
        return sqrt(self.speed_variance)

    @property
    def drag_sd(self) -> float:
        """One standard deviation of the drag coefficient, [-]."""
        return sqrt(self.drag_variance)

    @property
    def correlation(self) -> float:
        """Correlation of the two, [-]."""
        return self.covariance / sqrt(self.speed_variance * self.drag_variance)


def ballistics_of(arrow: Arrow, sight: Sight, peep_height_m: float, home: Medium) -> Ballistics:
    """Speed and drag of an arrow, from all that the trip file says of them.

    Parameters
    ----------
    arrow : the arrow, with its readings or stated values
    sight : the sight, whose marks sharpen the result when there are three or more
    peep_height_m : sight line above the nocked arrow, [m]
    home : air and gravity in which readings and marks were taken

    Returns
    -------
    Ballistics

    """
    prior = _prior(arrow, home)
    if len(sight.marks) < FEWEST_MARKS:
        return prior
    shooter = Shooter(prior.speed_m_s, prior.drag_coefficient, arrow.shaft_diameter_m, arrow.mass_kg, peep_height_m)
    return sharpened_by_marks(
        prior, shooter, home, sight.marks, sight.radius_m, sight.mark_uncertainty_m or DEFAULT_MARK_SD_M
    )


def reynolds_number(speed_m_s: float, shaft_diameter_m: float, density_kg_m3: float, temperature_c: float) -> float:
    """Reynolds number of a shaft by its diameter, with Sutherland's viscosity.

    Parameters
    ----------
    speed_m_s : speed, [m/s]
    shaft_diameter_m : diameter, [m]
    density_kg_m3 : air density, [kg/m3]
    temperature_c : air temperature, [C], -60 to 60

    Returns
    -------
    Reynolds number, [-]. Viscosity law of ISO 2533.

    Examples
    --------
    >>> reynolds_number(60.0, 0.0055, 1.225, 15.0)  # nu = 1.46072e-5
    22591.

    """
    kelvin = temperature_c + 273.15
    viscosity = 1.458e-6 * kelvin * sqrt(kelvin) / (kelvin + 110.4)
    return density_kg_m3 * speed_m_s * shaft_diameter_m / viscosity


def _prior(arrow: Arrow, home: Medium) -> Ballistics:
    speed_sd = arrow.speed_uncertainty_m_s or DEFAULT_SPEED_SD_M_S
    low, high = PUBLISHED_DRAG
    warning = ""
    if arrow.speed_readings:
        drag, drag_sd = drag_from_readings(
            [(r.distance_m, r.speed_m_s) for r in arrow.speed_readings],
            speed_sd,
            drag_constant_per_m(1.0, arrow.shaft_diameter_m, arrow.mass_kg, home.density_kg_m3),
        )
        source = f"measured: {len(arrow.speed_readings)} speed readings"
        if drag_sd > 0.25 * (high - low) or not low - 2 * drag_sd <= drag <= high + 2 * drag_sd:
            warning = (
                f"The speed readings give a drag of {drag:.2f} with a doubt of {drag_sd:.2f}; published arrows lie "
                f"between {low} and {high}. Readings farther apart, or more of them, would tell more."
            )
    elif arrow.drag_coefficient is not None:
        drag = arrow.drag_coefficient
        drag_sd = arrow.drag_uncertainty or STATED_DRAG_SD_SHARE * drag
        source = "stated in the trip file"
    else:
        drag, drag_sd = 0.5 * (low + high), 0.25 * (high - low)
        source = f"published band {low} to {high}"
    return Ballistics(arrow.speed_m_s, drag, speed_sd**2, drag_sd**2, 0.0, source, warning=warning)


def drag_from_readings(
    readings: Sequence[tuple[float, float]], speed_sd_m_s: float, k_of_unit_drag: float
) -> tuple[float, float]:
    """Drag coefficient from speeds at distances: the slope of the logarithm of speed.

    An arrow that loses speed by k v^2 slows as exp(-k x). Each reading is taken as aimed at
    its chronograph, so that the arrow neither gains nor loses height and gravity does not change its speed.

    Parameters
    ----------
    readings : (distance, [m]; speed, [m/s]), two or more
    speed_sd_m_s : one standard deviation of one reading, [m/s]
    k_of_unit_drag : drag constant for a coefficient of 1 in the air of the readings, [1/m]

    Returns
    -------
    coefficient and its standard deviation, [-]

    Examples
    --------
    >>> drag_from_readings([(0.0, 80.0), (40.0, 80.0 * 2.718281828 ** -0.06)], 0.5, 0.00075)[0]
    2.0

    """
    n = len(readings)
    mean_x = sum(x for x, _ in readings) / n
    mean_log = sum(log(v) for _, v in readings) / n
    spread = sum((x - mean_x) ** 2 for x, _ in readings)
    slope = sum((x - mean_x) * (log(v) - mean_log) for x, v in readings) / spread
    mean_speed = sum(v for _, v in readings) / n
    slope_sd = speed_sd_m_s / mean_speed / sqrt(spread)
    return -slope / k_of_unit_drag, slope_sd / k_of_unit_drag


def sharpened_by_marks(
    prior: Ballistics,
    shooter: Shooter,
    home: Medium,
    marks: Sequence[Mark],
    sight_radius_m: float,
    mark_sd_m: float,
) -> Ballistics:
    """Speed and drag that fit the sight's marks, starting from what was known before.

    Least squares over speed, drag and the unknown zero of the scale. Marks alone see one mixture of speed
    and drag well and the other hardly; what was known before keeps the fit honest. Marks that cannot be
    reconciled with it (1 in 100 by chance) are left out, and the result says so.

    Parameters
    ----------
    prior : speed and drag with their doubt
    shooter : the arrow and peep height; its speed and drag are those of the prior
    home : air and gravity of the marks
    marks : three or more readings of the sight's scale
    sight_radius_m : peep to pin, [m]
    mark_sd_m : one standard deviation of a reading, [m]

    Returns
    -------
    Ballistics with smaller doubt and the correlation that the marks leave

    """
    fit = _Fit(prior, shooter, home, tuple(marks), sight_radius_m, mark_sd_m)
    speed, drag = prior.speed_m_s, prior.drag_coefficient
    for _ in range(8):
        move_speed, move_drag = fit.step(speed, drag)
        speed, drag = speed + move_speed, max(0.2, drag + move_drag)
        if abs(move_speed) < 1e-6 and abs(move_drag) < 1e-7:
            break
    # Marks and the two values known before, less speed, drag and the scale's zero.
    if fit.misfit(speed, drag) > chi2_quantile(0.99, len(marks) - 1):
        return prior._replace(warning=_irreconcilable(prior, speed, drag))
    a, b, c = fit.information(speed, drag)
    determinant = a * c - b * b
    found = prior._replace(
        speed_m_s=speed,
        drag_coefficient=drag,
        speed_variance=c / determinant,
        drag_variance=a / determinant,
        covariance=-b / determinant,
        drag_source=f"{prior.drag_source}, sharpened by {len(marks)} sight marks",
    )
    note = (
        f"The marks leave speed and drag tied together (correlation {found.correlation:+.2f}): "
        "on their own they cannot tell a faster arrow from a less draggy one."
    )
    return found._replace(note=note)


def _irreconcilable(prior: Ballistics, speed: float, drag: float) -> str:
    def words(speed_m_s: float, coefficient: float) -> str:
        return f"{speed_m_s / 0.3048:.0f} fps ({speed_m_s:.1f} m/s) and drag {coefficient:.2f}"

    return (
        f"The sight marks do not fit the rest of the file, so they were left out: they want {words(speed, drag)}, "
        f"the file says {words(prior.speed_m_s, prior.drag_coefficient)}. "
        "Look at the sight radius, the scale's unit, the speed and each mark."
    )


class _Fit(NamedTuple):
    """The least-squares problem of sharpened_by_marks."""

    prior: Ballistics
    shooter: Shooter
    home: Medium
    marks: tuple[Mark, ...]
    sight_radius_m: float
    mark_sd_m: float

    def readings(self, speed: float, drag: float) -> list[float]:
        """What the scale would read at each mark, less its mean: the zero of the scale is unknown and drops out."""
        rising = self.marks[-1].reading_m > self.marks[0].reading_m
        scale = self.sight_radius_m if rising else -self.sight_radius_m
        trial = self.shooter._replace(speed_m_s=speed, drag_coefficient=drag)
        return _centred([scale * aim_slope(trial, self.home, mark.distance_m) for mark in self.marks])

    def misses(self, speed: float, drag: float) -> list[float]:
        """The marks as read, less what the scale would read."""
        read = _centred([mark.reading_m for mark in self.marks])
        return [mark - would for mark, would in zip(read, self.readings(speed, drag), strict=True)]

    def slopes(self, speed: float, drag: float) -> tuple[list[float], list[float]]:
        """Change of each reading with speed and with drag."""
        step_v, step_c = 0.1 * self.prior.speed_sd_m_s, 0.1 * self.prior.drag_sd
        base = self.readings(speed, drag)
        by_speed = [(b - a) / step_v for a, b in zip(base, self.readings(speed + step_v, drag), strict=True)]
        by_drag = [(b - a) / step_c for a, b in zip(base, self.readings(speed, drag + step_c), strict=True)]
        return by_speed, by_drag

    def information(self, speed: float, drag: float) -> tuple[float, float, float]:
        """The information matrix of speed and drag: its two diagonal entries and the one beside them."""
        by_speed, by_drag = self.slopes(speed, drag)
        weight = 1.0 / self.mark_sd_m**2
        return (
            weight * dot(by_speed, by_speed) + 1.0 / self.prior.speed_variance,
            weight * dot(by_speed, by_drag),
            weight * dot(by_drag, by_drag) + 1.0 / self.prior.drag_variance,
        )

    def step(self, speed: float, drag: float) -> tuple[float, float]:
        """One Gauss-Newton step."""
        by_speed, by_drag = self.slopes(speed, drag)
        miss, weight, prior = self.misses(speed, drag), 1.0 / self.mark_sd_m**2, self.prior
        pull_v = weight * dot(by_speed, miss) + (prior.speed_m_s - speed) / prior.speed_variance
        pull_c = weight * dot(by_drag, miss) + (prior.drag_coefficient - drag) / prior.drag_variance
        a, b, c = self.information(speed, drag)
        determinant = a * c - b * b
        return (c * pull_v - b * pull_c) / determinant, (a * pull_c - b * pull_v) / determinant

    def misfit(self, speed: float, drag: float) -> float:
        """Chi-squared of the marks and of what was known before."""
        miss, prior = self.misses(speed, drag), self.prior
        return (
            dot(miss, miss) / self.mark_sd_m**2
            + (speed - prior.speed_m_s) ** 2 / prior.speed_variance
            + (drag - prior.drag_coefficient) ** 2 / prior.drag_variance
        )


def _centred(values: list[float]) -> list[float]:
    """Values less their mean."""
    mean = sum(values) / len(values)
    return [value - mean for value in values]
