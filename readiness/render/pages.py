"""Plan, forecast and check results -> the elements of their pages."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from readiness import stages
from readiness.render.elements import Closing, Heading, Listing, Paragraph, StepBox, Table, Warned
from readiness.render.numbers import doubts, pin_rows, place_lines, share_words, why_rows
from readiness.rules.when import APPLIES, CANNOT_TELL, DOES_NOT_APPLY
from readiness.showing import shown, shown_celsius, shown_unit, where

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from readiness.forecast import Limit
    from readiness.plan import Plan, PlanCaution, Step
    from readiness.render.elements import Element, Page
    from readiness.stages import Stage
    from readiness.units import UnitSystem
    from readiness.verification import Expectation

_LAST = "Put the bow back to its marks, verify it with the bare shaft, and only then touch the sight."


def plan_page(plan: Plan, *, everything: bool = False, only: str | None = None, short: bool = False) -> Page:
    """The whole plan: stop steps, the answer, what the arrows must show, then stage by stage.

    everything adds the steps that do not apply; only keeps one stage; short leaves out what each step rests on and
    the cautions that were told in full before.
    """
    page: list[Element] = list(_head(plan))
    if only is None:
        page += [Warned(notice, "from the trip file") for notice in plan.notices]
        page += _stops(plan)
        page += _answer(plan)
        page += camp_elements(plan)
        page += _expectations(plan)
    told: set[str] = set()
    for stage in stages.ALL:
        if only in (None, stage.key):
            page += _stage(plan, stage, told, everything=everything, short=short)
    if only is None:
        page += _pin_tables(plan, why=False)
    return (*page, *_foot(plan))


def camp_elements(plan: Plan) -> tuple[Element, ...]:
    """What the camp says, for its clients."""
    return (Heading("From the camp"), Listing(plan.camp_words)) if plan.camp_words else ()


def pins_page(plan: Plan, *, why: bool = False) -> Page:
    """The shift of every pin in every case, and with why its causes and doubts."""
    page = [Heading(f"{plan.trip.name}: pin shift", 1), *_answer(plan), *_pin_tables(plan, why=why)]
    if why:
        page += [Heading("The air"), Listing(tuple(place_lines(plan))), Heading("What is doubtful")]
        page += [Listing(tuple(doubts(plan)))]
    return tuple(page)


def _head(plan: Plan) -> Iterator[Element]:
    trip = plan.trip
    to_go = (trip.starts - plan.today).days
    when = f"{to_go} day{'' if to_go == 1 else 's'} before the start" if to_go > 0 else "the trip has begun"
    if plan.today > trip.ends:
        when = "the trip is over"
    places = " and ".join(place.name for place in trip.destinations)
    who = ", ".join(filter(None, (trip.hunter_name, trip.hunter_id)))
    yield Heading(trip.name, 1)
    yield Paragraph(
        f"{trip.starts} to {trip.ends}, by {trip.travel}: {trip.home.name} to {places}."
        f"{f' Hunter: {who}.' if who else ''} As of {plan.today}, {when}."
    )


def stop_words(step: Step) -> str:
    """A stop step that the trip raises, whole, with what raises it."""
    return f"{step.title}. {step.expect} If not: {step.if_not} ({step.id}: {step.reason})"


def _stops(plan: Plan) -> Iterator[Element]:
    yield Heading("STOP steps: no shot until each of these is so")
    if plan.raised_stops:
        yield Listing(tuple(f"NOW: {stop_words(step)}" for step in plan.raised_stops))
    titles = {stage.key: stage.title for stage in stages.ALL}
    yield Listing(
        tuple(f"{titles[step.stage]}, {step.title.lower()}: {step.expect} ({step.id})" for step in plan.usual_stops)
    )


def _answer(plan: Plan) -> Iterator[Element]:
    yield Heading("The answer")
    for answer in plan.answers:
        yield Paragraph(f"{answer.place}. {' '.join(answer.sentences)}")
    pins = plan.forecast.cases[0][1].pins
    far = pins[-1]
    step = "1 fps" if plan.units == "imperial" else "0.3 m/s"
    costs = f"{shown(far.m_per_fps, 'offset', plan.units)} at {shown(far.distance_m, 'distance', plan.units)}"
    yield Paragraph(_limit_words(plan))
    if plan.forecast.arrow.ballistics.warning:
        yield Warned(plan.forecast.arrow.ballistics.warning, "calculated from the trip file")
    yield Paragraph(f"{_LAST} Not in these numbers: the bow itself. Each {step} of launch speed is {costs}.")


def _expectations(plan: Plan) -> Iterator[Element]:
    checks, units = plan.checks, plan.units
    bare = [checks.bare_shaft] if checks.bare_shaft else []
    zeros = [zero for zero in (checks.near_zero, checks.far_zero) if zero]
    rows = [
        *(_row("bare shaft", f"{check.arrows} pairs", "fletched group", check, units) for check in bare),
        *(_row(check.name, str(check.arrows), "aiming point", check, units) for check in zeros),
        *(
            _row(check.name, f"{check.arrows} and {check.arrows}", "field points", check, units)
            for check in checks.broadheads
        ),
        *(_row("first cold arrow", "1", "aiming point", check, units) for check in checks.cold_first),
    ]
    yield Heading("What the arrows must show at camp")
    yield Table(
        ("check", "at", "arrows", "middle", "seen from", "within", "tolerance from"),
        tuple(rows),
        right=(1, 5),
    )
    yield Paragraph(
        f"All of it takes {checks.arrows} arrows. With fewer, the bare shaft and the near zero come first, "
        "then the far zero, then the heads; what was not shot is not known."
    )
    yield Paragraph(
        "Within: the circle in which an unmoved bow lands 95 times in 100, where the circle comes from your own "
        "record groups. It supposes that bare shafts and heads group as fletched field points do. The zeros and the "
        "cold arrow have the air's part in their circles."
    )


def _row(name: str, arrows: str, seen_from: str, check: Expectation, units: UnitSystem) -> tuple[str, ...]:
    return (
        name,
        shown(check.distance_m, "distance", units),
        arrows,
        where(check.right_m, check.up_m, units),
        seen_from,
        shown(check.tolerance_m, "offset", units),
        check.basis + (" (3 assumed)" if check.baseline_assumed else ""),
    )


def _stage(plan: Plan, stage: Stage, told: set[str], *, everything: bool, short: bool) -> Iterator[Element]:
    days = stages.dates_of(stage, plan.trip)
    date_words = "" if days is None else f", {days[0]}" if days[0] == days[1] else f", {days[0]} to {days[1]}"
    past = " (past)" if days is not None and days[1] < plan.today else ""
    yield Heading(f"{stage.title}: {stage.moment}{date_words}{past}")
    yield from _warnings(plan.cautions_before_stage(stage.key), told, short=short)
    applying = plan.steps_of(stage.key, APPLIES)
    for closing, of_pack in groupby(applying, key=lambda step: step.closing):
        for (block, mode), steps in groupby(of_pack, key=lambda step: (step.block, step.mode)):
            if block or mode:
                yield Heading(f"{block} ({mode})" if block and mode else block or mode, 3)
            for step in steps:
                yield from _warnings(plan.cautions_before_step(step.id), told, short=short)
                yield _box(step, short=short)
        if closing:
            yield Closing(closing)
    unknown = plan.steps_of(stage.key, CANNOT_TELL)
    if unknown:
        yield Heading("Cannot tell", 3)
        yield Listing(tuple(f"{step.title} ({step.id}): {step.reason}" for step in unknown))
    skipped = plan.steps_of(stage.key, DOES_NOT_APPLY)
    if skipped and everything:
        yield Heading("Does not apply", 3)
        yield Listing(tuple(f"{step.title} ({step.id}): {step.reason}" for step in skipped))


def _box(step: Step, *, short: bool) -> StepBox:
    lines = (("do", step.do), ("expect", step.expect), ("found", "________"), ("if not", step.if_not))
    name = f"{step.id}, your pack {step.pack}" if step.pack else step.id
    return StepBox(name, step.title, step.stop, lines, "" if short else _source(step))


def _warnings(cautions: Sequence[PlanCaution], told: set[str], *, short: bool) -> Iterator[Warned]:
    for caution in cautions:
        if not (short and caution.id in told):
            yield _said_again(caution) if caution.id in told else warned(caution)
            told.add(caution.id)


def _said_again(caution: PlanCaution) -> Warned:
    return Warned(f"{caution.text.split('. ')[0].rstrip('.')}.", f"{caution.id}, in full above")


def warned(caution: PlanCaution) -> Warned:
    """A caution in full, with where it comes from, and the doubt whether it concerns this trip."""
    doubt = f"; {caution.reason}" if caution.outcome == CANNOT_TELL else ""
    return Warned(caution.text, f"{caution.id}: {_source(caution)}{doubt}")


def _source(item: Step | PlanCaution) -> str:
    return (
        f"{item.basis}: {item.source}"
        if item.source
        else f"{item.basis}, no source"
        if item.basis == "common practice"
        else item.basis
    )


def _pin_tables(plan: Plan, *, why: bool) -> Iterator[Element]:
    yield Heading("Pin shift: how far the arrow lands from the aiming point with the sight as set at home, up +")
    for place, case in plan.forecast.cases:
        air = case.conditions.air
        temperature = shown_celsius(air.temperature_c, plan.units)
        yield Heading(f"{place}, {case.label} ({temperature})", 3)
        yield pin_rows(case, plan)
        if why:
            yield why_rows(case, plan.units)
    yield Listing(_LEGEND)


_LEGEND = (
    "shift: where the arrow lands from the aiming point, up +; the band holds it 95 times in 100, the bow left out",
    "sight: how far the pin would have to move to take the shift off, in the direction of the shift",
    "hits at: the distance at which that pin, left alone, hits there",
    "inside: share of arrows in the target zone by your groups, centred at home, and there with the sight left alone",
    "arrows to see: in one group, against an exact zero, 8 times in 10, with 1 false alarm in 20",
)


def _limit_words(plan: Plan) -> str:
    forecast, zone = plan.forecast, shown(plan.trip.target_zone_m, "offset", plan.units)
    if not forecast.spreads:
        return f"Limit for a zone of {zone}: cannot tell, no group is recorded."
    distances = (shown(distance, "distance", plan.units, unit=False) for distance, _ in forecast.spreads)
    recorded = f"{', '.join(distances)} {shown_unit('distance', plan.units)}"
    home, there = forecast.limit_home, forecast.limit_there
    if home is None and there is None:
        return f"Limit for a zone of {zone}: cannot tell, none of your groups ({recorded}) keeps nine in ten inside."
    told = "; ".join((_limit_part(home, "at home", plan), _limit_part(there, "there", plan)))
    return f"Of the distances with a recorded group ({recorded}), the farthest with nine in ten inside {zone}: {told}."


def _limit_part(limit: Limit | None, where: str, plan: Plan) -> str:
    if limit is None:
        return f"none {where}"
    low, high = (share_words(share) for share in limit.share_interval)
    span = low if low == high else f"{low} to {high}"
    distance = shown(limit.distance_m, "distance", plan.units)
    return f"{distance} {where} ({span} by the doubt of that group)"


def _foot(plan: Plan) -> Iterator[Element]:
    packs = ", ".join(f"{name} {version}" for name, version in plan.packs)
    yield Paragraph(
        "This plan reminds; it does not certify. Press work belongs to a bow technician, medical questions to a "
        "clinician, the law to the agency of the place."
    )
    yield Paragraph(f"readiness {plan.version}; packs: {packs}; trip file {plan.trip_sha256[:12]}.")
