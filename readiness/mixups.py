"""A file that was given to a command for another kind of file: one sentence, in place of all that it lacks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from readiness.problems import Fault

if TYPE_CHECKING:
    from readiness.problems import Problem

_TABLES = (".csv", ".tsv")


def taken_for_trip(name: str, data: Any) -> tuple[Problem, ...]:
    """What a file with mistakes is, if no trip file; nothing where it may be one.

    Parameters
    ----------
    name : the file's name, [text]
    data : what it says, or None where it cannot be read

    Examples
    --------
    >>> taken_for_trip("camp.yaml", {"camp": {}, "places": []})[0].message
    'this is a camp file, and a trip file is wanted'
    >>> taken_for_trip("trip.yaml", {"camp": {}, "bow": {}})
    ()

    """
    if name.casefold().endswith(_TABLES):
        hint = "readiness roster takes the camp file that names this table"
        return (Fault("not-a-trip", "this is a table, and a trip file is wanted", hint).at(name, 0, 0),)
    if isinstance(data, dict) and "camp" in data and "bow" not in data:
        fault = Fault("not-a-trip", "this is a camp file, and a trip file is wanted", "readiness roster takes it")
        return (fault.at(name, 0, 0),)
    return ()


def taken_for_camp(name: str, data: Any) -> tuple[Problem, ...]:
    """What a file with mistakes is, if no camp file; nothing where it may be one.

    >>> taken_for_camp("clients.csv", None)[0].hint
    'name the camp file, with clients: clients.csv in it'
    """
    if name.casefold().endswith(_TABLES):
        table = name.replace("\\", "/").rpartition("/")[2]
        hint = f"name the camp file, with clients: {table} in it"
        return (Fault("not-a-camp", "this is a table, and a camp file is wanted", hint).at(name, 0, 0),)
    if isinstance(data, dict) and "bow" in data and "camp" not in data:
        hint = "name the camp file; readiness plan takes one trip"
        fault = Fault("not-a-camp", "this is the file of one hunter, and a camp file is wanted", hint)
        return (fault.at(name, 0, 0),)
    return ()
