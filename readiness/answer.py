"""The one-line answer: which pins to leave alone, which to look at, and why, place by place."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from readiness import groups
from readiness.units import shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from readiness.forecast import Case, Forecast, PinForecast
    from readiness.units import UnitSystem

# Worst first: where the cases of one place disagree, the pin gets the one that asks for most care.
_CARE = ("cannot tell", "move", "confirm", "leave")


@dataclass(frozen=True)
class Answer:
    """What to do with the sight at one place, in sentences."""

    place: str
    sentences: tuple[str, ...]


def answers(forecast: Forecast, units: UnitSystem) -> tuple[Answer, ...]:
    """One answer for each destination."""
    return tuple(
        Answer(destination.name, tuple(_sentences(destination.cases, forecast, units)))
        for destination in forecast.destinations
    )


def _sentences(cases: Sequence[Case], forecast: Forecast, units: UnitSystem) -> list[str]:
    """Pins with the same advice in a row become one sentence; the last to be left gets its own."""
    worst = [_most_careful(pins) for pins in zip(*(case.pins for case in cases), strict=True)]
    runs = [list(run) for _, run in groupby(worst, key=lambda pin: pin.advice)]
    sentences = []
    for run in runs:
        if run[0].advice == "leave" and len(run) > 1 and run is runs[-1]:
            sentences.append(f"{_span(run[:-1], units)}: leave the sight alone.")
            run = run[-1:]
        sentences.append(f"{_span(run, units)}: {_tell(run, forecast, units)}")
    return sentences


def _most_careful(pins: Sequence[PinForecast]) -> PinForecast:
    return min(pins, key=lambda pin: (_CARE.index(pin.advice), -abs(pin.shift_m)))


def _span(pins: Sequence[PinForecast], units: UnitSystem) -> str:
    first, last = (shown(pin.distance_m, "distance", units) for pin in (pins[0], pins[-1]))
    return first if first == last else f"{first.split()[0]} to {last}"


def _tell(run: Sequence[PinForecast], forecast: Forecast, units: UnitSystem) -> str:
    far = run[-1]
    lands = _lands(far, units)
    if far.advice == "cannot tell":
        recorded = shown(forecast.spreads[-1][0], "distance", units) if forecast.spreads else ""
        why = f"your farthest recorded group is at {recorded}" if recorded else "no group is recorded"
        return f"{lands} by the forecast; cannot tell what to do: {why}."
    if far.advice == "leave":
        if far.arrows_to_see is None:
            return f"{lands}; your groups could not see it in {groups.MOST_ARROWS} arrows: leave."
        needs = _about(far.arrows_to_see)
        return f"{lands}; your groups would need about {needs} arrows to see it: leave."
    if far.advice == "confirm":
        return f"{lands}; about {_about(far.arrows_to_see or 0)} arrows would show it: confirm before you touch the sight."
    move = shown(abs(far.sight_move_m), "fine", units)
    direction = "up" if far.sight_move_m > 0 else "down"
    return f"{lands}: move that pin {move} {direction}, only after the marks and the bare shaft pass."


def _lands(pin: PinForecast, units: UnitSystem) -> str:
    return f"{shown(abs(pin.shift_m), 'offset', units)} {'high' if pin.shift_m >= 0 else 'low'}"


def _about(arrows: int) -> str:
    return str(arrows) if arrows <= 20 else str(round(arrows, -1))
