"""What a logged change is taken for, by its words: to the sight alone, moved on purpose or put back, or to the bow.

The words are English ones. A change in which none of them stands counts as one to the bow, and whoever logs it is
told so: what is misread is then at least not misread in silence.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from readiness.problems import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.problems import Problem

_SIGHT = re.compile(r"\b(?:sight|peep|pins?|scale|windage|elevation)\b")
_BOW = re.compile(r"\b(?:strings?|cables?|cams?|limbs?|bolts?|timing|rest|nocks?|loop|weight|press|arrows?|heads?)\b")
_MOVED = re.compile(r"\b(?:re-?sight(?:ed)?|moved|corrected|adjusted|re-?set|dialled)\b")
_BACK = re.compile(r"\bback\b")

KNOWN_WORDS = (
    "Words that are known, in English: sight, peep, pin, scale, windage, elevation; with moved, corrected, adjusted, "
    "reset, re-sighted or dialled the sight counts as moved on purpose, with back as put back"
)


def is_of_sight(what: str) -> bool:
    """Whether a change was to sight or peep, and to nothing else of the bow.

    >>> is_of_sight("peep back to its threads"), is_of_sight("new string, peep tied in")
    (True, False)
    """
    text = what.casefold()
    return bool(_SIGHT.search(text)) and not _BOW.search(text)


def is_sight_moved(changes: Iterable[str]) -> bool:
    """Whether the sight stands, after some changes, moved on purpose away from where the zeros were recorded.

    >>> is_sight_moved(["60 yd pin moved up 0.02 in"]), is_sight_moved(["60 yd pin moved", "pin back to its mark"])
    (True, False)
    """
    moved = False
    for what in changes:
        text = what.casefold()
        if is_of_sight(what) and (_MOVED.search(text) or _BACK.search(text)):
            moved = not _BACK.search(text)
    return moved


def is_known(what: str) -> bool:
    """Whether a change names a part of sight or bow in a word that is known.

    >>> is_known("new string"), is_known("Visier verstellt")
    (True, False)
    """
    text = what.casefold()
    return bool(_SIGHT.search(text) or _BOW.search(text))


def taken_for(what: str) -> str:
    """How a change is understood, and what follows from that, in a sentence or two.

    >>> taken_for("60 yd pin moved up 0.02 in")
    'Taken for a sight moved on purpose: the zeros recorded at home are not held against the next arrows.'
    """
    text = what.casefold()
    if not is_known(what):
        return f"No word in it is known, so it is taken for a change to the bow: {_ALL_LAPSE}"
    if not is_of_sight(what):
        also = ", not to the sight alone" if _SIGHT.search(text) else ""
        return f"Taken for a change to the bow{also}: {_ALL_LAPSE}"
    if _BACK.search(text):
        return "Taken for a sight or peep put back: the recorded zeros hold again; the marks are to be answered anew."
    if _MOVED.search(text):
        return "Taken for a sight moved on purpose: the zeros recorded at home are not held against the next arrows."
    return (
        "Taken for a change to sight or peep alone: the marks are to be answered anew, and the sight counts as where "
        'it was. If it was moved on purpose, the word "moved" says so.'
    )


_ALL_LAPSE = "every step is to be answered anew, and the sight counts as where it was."


def unknown_change(what: str) -> Problem:
    """That a change is written down, and in which words it would have been understood otherwise."""
    hint = f"{KNOWN_WORDS}. If that was meant, take it back with --undo, and log it in these words"
    return Fault("unknown-words", f"{what[:60]!r}: {taken_for(what)}", hint, "warning").at("--changed", 0, 0)
