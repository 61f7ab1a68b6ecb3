"""The flat table of facts that rules speak of: each with its kind, its words and what it needs.

A fact's name carries its unit; in a step's text it stands without it: `{near_zero_tolerance}` shows
near_zero_tolerance_m in the units of the page. A fact that cannot be known from the trip is absent, and a
rule that needs it answers "cannot tell: missing ...".
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.rules.when import Describe
from readiness.showing import SHOWN_KINDS, shown, shown_celsius, where

if TYPE_CHECKING:
    from readiness.units import UnitSystem


class Fact(NamedTuple):
    """One fact: its kind (how it shows), what it is, and the trip keys that it needs."""

    name: str
    kind: str
    about: str
    needs: str = ""

    @property
    def placeholder(self) -> str:
        """How a step's text names it: without the unit."""
        return _UNIT_SUFFIX.sub("", self.name)

    @property
    def words(self) -> str:
        """How a reason names it."""
        return self.placeholder.replace("_", " ")

    @property
    def is_number(self) -> bool:
        """Whether minimum and maximum make sense for it."""
        return self.kind in {*SHOWN_KINDS, "count", "number", "percent"}

    @property
    def is_condition(self) -> bool:
        """Whether a `when` may speak of it: composed text may not."""
        return self.kind not in {"where", "phrases", "free text"}


_UNIT_SUFFIX = re.compile(r"_(?:m|kg|c|k|s|h|n|pct|m_s)$")

Phrase = tuple["str | tuple[Any, str]", ...]  # words, and (value, kind) to be shown between them

_TABLE = """
travel                    text      how the bow travels: air or road | trip.travel
trip_days                 count     days away, first and last counted | trip.starts, trip.ends
days_to_start             count     days from today to the first day | trip.starts
target_zone_m             offset    diameter of the circle that every arrow must land in | trip.target_zone
nearest_shop_h            number    hours to the nearest archery shop | trip.nearest_shop
hazard_bears              flag      bears where the trip goes | trip.hazards
hazard_tree_stand         flag      hunting from a tree stand | trip.hazards
hazard_riding             flag      riding an animal or a vehicle with the bow | trip.hazards
hand                      text      hand of the release: right or left | hunter.hand

destination_count         count     places where the bow will be shot | destinations
elevation_change_m        elevation largest change of elevation from home, up positive | elevation of home and destinations
highest_elevation_m       elevation elevation of the highest destination | destinations
sleeping_elevation_m      elevation highest place where a night is spent | destinations
density_change_pct        percent   largest change of air density from home, in per cent | home, destinations
temperature_low_c         temperature coldest temperature to expect | destinations: temperature
temperature_drop_c        temperature difference from home down to the coldest to expect | temperature of home and destinations
temperature_spread_c      temperature difference between coldest and warmest at one place | destinations: temperature

draw_weight_n             force     peak draw weight | bow.draw_weight
brace_height_m            fine      brace height as recorded | bow.brace_height
axle_to_axle_m            fine      axle to axle as recorded | bow.axle_to_axle
sight_kind                text      fixed pins or slider | bow.sight.kind
pin_count                 count     distances the sight is set for | bow.sight.pins
near_pin_m                distance  nearest of them | bow.sight.pins
far_pin_m                 distance  farthest of them | bow.sight.pins

arrow_mass_kg             mass      complete arrow | arrow.mass
arrow_speed_m_s           speed     launch speed | arrow.speed
grains_per_pound          number    grains of arrow for each pound of draw weight | arrow.mass, bow.draw_weight
foc_pct                   percent   how far forward of the middle the arrow balances, in per cent of its length | arrow.balance_point
vane_turn                 text      how the vanes are turned | arrow.fletching.turn
drag_measured             flag      the drag comes from speed readings of this arrow | arrow
hunting_head_count        count     heads meant for game | heads
hunting_heads             free text their names | heads
mechanical_head_count     count     of them, mechanical | heads
head_mass_differs         flag      a hunting head and every field point differ by more than 2 grains | heads of both kinds
powered_sight             flag      a powered sight is declared | declared: powered sight
lighted_nock              flag      a lighted nock is declared | declared: lighted nock

has_groups                flag      groups are recorded | trip file
group_distance_count      count     distances with a recorded group | trip file
longest_group_m           distance  farthest recorded group | reference.groups
has_bare_shaft_reference  flag      a bare-shaft reference is recorded | trip file
bare_shaft_distance_m     distance  where the bare-shaft reference was shot | reference.bare_shaft
bare_shaft_clock          free text its clock position, seen from the fletched group | reference.bare_shaft
bare_shaft_offset_m       offset    its distance from the fletched group | reference.bare_shaft
bare_shaft_where          where     its place, right or left and high or low of the fletched group | reference.bare_shaft
bare_shaft_pairs          count     bare and fletched pairs to shoot on arrival | reference.bare_shaft
bare_shaft_tolerance_m    offset    how far from its own baseline an unmoved bow's bare shaft lands, 95 of 100 | reference.bare_shaft
bare_shaft_basis          free text where that tolerance comes from | reference.bare_shaft
bare_shaft_baseline       free text pairs of the baseline, and whether they were assumed | reference.bare_shaft
has_broadhead_reference   flag      every hunting head has a reference against field points | trip file
broadhead_reference_count count     recorded references of hunting heads | trip file
broadhead_expectations    phrases   each head and distance: where, and within what | reference.broadheads
broadhead_arrows          count     arrows with each head, and as many field points | reference.broadheads
has_cold_first            flag      first cold arrows are recorded | trip file
cold_first_count          count     first cold arrows recorded | trip file
cold_first_expectations   phrases   each distance: where, and within what | reference.cold_first
has_witness_marks         flag      the archer's own marks are recorded | trip file
witness_marks             free text those marks with their values | reference.marks
reference_stale           flag      something on the bow was changed after the reference was shot | reference.shot_on

near_zero_distance_m      distance  distance of the near zero | bow.sight.pins
near_zero_arrows          count     arrows for it | bow.sight.pins
near_zero_where           where     where their middle should land | bow.sight.pins
near_zero_tolerance_m     offset    how far from there it still passes | bow.sight.pins
near_zero_home_tolerance_m offset   the same at home, without the forecast's doubt | bow.sight.pins
near_zero_basis           free text where that tolerance comes from | bow.sight.pins
far_zero_distance_m       distance  distance of the far zero: the farthest pin with a group | reference.groups reaching the far pins
far_zero_arrows           count     arrows for it | reference.groups reaching the far pins
far_zero_where            where     where their middle should land, the forecast included | reference.groups reaching the far pins
far_zero_tolerance_m      offset    how far from there it still passes, the forecast's doubt included | reference.groups reaching the far pins
far_zero_made_of          phrases   what that place is made of: the recorded middle and the air's part | reference.groups reaching the far pins
far_growth_sight          number    how much more a slipped sight or peep misses at the far zero than at the near one | reference.groups reaching the far pins
far_growth_speed          number    the same of a change of speed: the square | reference.groups reaching the far pins
far_growth_air            number    the same of thinner air: the cube | reference.groups reaching the far pins
far_zero_forecast_m       offset    the part of it that the air explains, up positive | reference.groups reaching the far pins

pins_to_move              count     pins whose most careful advice, over places and cases, is move | reference.groups
pins_to_confirm           count     pins whose most careful advice is confirm | reference.groups
pins_to_leave             count     pins whose advice is leave in every place and case | reference.groups
limit_home_m              distance  farthest recorded distance with nine arrows in ten in the zone, at home | reference.groups within the target zone
limit_there_m             distance  the same in the air there | reference.groups within the target zone
peep_slip_near_m          offset    what a peep slid by 1/16 in does at the near zero | bow.sight.radius
peep_slip_far_m           offset    the same at the farthest pin | bow.sight.radius
far_miss_per_fps_m        fine      what 1 fps of launch speed does at the farthest pin | arrow
camp_arrows               count     arrows that can be shot at camp before dark | --arrows
"""


