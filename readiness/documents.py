"""A YAML file as data with places: which line and column each key and value stands at.

YAML 1.1 surprises are switched off: only true/false, decimal numbers and null are anything but text, so a
date, `on`, `07500`, `12:30` and `.nan` stay the text that was written. Repeated keys, keys that are not
text, tags, and aliases that multiply are problems with a place. Trip files, rule packs and camp files are
all read here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cached_property
from math import isfinite
from typing import TYPE_CHECKING, Any

import yaml

from readiness.problems import Fault, Problem, sort_and_dedupe

if TYPE_CHECKING:
    from collections.abc import Iterator

MAX_BYTES = 1_000_000
_MAX_NODES = 50_000  # after aliases are followed
_MAX_DEPTH = 60

Path = tuple[str | int, ...]
Place = tuple[int, int]  # line and column, 1-based

_TOO_DEEP = Fault("too-deep", f"nested deeper than {_MAX_DEPTH} levels", "a file of this kind is 5 levels deep")
_TAGS = {f"tag:yaml.org,2002:{name}" for name in ("str", "int", "float", "bool", "null", "map", "seq", "merge")}


# The only plain scalars that are not text, and the characters they may begin with.
_PLAIN = {
    "bool": (re.compile(r"^(?:true|false)$"), list("tf")),
    "int": (re.compile(r"^[-+]?(?:0|[1-9][0-9]{0,17})$"), list("-+0123456789")),
    "float": (
        re.compile(r"^[-+]?(?:0|[1-9][0-9]{0,17})(?:\.[0-9]{0,20})?(?:[eE][-+]?[0-9]{1,3})?$"),
        list("-+0123456789"),
    ),
    "null": (re.compile(r"^(?:null|~|)$"), ["n", "~", ""]),
    "merge": (re.compile(r"^<<$"), ["<"]),
}


_SURROGATE = re.compile("[\ud800-\udfff]")


def _tame(base: type) -> type:
    """A safe loader that resolves plain scalars as JSON does."""

    class TameLoader(base):  # type: ignore[misc]
        yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012  PyYAML's own name

    for name, (pattern, first) in _PLAIN.items():
        TameLoader.add_implicit_resolver(f"tag:yaml.org,2002:{name}", pattern, first)
    return TameLoader


_PYTHON_LOADER = _tame(yaml.SafeLoader)
_FAST_LOADER = _tame(getattr(yaml, "CSafeLoader", yaml.SafeLoader))


@dataclass(frozen=True)
class Document:
    """What a file says, and where it says it."""

    name: str
    text: str
    data: Any
    _root: yaml.Node | None = field(repr=False, default=None)

    def problem(self, path: Path, fault: Fault, *, at_key: bool = False) -> Problem:
        """A fault put at the place of a path; the nearest known parent when the path itself is not there."""
        line, column = self.place(path, at_key=at_key)
        return fault.at(self.name, line, column, self.line(line))

    def place(self, path: Path, *, at_key: bool = False) -> Place:
        """Line and column of a value, or of its key. A mapping or list stands at its key."""
        keys, values = self._places
        while path:
            here = (at_key and keys.get(path)) or values.get(path)
            if here:
                return here
            path, at_key = path[:-1], False
        return (1, 1)

    def line(self, number: int) -> str:
        """A line of the file without its end; empty when there is none."""
        return self._lines[number - 1] if 0 < number <= len(self._lines) else ""

    @cached_property
    def _lines(self) -> list[str]:
        return re.split(r"\r\n|[\n\r\x85\u2028\u2029]", self.text)

    @cached_property
    def _places(self) -> tuple[dict[Path, Place], dict[Path, Place]]:
        keys: dict[Path, Place] = {}
        values: dict[Path, Place] = {}
        for path, key, value in _walk(self._root, ()):
            if key is not None:
                keys[path] = _place(key)
            scalar = isinstance(value, yaml.ScalarNode)
            values[path] = _place(value) if scalar or key is None else _place(key)
        return keys, values


def read_document(text: str, name: str) -> tuple[Document | None, tuple[Problem, ...]]:
    r"""Read one YAML document.

    Parameters
    ----------
    text : the file's text, [text], at most MAX_BYTES
    name : the file's name for messages, [text]

    Returns
    -------
    the document, or None when it has no usable structure; and every problem found, sorted by place

    Examples
    --------
    >>> document, problems = read_document("a: 1\na: 2\n", "trip.yaml")
    >>> problems[0].code, problems[0].line, document
    ('repeated-key', 2, None)

    """
    if len(text) > MAX_BYTES:
        return None, (
            Fault(
                "too-large",
                f"the file is over {MAX_BYTES:,} characters",
                "a file of this kind is a few pages",
            ).at(name, 0, 0),
        )
    lines = Document(name, text, None)
    try:
        root = _compose(text)
        faults = list(_structure_faults(root))
        if not faults:
            return Document(name, text, _construct(root), root), ()
    except yaml.YAMLError as error:
        return None, (_syntax_problem(error, lines),)
    except RecursionError:
        faults = [((1, 1), _TOO_DEEP)]
    return None, sort_and_dedupe(fault.at(name, line, column, lines.line(line)) for (line, column), fault in faults)


def _compose(text: str) -> yaml.Node | None:
    """The node graph, by the fast loader; by the plain one again if that fails, for its better messages."""
    try:
        return _single_node(_FAST_LOADER, text)
    except (yaml.YAMLError, UnicodeEncodeError):
        return _single_node(_PYTHON_LOADER, text)


def _single_node(loader_class: type, text: str) -> yaml.Node | None:
    loader = loader_class(text)
    try:
        node: yaml.Node | None = loader.get_single_node()
        return node
    finally:
        loader.dispose()


def _construct(root: yaml.Node | None) -> Any:
    loader = _PYTHON_LOADER("")
    try:
        return loader.construct_document(root)
    finally:
        loader.dispose()


def _structure_faults(root: yaml.Node | None) -> Iterator[tuple[Place, Fault]]:
    """What must be right before the nodes may become data: tags, keys, loops, size."""
    seen: dict[int, int] = {}  # id of a finished node -> how many nodes it stands for
    open_nodes: set[int] = set()

    def visit(node: yaml.Node, depth: int) -> Iterator[tuple[Place, Fault]]:
        if id(node) in open_nodes:
            yield _place(node), Fault("endless-alias", "this anchor contains itself", "write the values out")
            return
        if id(node) in seen:
            return
        if depth > _MAX_DEPTH:
            yield _place(node), _TOO_DEEP
            return
        open_nodes.add(id(node))
        if node.tag not in _TAGS:
            yield (
                _place(node),
                Fault(
                    "tag",
                    f"the tag {_short(node.tag)} is not read here",
                    "write plain text, numbers, lists and keys",
                ),
            )
        if isinstance(node, yaml.ScalarNode):
            yield from _scalar_faults(node)
        yield from _key_faults(node)
        children = _children(node)
        for child in children:
            yield from visit(child, depth + 1)
        open_nodes.discard(id(node))
        seen[id(node)] = 1 + sum(seen.get(id(child), 1) for child in children)

    if root is None:
        yield (1, 1), Fault("empty", "the file is empty", "readiness new writes one to start from")
    else:
        yield from visit(root, 0)
        if seen.get(id(root), 0) > _MAX_NODES:
            yield (
                (1, 1),
                Fault(
                    "too-large",
                    f"the aliases stand for more than {_MAX_NODES:,} values",
                    "write the values out",
                ),
            )


def _scalar_faults(node: yaml.ScalarNode) -> Iterator[tuple[Place, Fault]]:
    kind = node.tag.rpartition(":")[2]
    if _SURROGATE.search(node.value):
        yield (
            _place(node),
            Fault("not-text", "half a character, which no file can hold", "write the character itself"),
        )
    if kind in _PLAIN and not _PLAIN[kind][0].match(node.value):  # an explicit tag, such as !!float nan
        yield (
            _place(node),
            Fault("tag", f"{_short(node.value)!r} is not what its tag says", "write it without the tag"),
        )
    elif kind == "float" and not isfinite(float(node.value)):
        yield (
            _place(node),
            Fault("not-finite", f"{_short(node.value)} is not a finite number", "write a decimal number"),
        )


def _key_faults(node: yaml.Node) -> Iterator[tuple[Place, Fault]]:
    if not isinstance(node, yaml.MappingNode):
        return
    first: dict[str, yaml.Node] = {}
    for key, _ in node.value:
        if key.tag.endswith(":merge"):
            continue
        if not isinstance(key, yaml.ScalarNode) or not key.tag.endswith(":str"):
            scalar = isinstance(key, yaml.ScalarNode)
            message = f"the key {_short(key.value)} is not text" if scalar else "a list or mapping stands as a key"
            hint = f'write "{_short(key.value)}" in quotes' if scalar else "a key is a word"
            yield _place(key), Fault("key-not-text", message, hint)
        elif key.value in first:
            line = _place(first[key.value])[0]
            yield (
                _place(key),
                Fault(
                    "repeated-key",
                    f"{_short(key.value)!r} stands here a second time; the first is on line {line}",
                    "keep one of the two",
                ),
            )
        else:
            first[key.value] = key


def _children(node: yaml.Node) -> list[yaml.Node]:
    if isinstance(node, yaml.MappingNode):
        return [part for pair in node.value for part in pair]
    return list(node.value) if isinstance(node, yaml.SequenceNode) else []


def _walk(
    node: yaml.Node | None, path: Path, key: yaml.Node | None = None
) -> Iterator[tuple[Path, yaml.Node | None, yaml.Node]]:
    """Every value with its path and key. Construction has flattened merges, so merged keys stand where written."""
    if node is None:
        return
    yield path, key, node
    if isinstance(node, yaml.MappingNode):
        for key_node, value in node.value:
            yield from _walk(value, (*path, key_node.value), key_node)
    elif isinstance(node, yaml.SequenceNode):
        for index, value in enumerate(node.value):
            yield from _walk(value, (*path, index), None)


def _place(node: yaml.Node) -> Place:
    return node.start_mark.line + 1, node.start_mark.column + 1


def _syntax_problem(error: yaml.YAMLError, lines: Document) -> Problem:
    """A syntax error in words of the file, not of the parser."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    if mark is not None:
        line, column = mark.line + 1, mark.column + 1
    else:
        position = getattr(error, "position", 0)
        line = lines.text.count("\n", 0, position) + 1
        column = position - (lines.text.rfind("\n", 0, position) + 1) + 1
    what = str(getattr(error, "problem", None) or getattr(error, "reason", None) or error)
    message, hint = _syntax_words(what, lines.line(line)[column - 1 : column])
    return Fault("syntax", message, hint).at(lines.name, line, column, lines.line(line))


def _syntax_words(what: str, character: str) -> tuple[str, str]:
    if character == "\t" or "'\\t'" in what:
        return "a tab stands where YAML wants spaces", "indent with spaces"
    if "special characters are not allowed" in what:
        return "a control character that YAML does not allow", "delete it; it may be invisible"
    if "mapping values are not allowed" in what:
        return (
            "a colon that YAML cannot place here",
            'put the text in quotes, or check the indent: name: "a: b"',
        )
    if "another document" in what:
        return "a second document starts here", "one file is one document; delete the ---"
    if "could not find expected ':'" in what:
        return "a key without its colon", "write key: value"
    return f"this is not YAML: {what}", "check the indent, quotes, brackets and colons just before this place"


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
