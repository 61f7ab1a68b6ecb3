"""What to pack: the items that a trip needs, against what its file says is packed, bag by bag.

Counts follow the trip (days, camps, how far the nearest shop is); what matches no item is kept and shown.
When the bow flies, each item has the bags it may not ride in. Wherever something is not known, the answer
that asks for more care is given.
"""

from __future__ import annotations

import re
from math import ceil
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.problems import closest
from readiness.rules.facts import describing
from readiness.rules.when import CANNOT_TELL, DOES_NOT_APPLY, evaluate
from readiness.showing import shown
from readiness.trip.quantities import linear_size_m

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from readiness.rules.packs import Item
    from readiness.rules.when import Describe
    from readiness.trip.model import GearItem, Trip
    from readiness.units import UnitSystem

NO_BAG = "none"  # do not fly it
MISSING, WRONG_BAG, PACKED = "missing", "wrong bag", "packed"
_ORDER = (MISSING, WRONG_BAG, PACKED)
# FAA PackSafe and TSA, lithium batteries (noted 2026-11-25; they change): to 100 Wh without asking, to 160 Wh with
# the airline's approval and two at most, none above. ICAO from 27 March 2026: two power banks a person.
_FREE_WH, _LARGEST_WH, _MOST_LARGE, _MOST_BANKS = 100.0, 160.0, 2, 2


class PackRow(NamedTuple):
    """One item: how many it takes, how many there are, where they go, and what is wrong."""

    id: str
    item: str
    need: int
    have: int
    bags: tuple[tuple[str, int], ...]
    bag: str  # the first place it goes to; none: do not fly it
    places: tuple[tuple[str, int], ...]  # where they are now, as the gear lines say
    outcome: str
    reason: str
    source: str


class CaseRow(NamedTuple):
    """One checked bag with a mass or a size, against the airline's limits that the user entered."""

    item: str
    outcome: str  # within, over, cannot tell
    reason: str


class OwnItem(NamedTuple):
    """A gear line that is none of the items; and the item that a misspelt name may mean."""

    line: GearItem
    close: str | None
    warning: str = ""


class PackingList(NamedTuple):
    """The whole list. compared is false where the trip file has no gear to compare with."""

    rows: tuple[PackRow, ...]
    own: tuple[OwnItem, ...]
    cases: tuple[CaseRow, ...]
    compared: bool

    @property
    def is_ready(self) -> bool:
        """Whether nothing is missing, in a wrong bag, or over a limit."""
        sound = all(row.outcome == PACKED for row in self.rows) and not any(own.warning for own in self.own)
        return sound and all(case.outcome != "over" for case in self.cases)


def packing_list(trip: Trip, items: Sequence[Item], facts: Mapping[str, Any], units: UnitSystem) -> PackingList:
    """The packing list of a trip, what is missing first."""
    matched, own = match_gear(items, trip.gear or ())
    rows = []
    for item in items:
        need, doubt = wanted(item, facts, units)
        lines = matched.get(item.id, [])
        if need or lines:
            row = _row(item, need, lines, by_air=trip.travel == "air", doubt=doubt)
            short = f"{row.need - row.have} more; " if trip.gear is not None and row.outcome == MISSING else ""
            rows.append(row._replace(reason=short + row.reason))
    rows.sort(key=lambda row: _ORDER.index(row.outcome))
    names = {plain(name): item.item for item in items for name in (item.item, *item.aliases)}
    by_air = trip.travel == "air"
    unknown = (
        OwnItem(line, names.get(closest(plain(line.item), names, 0.8) or ""), _own_warning(line, by_air=by_air))
        for line in own
    )
    return PackingList(tuple(rows), tuple(unknown), tuple(_cases(trip, units)), trip.gear is not None)


