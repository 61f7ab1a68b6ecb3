"""The one-line answer: which pins to leave alone, which to look at, and why, place by place."""

from __future__ import annotations

from itertools import groupby
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from readiness import groups
from readiness.showing import shown
from readiness.units import from_unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.forecast import Case, Forecast
    from readiness.pinshift import PinForecast
    from readiness.units import UnitSystem

_EXACT_ARROWS = 100  # more are told in tens
_SMALLEST = {
    "imperial": from_unit(1, "length", "in"),
    "metric": from_unit(1, "length", "cm"),
}  # the unit of an offset on the page, [m]
# Worst first: where the cases of one place disagree, the pin gets the one that asks for most care.
CARE = ("cannot tell", "move", "confirm", "leave")


class Answer(NamedTuple):
    """What to do with the sight at one place, in sentences."""

    place: str
    sentences: tuple[str, ...]


def answers(forecast: Forecast, units: UnitSystem) -> tuple[Answer, ...]:
    """One answer for each destination."""
    return tuple(
        Answer(destination.name, tuple(_sentences(destination.cases, forecast, units)))
        for destination in forecast.destinations
    )


def _sentences(cases: Sequence[Case], forecast: Forecast, units: UnitSystem) -> Iterator[str]:
    """Pins in a row with the same advice share a sentence, but for those to touch and the last of those to leave."""
    pins = pins_there(cases)
    for advice, run in groupby(pins, key=lambda pin: pin.worst.advice):
        alike = list(run)
        if advice == "leave" and len(alike) > 1:
            yield f"{_span(alike[:-1], units)}: leave the sight alone."
        if advice == "cannot tell" and len(alike) > 1:
            end = shown(alike[-1].distance_m, "distance", units)
            yield f"{_span(alike, units)}: at {end} {_tell(alike[-1], forecast, units)}"
        else:
            for pin in alike[-1:] if advice == "leave" else alike:
                yield f"{_span([pin], units)}: {_tell(pin, forecast, units)}"


def pins_there(cases: Sequence[Case]) -> list[PinThere]:
    """Each pin of the sight over every case of one place."""
    return [PinThere(*both) for both in zip(*(case.pins for case in cases), strict=True)]


class PinThere:
    """One pin in every case of a place: where it lands at the least and most, and the case to be most careful of."""

    def __init__(self, *cases: PinForecast) -> None:
        self.distance_m = cases[0].distance_m
        self.worst = min(cases, key=lambda pin: (CARE.index(pin.advice), -abs(pin.shift_m)))
        self.least, self.most = sorted((pin.shift_m for pin in (cases[0], cases[-1])), key=abs)
        self.needs = tuple(pin.arrows_to_see for pin in cases)  # None: more than groups.MOST_ARROWS
        self.band = min(pin.shift_low_m for pin in cases), max(pin.shift_high_m for pin in cases)


def _span(pins: Sequence[PinThere], units: UnitSystem) -> str:
    first, last = (shown(pin.distance_m, "distance", units) for pin in (pins[0], pins[-1]))
    return first if first == last else f"{first.split()[0]} to {last}"


def _tell(pin: PinThere, forecast: Forecast, units: UnitSystem) -> str:
    far, lands = pin.worst, _lands(pin, units)
    if far.advice == "cannot tell":
        recorded = shown(forecast.spreads[-1][0], "distance", units) if forecast.spreads else ""
        why = f"your farthest recorded group is at {recorded}" if recorded else "no group is recorded"
        return f"{lands} by the forecast; cannot tell what to do: {why}."
    if far.advice == "leave":
        if far.arrows_to_see is not None and far.arrows_to_see <= forecast.arrows:
            return f"{lands}; it costs less than one arrow in a hundred: leave."
        if not any(pin.needs):
            return f"{lands}; your groups could not see it in {groups.MOST_ARROWS} arrows: leave."
        return f"{lands}; your groups would need {_arrows(pin.needs)} to see it: leave."
    if far.advice == "confirm":
        return f"{lands}; {_arrows(pin.needs)} would show it: confirm before you touch the sight."
    move = shown(abs(far.sight_move_m), "fine", units)
    direction = "up" if far.sight_move_m > 0 else "down"
    return f"{lands}: move that pin {move} {direction}, only after the marks and the bare shaft pass."


def _lands(pin: PinThere, units: UnitSystem) -> str:
    """Where the arrow lands, as a range over the cases where they differ on the page."""

    def words(shift_m: float) -> str:
        size = shown(abs(shift_m), "offset", units)
        if float(size.split()[0]) == 0.0:
            return size
        return f"{size} {'high' if shift_m > 0 else 'low'}"

    if all(float(words(end).split()[0]) == 0.0 for end in (pin.most, *pin.band)):
        return f"less than {shown(0.05 * _SMALLEST[units], 'fine', units)} off"
    ends = sorted(pin.band, key=abs)
    return f"{_range(words(pin.least), words(pin.most))} ({_range(words(ends[0]), words(ends[1]))} with its doubt)"


def _range(least: str, most: str) -> str:
    """Two values such as `0.6 in high` as one range."""
    if least == most:
        return most
    number = least.split(maxsplit=1)[0]
    same_side = float(number) == 0.0 or least.rsplit(maxsplit=1)[-1] == most.rsplit(maxsplit=1)[-1]
    return f"{number if same_side else least} to {most}"


def _arrows(needs: Sequence[int | None]) -> str:
    """The arrows that show a shift, from the case that needs fewest to the one that needs most, as the table has them.

    Large numbers are told to the next ten outward: so exact they are not, and the true ones still lie between.
    """
    known = [number for number in needs if number is not None]
    low, high = min(known), max(known)
    is_open = len(known) < len(needs)
    about = ""
    if (low if is_open else high) > _EXACT_ARROWS:
        about, low, high = "about ", 10 * (low // 10) or low, 10 * ceil(high / 10)
    if is_open:
        return f"{about}{low} to more than {groups.MOST_ARROWS} arrows"
    return f"{about}{low} arrows" if low == high else f"{about}{low} to {high} arrows"