def _parse(table: str) -> dict[str, Fact]:
    kinds = sorted(
        {*SHOWN_KINDS, "flag", "text", "free text", "count", "number", "percent", "where", "phrases"}, key=len
    )
    facts = {}
    for line in filter(None, table.splitlines()):
        name, rest = line.split(None, 1)
        kind = next(kind for kind in reversed(kinds) if rest.startswith(kind + " "))
        about, _, needs = rest[len(kind) :].strip().partition(" | ")
        facts[name] = Fact(name, kind, about, needs)
    return facts


FACTS: dict[str, Fact] = _parse(_TABLE)
PLACEHOLDERS: dict[str, Fact] = {fact.placeholder: fact for fact in FACTS.values()}


def show_fact(fact: Fact, value: Any, units: UnitSystem) -> str:
    """A fact's value as a page shows it.

    >>> show_fact(FACTS["bare_shaft_where"], (-0.0094, -0.0123), "imperial")
    '0.4 in left, 0.5 in low'
    >>> show_fact(FACTS["elevation_change_m"], 2478.0, "imperial")
    '8,130 ft'
    """
    return show_value(value, fact.kind, units)


def describing(units: UnitSystem) -> Describe:
    """How reasons name the facts on a page in these units."""
    return Describe(
        words=lambda name: FACTS[name].words,
        shown=lambda name, value: show_fact(FACTS[name], value, units),
        needs=lambda name: FACTS[name].needs or name,
    )


def show_value(value: Any, kind: str, units: UnitSystem) -> str:
    """A value of a kind as a page shows it."""
    match kind:
        case "flag":
            return "yes" if value else "no"
        case "text" | "free text" | "count":
            return str(value)
        case "number":
            return f"{value:.3g}"
        case "percent":
            return f"{value:.0f} %"
        case "where":
            right, up = value
            return where(right, up, units)
        case "phrases":
            return "; ".join(_phrase(phrase, units) for phrase in value)
        case "temperature":
            return shown_celsius(value, units)
        case _:
            return shown(value, kind, units)


def _phrase(phrase: Phrase, units: UnitSystem) -> str:
    return "".join(part if isinstance(part, str) else show_value(*part, units) for part in phrase)