def wanted(item: Item, facts: Mapping[str, Any], units: UnitSystem) -> tuple[int, str]:
    """How many of an item the trip takes; and the doubt, where it cannot be told whether it takes any."""
    describe = describing(units)
    verdict = evaluate(item.when, facts, describe)
    if verdict.outcome == DOES_NOT_APPLY:
        return 0, ""
    doubt = f" (cannot tell: {verdict.reason}; take it)" if verdict.outcome == CANNOT_TELL else ""
    return count_needed(item, facts, describe), doubt


def match_gear(items: Sequence[Item], gear: Iterable[GearItem]) -> tuple[dict[str, list[GearItem]], list[GearItem]]:
    """Gear lines by the id of the item they are, by name or alias; and those that are none."""
    names = {plain(name): item.id for item in reversed(items) for name in (*item.aliases, item.item)}
    matched: dict[str, list[GearItem]] = {}
    own = []
    for line in gear:
        item_id = names.get(plain(line.item))
        if item_id is None:
            own.append(line)
        else:
            matched.setdefault(item_id, []).append(line)
    return matched, own


def plain(name: str) -> str:
    """A name without case, punctuation and plural, for matching.

    >>> plain("Release-aids"), plain("spare batteries"), plain("hex wrenches")
    ('release aid', 'spare battery', 'hex wrench')
    """
    return " ".join(_singular(word) for word in re.findall(r"[^\W_]+", name.casefold()))


