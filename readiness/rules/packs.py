"""Rule packs: read from YAML into rules and cautions.

A pack ships with the program or comes from a directory that the user names; both pass through here. What
a rule may say is checked by readiness.rules.lint; here a broken entry becomes a problem that names it, and
the others are kept.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.documents import Document, read_document
from readiness.files import read_source
from readiness.problems import Fault, Problem
from readiness.stages import KEYS as STAGES

if TYPE_CHECKING:
    from collections.abc import Iterable
    from importlib.resources.abc import Traversable


_CHECK = "check the path and the file"
_BUILT_IN = "built-in checklists/"  # how messages name the packs that ship
BAGS = ("body", "cabin", "checked", "vehicle")
# One sweep of hand and eye over the bow, held upright: where a step may say that it is.
SWEEP = ("top cam", "top limb", "string", "peep", "loop", "nock", "rest", "sight", "grip", "bottom limb", "bottom cam")
BASES = ("common practice", "calculated", "standard", "regulation", "paper")


class Rule(NamedTuple):
    """One step as the pack says it; text still has its placeholders. index is its place in the pack."""

    id: str
    stage: str
    block: str
    title: str
    at: str
    when: dict[str, Any] | None
    do: str
    expect: str
    if_not: str
    stop: bool
    basis: str
    source: str
    position: int
    mode: str = ""  # of its pack: how its steps are run
    closing: str = ""  # of its pack: the line that ends each block
    pack: str = ""  # its pack's name; empty for the built-in ones


class Caution(NamedTuple):
    """A caution that stands before the steps it names, or else before all steps of its stages."""

    id: str
    stages: tuple[str, ...]
    before: tuple[str, ...]
    when: dict[str, Any] | None
    text: str
    basis: str
    source: str
    position: int


class Item(NamedTuple):
    """One thing to pack: how many (a base, so many per fact, more under conditions), in which bags, and why.

    air and road name the bags in order: one into each, the rest into the last. never are bags it may not fly
    in; flies is false for what stays at home; battery is spare or bank for what carries lithium.
    """

    id: str
    item: str
    aliases: tuple[str, ...]
    when: dict[str, Any] | None
    need: dict[str, Any]
    air: tuple[str, ...]
    road: tuple[str, ...]
    never: tuple[str, ...]
    apart: bool
    flies: bool
    battery: str
    why: str
    basis: str
    source: str
    position: int


class Pack(NamedTuple):
    """One rule pack and the document it was read from, for the places of its problems."""

    name: str
    version: str
    rules: tuple[Rule, ...]
    cautions: tuple[Caution, ...]
    document: Document
    items: tuple[Item, ...] = ()
    causes: tuple[tuple[str, tuple[str, ...]], ...] = ()  # what camp's arrows point to -> the steps to take, in order
    marks: tuple[str, ...] = ()  # the steps that put the bow back to its marks


def built_in_packs() -> tuple[tuple[Pack, ...], tuple[Problem, ...]]:
    """The packs that ship with the program, by file name."""
    from importlib.resources import files

    folder = files("readiness.checklists")
    return _read_all((entry, f"{_BUILT_IN}{entry.name}") for entry in _yaml_files(folder.iterdir()))


def packs_at(path: Path) -> tuple[tuple[Pack, ...], tuple[Problem, ...]]:
    """The packs of a folder, by file name, or the one pack of a file."""
    try:
        entries = _yaml_files(path.iterdir()) if path.is_dir() else [path]
    except OSError as error:
        return (), (_unreadable(str(path), error),)
    if not entries:
        return (), (Fault("no-packs", "no .yaml file here", "a rule pack is a .yaml file").at(str(path), 0, 0),)
    return _read_all((entry, str(entry)) for entry in entries)


def read_pack(text: str, name: str) -> tuple[Pack | None, tuple[Problem, ...]]:
    """Read one pack; entries that are no rule or caution are problems, the others are kept."""
    document, problems = read_document(text, name)
    if document is None:
        return None, problems
    data = document.data
    if not isinstance(data, dict) or not isinstance(data.get("pack"), str):
        fault = Fault("not-a-pack", "this is no rule pack", "a pack begins with pack: and version:")
        return None, (document.problem((), fault),)
    broken: list[Problem] = []
    mode, closing = (str(data.get(key, "")) for key in ("mode", "closing"))
    foreign = "" if name.startswith(_BUILT_IN) else data["pack"]
    rules = tuple(
        rule._replace(mode=mode, closing=closing, pack=foreign) for rule in _entries(document, "rules", _rule, broken)
    )
    cautions = _entries(document, "cautions", _caution, broken)
    items = _entries(document, "items", _item, broken)
    causes, marks = _steps_of_causes(document, broken)
    version = str(data.get("version", "?"))
    return Pack(data["pack"], version, rules, cautions, document, items, causes, marks), tuple(broken)


def _steps_of_causes(
    document: Document, broken: list[Problem]
) -> tuple[tuple[tuple[str, tuple[str, ...]], ...], tuple[str, ...]]:
    """The ids under causes: and marks:, or none and a problem."""
    key = "causes"
    try:
        causes = tuple((_text(cause), _texts(steps)) for cause, steps in _block(document.data.get(key) or {}).items())
        key = "marks"
        return causes, _texts(document.data.get(key) or [])
    except TypeError as error:
        fault = Fault("broken-rule", f"{key} is left out: {error}", "readiness lint tells all that is wrong")
        broken.append(document.problem((key,), fault))
        return (), ()


def _entries(document: Document, key: str, make: Any, broken: list[Problem]) -> tuple[Any, ...]:
    made = []
    listed = document.data.get(key) or []
    if not isinstance(listed, list):
        broken.append(document.problem((key,), Fault("broken-rule", f"{key} is not a list", "begin each entry with -")))
        return ()
    for index, entry in enumerate(listed):
        try:
            made.append(make(_block(entry), index))
        except (KeyError, TypeError, ValueError) as error:
            name = entry.get("id", "?") if isinstance(entry, dict) else "?"
            detail = f"it has no {error.args[0]}" if isinstance(error, KeyError) else str(error)
            fault = Fault("broken-rule", f"{name} is left out: {detail}", "readiness lint tells all that is wrong")
            broken.append(document.problem((key, index), fault))
    return tuple(made)


def _rule(entry: dict[str, Any], position: int) -> Rule:
    return Rule(
        id=_text(entry["id"]),
        stage=_one_of(entry["stage"], STAGES),
        block=_text(entry.get("block", "")),
        title=_text(entry["title"]),
        at=_one_of(entry.get("at", ""), ("", *SWEEP)),
        when=entry.get("when"),
        do=_text(entry["do"]),
        expect=_text(entry["expect"]),
        if_not=_text(entry["if_not"]),
        stop=entry.get("stop", False) is True,
        basis=_one_of(entry["basis"], BASES),
        source=_text(entry.get("source", "")),
        position=position,
    )


def _caution(entry: dict[str, Any], position: int) -> Caution:
    return Caution(
        id=_text(entry["id"]),
        stages=tuple(_one_of(stage, STAGES) for stage in _texts(entry["stages"])),
        before=_texts(entry.get("before", [])),
        when=entry.get("when"),
        text=_text(entry["text"]),
        basis=_one_of(entry["basis"], BASES),
        source=_text(entry.get("source", "")),
        position=position,
    )


def _item(entry: dict[str, Any], position: int) -> Item:
    return Item(
        id=_text(entry["id"]),
        item=_text(entry["item"]),
        aliases=_texts(entry.get("aliases", [])),
        when=entry.get("when"),
        need=_block(entry["need"]),
        air=tuple(_one_of(bag, BAGS) for bag in _texts(entry["air"])),
        road=tuple(_one_of(bag, BAGS) for bag in _texts(entry["road"])),
        never=tuple(_one_of(bag, BAGS) for bag in _texts(entry.get("never", []))),
        apart=entry.get("apart", False) is True,
        flies=entry.get("flies", True) is not False,
        battery=_one_of(entry.get("battery", ""), ("", "spare", "bank")),
        why=_text(entry["why"]),
        basis=_one_of(entry["basis"], BASES),
        source=_text(entry.get("source", "")),
        position=position,
    )


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} stands where text is wanted")
    return " ".join(value.split())


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise TypeError(f"{value!r} stands where a list is wanted")
    return tuple(map(_text, value))


def _block(value: Any) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise TypeError(f"{value!r} stands where a block of keys is wanted")
    return value


def _one_of(value: Any, choices: tuple[str, ...]) -> str:
    if value not in choices:
        raise ValueError(f"{value!r} is not one of {', '.join(choices)}")
    return str(value)


def _yaml_files(entries: Iterable[Any]) -> list[Any]:
    return sorted((e for e in entries if e.name.endswith((".yaml", ".yml")) and e.is_file()), key=lambda e: e.name)


def _read_all(
    sources: Iterable[tuple[Traversable | Path, str]],
) -> tuple[tuple[Pack, ...], tuple[Problem, ...]]:
    packs: list[Pack] = []
    problems: list[Problem] = []
    for source, name in sources:
        read = read_source(str(source)) if isinstance(source, Path) else source.read_text(encoding="utf-8")
        if isinstance(read, Problem):
            hint = _CHECK if read.code == "unreadable" else read.hint
            pack = None
            problems.append(read._replace(file=name, hint=hint))
        else:
            pack, found = read_pack(read if isinstance(read, str) else read.text, name)
            problems.extend(found)
        if pack is not None:
            packs.append(pack)
    return tuple(packs), tuple(problems)


def _unreadable(name: str, error: Exception) -> Problem:
    reason = getattr(error, "strerror", None) or str(error)
    return Fault("unreadable", f"cannot be read: {reason}", _CHECK).at(name, 0, 0)
