"""A verdict in a sentence: what was seen, what these arrows can show, what would settle it."""

from __future__ import annotations

from math import ceil, hypot
from typing import TYPE_CHECKING

from readiness.arrival.judging import (
    CANNOT_TELL,
    ERROR_BUDGET,
    FAIL,
    NO_SPREAD,
    OFF_CIRCLE,
    OUTSIDE,
    PASS,
    TOO_FEW,
    TOO_WIDE,
    Verdict,
)
from readiness.showing import shown, where

if TYPE_CHECKING:
    from readiness.arrival.checks import Check
    from readiness.units import UnitSystem


def check_name(check: Check, units: UnitSystem) -> str:
    """What a check is called on a page.

    Near and far zero and the bare shaft stand alone; the others take their distance with them.
    """
    at = shown(check.distance_m, "distance", units)
    if check.name == "broadhead":
        return f"{check.head} at {at}"
    return f"{check.name} at {at}" if check.name in ("zero", "first cold arrow") else check.name


def verdict_text(verdict: Verdict, checks: int, units: UnitSystem) -> str:
    """The verdict in words.

    Parameters
    ----------
    verdict : the verdict
    checks : checks that share the evening's error budget, [-]
    units : imperial or metric

    """
    seen = _seen(verdict, units)
    if verdict.reason == NO_SPREAD:
        return f"{seen}. Nobody can tell your width from a shift: no group is recorded, and these arrows show none."
    can = f"{_arrows(verdict)} can show a shift of {shown(verdict.shown_m or 0.0, 'offset', units)}"
    circle = f"{shown(verdict.circle_m or 0.0, 'offset', units)} circle"
    lost = f" {verdict.outside} outside the butt: counted, but without a place." if verdict.outside else ""
    wide = " The camp's groups are wider than home's by more than chance, so their own width counts." * verdict.wider
    return f"{seen}{_TELL[verdict.reason or verdict.outcome](verdict, can, circle, checks)}{lost}{wide}"


def _seen(verdict: Verdict, units: UnitSystem) -> str:
    right, up = (a - b for a, b in zip(verdict.observed, verdict.expected, strict=True))
    place = where(right, up, units)
    of = "its baseline" if verdict.check.is_pair else "where it should be"
    far = "" if place == "no offset" or "," not in place else f"{shown(hypot(right, up), 'offset', units)} off: "
    seen = f"No offset from {of}" if place == "no offset" else f"{far}{place}, seen from {of}"
    air = verdict.check.expectation.forecast_m
    part = where(0.0, air, units)
    return f"{seen}, the air's part ({part}) taken off" if air and part != "no offset" else seen


def _arrows(verdict: Verdict) -> str:
    n = verdict.arrows
    if verdict.check.is_pair:
        return f"{n} pair{'' if n == 1 else 's'}"
    return f"{n} arrow{'' if n == 1 else 's'}"


def _passed(_: Verdict, can: str, circle: str, __: int) -> str:
    return f", inside the {circle} of an unmoved bow; {can}."


def _failed(verdict: Verdict, _: str, circle: str, __: int) -> str:
    chance = verdict.p_spent or 0.0
    odds = (
        "under 1 in 10,000"
        if chance < 1e-4
        else f"about 1 in {round(1.0 / chance, -len(str(int(1.0 / chance))) + 2):,.0f}"
    )
    return f", outside the {circle} of an unmoved bow: by chance {odds}, looks counted."


def _few(verdict: Verdict, can: str, _: str, __: int) -> str:
    return f"; {can}; {_more(verdict)}"


def _off_circle(verdict: Verdict, can: str, circle: str, checks: int) -> str:
    often = max(2, ceil(1.0 / (1.0 - 0.95**checks)))
    return (
        f", outside the {circle} of an unmoved bow; but with {checks} checks, one evening in {often} has such a "
        f"check by chance. {can[0].upper()}{can[1:]}; {_more(verdict)}"
    )


def _outside(_: Verdict, can: str, circle: str, __: int) -> str:
    return f", inside the {circle} as far as the others go; {can}. Find the lost arrow first: no pass without it."


def _wide(_: Verdict, can: str, circle: str, __: int) -> str:
    return (
        f", inside the {circle}, but the groups are so wide that it shows little: {can}. Take a break, and shoot again."
    )


def _more(verdict: Verdict) -> str:
    kind = "pair" if verdict.check.is_pair else "arrow"
    if verdict.needed is None:
        return f"no number of {kind}s at camp settles it: the baseline itself is too few."
    more = verdict.needed - verdict.arrows
    return f"shoot {more} more {kind}{'' if more == 1 else 's'}."


_TELL = {
    PASS: _passed,
    FAIL: _failed,
    TOO_FEW: _few,
    OFF_CIRCLE: _off_circle,
    OUTSIDE: _outside,
    TOO_WIDE: _wide,
    CANNOT_TELL: _few,
}
BUDGET_WORDS = (
    f"How it is tested: the circular form of Hotelling's T2, sigma from home's and camp's groups. One evening has one "
    f"error budget of {100 * ERROR_BUDGET:.0f} %: the checks share it by Holm's method, and a check looked at k times "
    "counts its p-value 2^k-fold. The circles may be narrower or wider than the card's: tonight's arrows count in them."
)
