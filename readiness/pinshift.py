"""One pin in other air: its shift, the band around it, what caused it, what a group can show, the advice.

The aim is found once at home, and once more with each doubtful thing one standard deviation off; every place
and case then flies those aims through its own air.
"""

from __future__ import annotations

from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from readiness import air, groups, sighting
from readiness.air import Air
from readiness.sighting import Medium, Shooter
from readiness.units import from_unit

if TYPE_CHECKING:
    from readiness.calibration import Ballistics
    from readiness.conditions import Conditions
    from readiness.groups import Spread

BAND_SIGMAS = 1.959963985  # two-sided 95 % of a normal
COST_THAT_MATTERS = 0.01  # one arrow in a hundred
ONE_FPS_M_S = from_unit(1, "speed", "fps")


class Because(NamedTuple):
    """The shift split by changing one cause at a time, in this order, [m]; the parts sum to the shift."""

    elevation_m: float
    temperature_m: float
    humidity_m: float
    pressure_m: float
    gravity_m: float


class PinForecast(NamedTuple):
    """One pin at one place in one case. Lengths in [m], up positive; None where it cannot be told."""

    distance_m: float
    shift_m: float
    shift_low_m: float
    shift_high_m: float
    sight_move_m: float
    equivalent_distance_m: float | None
    sigma_m: float | None
    in_zone_home: float | None
    in_zone_there: float | None
    m_per_fps: float
    advice: str
    arrows_to_see: int | None
    because: Because


class Aims(NamedTuple):
    """The aim for one distance at home, and with each doubtful thing one standard deviation off."""

    distance_m: float
    slope: float
    denser: float
    heavier: float
    faster: float
    draggier: float


class FlightFromHome(NamedTuple):
    """The arrow of this trip from its bow, aimed at home."""

    shooter: Shooter
    doubt: Ballistics
    home: Conditions
    sight_radius_m: float

    @property
    def faster(self) -> Shooter:
        """One standard deviation faster."""
        return self.shooter._replace(speed_m_s=self.doubt.speed_m_s + self.doubt.speed_sd_m_s)

    @property
    def draggier(self) -> Shooter:
        """One standard deviation more drag."""
        return self.shooter._replace(drag_coefficient=self.doubt.drag_coefficient + self.doubt.drag_sd)

    def aims(self, distance_m: float) -> Aims:
        """All the aims for one distance."""
        aim, home, shooter = sighting.aim_slope, self.home.medium, self.shooter
        denser = home._replace(density_kg_m3=home.density_kg_m3 + self.home.density_sd_kg_m3)
        heavier = home._replace(gravity_m_s2=home.gravity_m_s2 + self.home.gravity_sd_m_s2)
        return Aims(
            distance_m,
            aim(shooter, home, distance_m),
            aim(shooter, denser, distance_m),
            aim(shooter, heavier, distance_m),
            aim(self.faster, home, distance_m),
            aim(self.draggier, home, distance_m),
        )


def pin_forecast(
    flight: FlightFromHome, aim: Aims, there: Conditions, spread: Spread | None, radius_m: float, arrows: int
) -> PinForecast:
    """What one pin, aimed at home, does in the air there.

    Parameters
    ----------
    flight : the arrow and the air at home
    aim : the pin's aims, from flight.aims(distance)
    there : air and gravity there
    spread : the archer's spread at that distance; None where no group says it
    radius_m : radius of the target zone, [m]
    arrows : arrows that can be shot at camp, [-]

    Returns
    -------
    PinForecast

    """
    d, height = aim.distance_m, sighting.height_m
    shift = height(flight.shooter, there.medium, aim.slope, d)
    half = BAND_SIGMAS * shift_sd_m(flight, aim, there, shift)
    sigma = spread.sigma_m if spread else None
    advice, needed = advice_for((shift - half, shift + half), shift, sigma, radius_m, arrows)
    faster = flight.shooter._replace(speed_m_s=flight.shooter.speed_m_s + ONE_FPS_M_S)
    return PinForecast(
        distance_m=d,
        shift_m=shift,
        shift_low_m=shift - half,
        shift_high_m=shift + half,
        sight_move_m=sighting.sight_move_m(shift, flight.sight_radius_m, d),
        equivalent_distance_m=sighting.equivalent_distance_m(flight.shooter, there.medium, aim.slope, d),
        sigma_m=sigma,
        in_zone_home=groups.share_inside(radius_m, sigma) if sigma else None,
        in_zone_there=groups.share_inside(radius_m, sigma, shift) if sigma else None,
        m_per_fps=height(faster, there.medium, aim.slope, d) - shift,
        advice=advice,
        arrows_to_see=needed,
        because=_because(flight, aim, there),
    )