def _singular(word: str) -> str:
    if word.endswith("ies") and len(word) > len("ties"):
        return f"{word[:-3]}y"
    if word.endswith(("ches", "shes", "sses", "xes")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > len("gas") else word


def count_needed(item: Item, facts: Mapping[str, Any], describe: Describe) -> int:
    """How many of an item the trip takes: a base, so many for each of something, and more where a rule says so."""
    need = item.need
    count = float(need.get("count", 0))
    if "per" in need:
        count += need.get("each", 1) * facts.get(need["per"], 0)
    for more in need.get("more", ()):
        if evaluate(more["when"], facts, describe).outcome != DOES_NOT_APPLY:
            count += more["count"]
    # least is no key of packs: what a camp asks for at least, whatever the pack says.
    return max(min(ceil(count - 1e-9), int(need.get("most", 10**6))), int(need.get("least", 0)))


def _row(item: Item, need: int, lines: Sequence[GearItem], *, by_air: bool, doubt: str) -> PackRow:
    have = sum(line.how_many for line in lines)
    flies = not by_air or item.flies
    bags = _split(item, need, by_air=by_air) if flies else ()
    wrong = list(_wrong_bags(item, lines, by_air=by_air))
    told = [item.why.rstrip(".") + doubt]
    if have < need and flies:
        outcome = MISSING
    elif wrong:
        outcome = WRONG_BAG
    else:
        outcome = PACKED
    energy = [_energy_words(line.item, wh, by_air=by_air) for line in lines if (wh := watt_hours(line)) is not None]
    if by_air and item.battery and len(energy) < len(lines):
        energy.append("cannot tell its watt-hours: missing volts or amp_hours")
    reason = "; ".join([*wrong, *told, *energy])
    return PackRow(
        id=item.id,
        item=item.item,
        need=need if flies else 0,
        have=have,
        bags=bags,
        bag=(item.air if by_air else item.road)[0] if flies else NO_BAG,
        places=_places(lines),
        outcome=outcome,
        reason=reason,
        source=item.source or f"{item.basis}, no source",
    )


def _split(item: Item, need: int, *, by_air: bool) -> tuple[tuple[str, int], ...]:
    """One into each bag of the item's list, the rest into its last."""
    places = item.air if by_air else item.road
    if need == 0:
        return ()
    first = [(bag, 1) for bag in places[:-1]][: need - 1]
    return (*first, (places[-1] if len(first) == len(places) - 1 else places[len(first)], need - len(first)))


def _wrong_bags(item: Item, lines: Sequence[GearItem], *, by_air: bool) -> Iterable[str]:
    """Everything wrong with where the lines of an item are."""
    if by_air and not item.flies:
        if lines:
            yield "do not fly it"
        return
    for line in lines:
        if by_air and line.bag == "vehicle":
            yield "a vehicle does not fly"
        if by_air and item.never and line.bag is None:
            yield f"say in which bag it is; never {' or '.join(item.never)}"
        elif by_air and line.bag in item.never:
            yield f"not in the {line.bag} bag"
    places = [line.bag for line in lines for _ in range(min(line.how_many, 2))]
    if item.apart and len(places) > 1 and (None in places or len(set(places)) == 1):
        yield "two in one bag are lost together" if None not in places else "say in which bag each is"
    if by_air and item.battery:
        yield from _battery_faults(item, lines)


def _own_warning(line: GearItem, *, by_air: bool) -> str:
    """What may be wrong with a thing that no item knows: lithium in the hold."""
    lithium = line.volts is not None or re.search(r"lithium|li-ion|batter|\bcells?\b", line.item, re.IGNORECASE)
    energy = watt_hours(line)
    if by_air and energy is not None and energy > _LARGEST_WH:
        return f"{energy:.4g} Wh is over {_LARGEST_WH:.0f}: do not fly it"
    if by_air and lithium and line.bag in (None, "checked"):
        return "if it is a spare lithium cell it may not ride in the hold: the cabin, its ends covered"
    return ""


def _places(lines: Sequence[GearItem]) -> tuple[tuple[str, int], ...]:
    places: dict[str, int] = {}
    for line in lines:
        place = line.bag or "not stated"
        places[place] = places.get(place, 0) + line.how_many
    return tuple(places.items())


def _energy_words(name: str, energy_wh: float, *, by_air: bool) -> str:
    ask = by_air and _FREE_WH < energy_wh <= _LARGEST_WH
    return f"{name} {energy_wh:.4g} Wh{', over 100 Wh: only with the approval of the airline' if ask else ''}"


def watt_hours(line: GearItem) -> float | None:
    """Energy of a battery, volts times amp-hours, [Wh]; None where one of them is not given."""
    return None if line.volts is None or line.amp_hours is None else line.volts * line.amp_hours


def _battery_faults(item: Item, lines: Sequence[GearItem]) -> Iterable[str]:
    large = 0
    for line in lines:
        energy = watt_hours(line)
        if energy is not None and energy > _LARGEST_WH:
            yield f"{energy:.4g} Wh is over {_LARGEST_WH:.0f}: do not fly it"
        elif energy is not None and energy > _FREE_WH:
            large += line.how_many
    if large > _MOST_LARGE:
        yield f"{large} over {_FREE_WH:.0f} Wh; two with the airline's approval at most"
    if item.battery == "bank" and sum(line.how_many for line in lines) > _MOST_BANKS:
        yield "two power banks a person at most"


def _cases(trip: Trip, units: UnitSystem) -> Iterable[CaseRow]:
    """Each checked bag that has a mass or a size."""
    if trip.travel != "air":
        return
    for line in trip.gear or ():
        if line.bag == "checked" and (line.mass_kg is not None or line.size is not None):
            found = (
                _against("mass", line.mass_kg, trip.airline_mass_kg, "case mass", units),
                _against(
                    "length + width + height", linear_size_m(line.size), trip.airline_linear_size_m, "case size", units
                ),
            )
            outcome = min((outcome for outcome, _ in found), key=("over", "cannot tell", "within").index)
            yield CaseRow(line.item, outcome, "; ".join(reason for _, reason in found))


def _against(what: str, value: float | None, limit: float | None, kind: str, units: UnitSystem) -> tuple[str, str]:
    if value is None or limit is None:
        return "cannot tell", f"missing {f'its {what}' if value is None else f'the airline limit of {what}'}"
    told = f"{what} {shown(value, kind, units)} of {shown(limit, kind, units)}"
    return ("over", f"{told}: too much") if value > limit * (1 + 1e-9) else ("within", told)
