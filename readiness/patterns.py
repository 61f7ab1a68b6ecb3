"""Regular expressions out of a stranger's file: read only where they cannot take long.

Python's matcher tries one way after another, and a pattern of sixty letters can have more ways than there are seconds.
So the ways are counted before anything is matched; a pattern with too many is refused and says so.
"""

from __future__ import annotations

import re
import warnings

from readiness.problems import Fault

LONGEST = 60  # characters of a pattern, and of a text that examples try it on
_MOST_STEPS = 20_000  # well under a millisecond
_TOKEN = re.compile(
    r"""\\. | \[\^?\]?(?:\\.|[^\]\\])*\] | \(\?:? | [()|] | (?:[*+?] | \{[0-9]*,?[0-9]*\})[?+]? | .""",
    re.DOTALL | re.VERBOSE,
)
_HINT = "write enum: with the words it may be, or a plainer pattern such as ^air$"


def pattern_fault(pattern: str, length: int = LONGEST) -> Fault | None:
    r"""What is wrong with a pattern that is to be looked for in a text of so many characters, or None.

    >>> pattern_fault("^left|heli.*al"), pattern_fault("(a+)+$").message
    (None, "'(a+)+$' could take too long")
    """
    if len(pattern) > LONGEST:
        return Fault("bad-text", f"the pattern is longer than {LONGEST} characters", _HINT)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # `[[`: what a later Python would read otherwise
            re.compile(pattern)
    except (re.error, RecursionError, OverflowError, Warning):
        return Fault("bad-text", f"{pattern!r} is no regular expression", "write for example ^air$")
    if _steps(pattern, length) > _MOST_STEPS:
        return Fault("slow-pattern", f"{pattern!r} could take too long", _HINT)
    return None


def found(pattern: str, text: str) -> bool:
    """Whether a pattern is found in a text; ValueError where it may not be looked for.

    >>> found("heli", "right helical")
    True
    """
    fault = pattern_fault(pattern, len(text))
    if fault:
        raise ValueError(fault.message)
    return re.search(pattern, text) is not None


def _steps(pattern: str, length: int) -> float:
    """At most how many steps a search takes: the ways through the pattern, for each place where it may begin."""
    starts = 1 if pattern.startswith("^") and "|" not in pattern else length + 1
    return starts * _ways(pattern, length)


def _ways(pattern: str, length: int) -> float:
    """The ways through a pattern, counted from above; infinite where it repeats what has ways of its own."""
    groups = [[1.0, 0.0]]  # for each open group: ways of the branch so far, ways of the branches before
    last = 1.0  # ways of what a repeat would repeat
    for piece in _TOKEN.findall(pattern):
        if piece == "(?" or (piece[0] == "\\" and piece[1:].isdigit() and piece != "\\0"):
            return float("inf")  # looks ahead or back, or at what was found before
        if piece in ("(", "(?:"):
            groups.append([1.0, 0.0])
        elif piece == "|":
            groups[-1] = [1.0, sum(groups[-1])]
        elif piece == ")":
            last = sum(groups.pop())
            groups[-1][0] *= last
        elif piece[0] in "*+?" or (piece[0] == "{" and len(piece) > len("{}")):
            groups[-1][0] *= _repeats(piece, length) if last == 1.0 or piece[0] == "?" else float("inf")
            last = float("inf")
        else:
            last = 1.0
    return sum(groups[0])


def _repeats(piece: str, length: int) -> float:
    """How many counts a repeat may take: `{2,5}` four, `*` one more than there are characters."""
    if piece[0] == "?":
        return 2.0
    least, comma, most = piece.strip("?+").strip("{}").partition(",") if piece[0] == "{" else ("0", ",", "")
    low = int(least or 0)
    high = int(most) if most else length if comma else low
    return max(1.0, min(high, length) - low + 1.0)