def shift_sd_m(flight: FlightFromHome, aim: Aims, there: Conditions, shift_m: float) -> float:
    """One standard deviation of the shift, [m]: each doubtful thing one off, the others as they are."""
    d, height, medium, shooter = aim.distance_m, sighting.height_m, there.medium, flight.shooter
    denser = medium._replace(density_kg_m3=medium.density_kg_m3 + there.density_sd_kg_m3)
    heavier = medium._replace(gravity_m_s2=medium.gravity_m_s2 + there.gravity_sd_m_s2)
    independent = (
        height(shooter, medium, aim.denser, d) - shift_m,
        height(shooter, denser, aim.slope, d) - shift_m,
        height(shooter, medium, aim.heavier, d) - shift_m,
        height(shooter, heavier, aim.slope, d) - shift_m,
    )
    # Speed and drag belong to the same arrow at home and there, and sight marks tie them to each other.
    by_speed = height(flight.faster, medium, aim.faster, d) - shift_m
    by_drag = height(flight.draggier, medium, aim.draggier, d) - shift_m
    tied = by_speed**2 + by_drag**2 + 2.0 * flight.doubt.correlation * by_speed * by_drag
    return sqrt(sum(part * part for part in independent) + max(0.0, tied))


def _because(flight: FlightFromHome, aim: Aims, there: Conditions) -> Because:
    """The shift in steps from the home air to the air there.

    Elevation changes what the standard atmosphere changes: pressure in proportion and temperature by its
    lapse. Temperature then goes to what it is there, humidity next, pressure next, gravity last.
    """
    home, end = flight.home.air, there.air
    climb = air.standard_pressure_pa(there.elevation_m) / air.standard_pressure_pa(flight.home.elevation_m)
    lapse = air.standard_temperature_k(there.elevation_m) - air.standard_temperature_k(flight.home.elevation_m)
    steps = (
        home,
        Air(home.pressure_pa * climb, home.temperature_c + lapse, home.relative_humidity),
        Air(home.pressure_pa * climb, end.temperature_c, home.relative_humidity),
        Air(home.pressure_pa * climb, end.temperature_c, end.relative_humidity),
        end,
    )
    media = [Medium(step.density_kg_m3, flight.home.gravity_m_s2) for step in steps]
    media.append(there.medium)
    heights = [sighting.height_m(flight.shooter, medium, aim.slope, aim.distance_m) for medium in media]
    return Because(*(after - before for before, after in pairwise(heights)))


def advice_for(
    band: tuple[float, float], shift_m: float, sigma_m: float | None, radius_m: float, arrows: int
) -> tuple[str, int | None]:
    """leave, confirm, move or cannot tell; and the arrows needed to see the shift.

    Parameters
    ----------
    band : low and high end of the shift, [m]
    shift_m : the shift, [m]
    sigma_m : per-axis standard deviation at this distance, [m]; None where no group says it
    radius_m : radius of the target zone, [m]
    arrows : arrows that can be shot at camp, [-]

    Returns
    -------
    advice; arrows to see the shift, None for more than 200 or where it cannot be told

    Examples
    --------
    >>> advice_for((0.01, 0.02), 0.015, 0.05, 0.1, 12)[0]
    'leave'

    """
    if sigma_m is None:
        return "cannot tell", None
    needed = groups.arrows_to_see(shift_m, sigma_m)
    centred = groups.share_inside(radius_m, sigma_m)
    far = max(abs(band[0]), abs(band[1]))
    near = 0.0 if band[0] <= 0.0 <= band[1] else min(abs(band[0]), abs(band[1]))
    visible = needed is not None and needed <= arrows
    if not visible or centred - groups.share_inside(radius_m, sigma_m, far) < COST_THAT_MATTERS:
        return "leave", needed
    if centred - groups.share_inside(radius_m, sigma_m, near) >= COST_THAT_MATTERS:
        return "move", needed
    return "confirm", needed
