"""YAML text -> nodes -> plain data, with everything that may not become data told as a fault with its place.

YAML 1.1 surprises are switched off: only true/false, decimal numbers and null are anything but text.
"""

from __future__ import annotations

import re
import sys
from math import isfinite
from typing import TYPE_CHECKING, Any

import yaml

from readiness.problems import Fault, excerpt

if TYPE_CHECKING:
    from collections.abc import Callable

MAX_NODES = 50_000  # after aliases are followed
MAX_DEPTH = 60

Place = tuple[int, int]  # line and column, 1-based

TOO_DEEP = Fault("too-deep", f"nested deeper than {MAX_DEPTH} levels", "a file of this kind is 5 levels deep")
TOO_MANY = Fault("too-large", f"more than {MAX_NODES:,} values, aliases counted", "a file of this kind has hundreds")
_PREFIX = "tag:yaml.org,2002:"
_STR, _MAP, _SEQ = _PREFIX + "str", _PREFIX + "map", _PREFIX + "seq"

# The only plain scalars that are not text, and the characters they may begin with.
_PLAIN = {
    "bool": (re.compile(r"^(?:true|false)$"), list("tf")),
    "int": (re.compile(r"^[-+]?(?:0|[1-9][0-9]{0,17})$"), list("-+0123456789")),
    "float": (
        re.compile(r"^[-+]?(?:0|[1-9][0-9]{0,17})(?:\.[0-9]{0,20})?(?:[eE][-+]?[0-9]{1,3})?$"),
        list("-+0123456789"),
    ),
    "null": (re.compile(r"^(?:null|~|)$"), ["n", "~", ""]),
}


_VALUES: dict[str, Callable[[str], Any]] = {
    "bool": "true".__eq__,
    "int": int,
    "float": float,
    "null": lambda _: None,
}
_SURROGATE = re.compile("[\ud800-\udfff]")


def _tame(base: type) -> type:
    """A safe loader that resolves plain scalars as JSON does."""

    class TameLoader(base):  # type: ignore[misc]
        yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012  PyYAML's own name

    for name, (pattern, first) in _PLAIN.items():
        TameLoader.add_implicit_resolver(_PREFIX + name, pattern, first)
    return TameLoader


_PYTHON_LOADER = _tame(yaml.SafeLoader)
_FAST_LOADER = _tame(getattr(yaml, "CSafeLoader", yaml.SafeLoader))


class TooManyError(Exception):
    """More nodes than a file of ours may have: seen before any of them is made."""


def compose(text: str) -> yaml.Node | None:
    """The node graph, by the fast loader; by the plain one again if that fails, for its better messages.

    The plain one takes 20 s for what the fast one does in a second, so it reads again only what is short.
    """
    if sum(map(text.count, _BEFORE_NODES)) > MAX_NODES and _has_too_many(text):
        raise TooManyError
    try:
        return _single_node(_FAST_LOADER, text)
    except (UnicodeEncodeError, yaml.YAMLError) as error:
        told = isinstance(error, yaml.MarkedYAMLError)
        if told and (len(text) > _SHORT or "nesting depth" in str(error)):
            raise
        return _single_node(_PYTHON_LOADER, text)


_SHORT = 60_000  # characters
_BEFORE_NODES = ("\n", ",", ":", "[", "{", "- ", "? ")  # no two nodes of a text without one of these between them


def _has_too_many(text: str) -> bool:
    """Whether a text goes beyond MAX_NODES, by its events, of which none is kept; a mistake in it is not for here."""
    count = 0
    try:
        for event in yaml.parse(text, Loader=_FAST_LOADER):
            count += isinstance(event, yaml.NodeEvent)
            if count > MAX_NODES:
                return True
    except (yaml.YAMLError, ValueError, OverflowError):
        return False
    return False


def _single_node(loader_class: type, text: str) -> yaml.Node | None:
    loader = loader_class(text)
    try:
        node: yaml.Node | None = loader.get_single_node()
        return node
    finally:
        loader.dispose()


class Reader:
    """One walk over the nodes: data, and what must be right before nodes may become data."""

    def __init__(self) -> None:
        self.faults: list[tuple[Place, Fault]] = []
        self._done: dict[int, tuple[Any, int]] = {}  # id of a finished node -> its data, the nodes it stands for
        self._open: set[int] = set()

    def read(self, root: yaml.Node | None) -> Any:
        """The data below a node; None and a fault where there is none."""
        if root is None:
            self._add((1, 1), Fault("empty", "the file is empty", "readiness new writes one to start from"))
            return None
        data, size = self._visit(root, 0)
        if size > MAX_NODES:
            self._add((1, 1), TOO_MANY)
        return data

    def _visit(self, node: yaml.Node, depth: int) -> tuple[Any, int]:
        if type(node) is yaml.ScalarNode:
            return self._scalar(node), 1
        key = id(node)
        if key in self._done:
            return self._done[key]
        if key in self._open:
            self._add(place_of(node), Fault("endless-alias", "this anchor contains itself", "write the values out"))
            return None, 1
        if depth > MAX_DEPTH:
            self._add(place_of(node), TOO_DEEP)
            return None, 1
        self._open.add(key)
        result = self._mapping(node, depth) if isinstance(node, yaml.MappingNode) else self._sequence(node, depth)
        self._open.discard(key)
        self._done[key] = result
        return result

    def _mapping(self, node: yaml.MappingNode, depth: int) -> tuple[Any, int]:
        if node.tag != _MAP:
            self._add(place_of(node), _tag_fault(node.tag))
        data: dict[str, Any] = {}
        size = 1
        for key, value in node.value:
            if key.tag == _STR and type(key) is yaml.ScalarNode and key.value not in data and key.value != "<<":
                name = key.value
                self._scalar(key)
            else:
                name = self._odd_key(key, node)
            data[name], below = self._visit(value, depth + 1)
            size += below
        return data, size

    def _sequence(self, node: yaml.Node, depth: int) -> tuple[Any, int]:
        if node.tag != _SEQ:
            self._add(place_of(node), _tag_fault(node.tag))
        data: list[Any] = []
        size = 1
        for child in node.value:
            item, below = self._visit(child, depth + 1)
            data.append(item)
            size += below
        return data, size

    def _scalar(self, node: yaml.ScalarNode) -> Any:
        tag, text = node.tag, node.value
        if tag == _STR:
            if not text.isascii() and _SURROGATE.search(text):
                fault = Fault("not-text", "half a character, which no file can hold", "write the character itself")
                self._add(place_of(node), fault)
            return text
        kind = tag.rpartition(":")[2]
        if kind not in _PLAIN or tag != _PREFIX + kind:
            self._add(place_of(node), _tag_fault(tag))
        elif not _PLAIN[kind][0].match(text):  # an explicit tag, such as !!float nan
            fault = Fault("tag", f"{excerpt(text)!r} is not what its tag says", "write it without the tag")
            self._add(place_of(node), fault)
        elif kind == "float" and not isfinite(float(text)):
            self._add(
                place_of(node), Fault("not-finite", f"{excerpt(text)} is not a finite number", "write a decimal number")
            )
        else:
            return _VALUES[kind](text)
        return None

    def _odd_key(self, key: yaml.Node, mapping: yaml.MappingNode) -> str:
        """The name of a key that is no text, a merge sign, or here already; and the fault that says so."""
        if not isinstance(key, yaml.ScalarNode):
            self._add(place_of(key), Fault("key-not-text", "a list or mapping stands as a key", "a key is a word"))
            return ""
        text = excerpt(key.value)
        if key.tag != _STR:
            fault = Fault("key-not-text", f"the key {text} is not text", f'write "{text}" in quotes')
        elif key.value == "<<":
            fault = Fault("merge-key", "<< is not read here", "write the keys out")
        else:
            first = next(k for k, _ in mapping.value if k.tag == _STR and k.value == key.value)
            message = f"{text!r} stands here a second time; the first is on line {place_of(first)[0]}"
            fault = Fault("repeated-key", message, "keep one of the two")
        self._add(place_of(key), fault)
        return str(key.value)

    def _add(self, place: Place, fault: Fault) -> None:
        self.faults.append((place, fault))


def _tag_fault(tag: str) -> Fault:
    tag = tag.replace(_PREFIX, "!!")
    return Fault("tag", f"the tag {excerpt(tag)} is not read here", "write plain text, numbers, lists and keys")


def place_of(node: yaml.Node) -> Place:
    """Line and column at which a node begins."""
    return node.start_mark.line + 1, node.start_mark.column + 1


def escape_fault(text: str) -> tuple[Place, Fault]:
    r"""An escape such as \U00110000, which stands for no character; the parser gives no place for it."""
    bad = next((m for m in re.finditer(r"\\U([0-9A-Fa-f]{8})", text) if int(m[1], 16) > sys.maxunicode), None)
    start = bad.start() if bad else 0
    line = text.count("\n", 0, start) + 1
    column = start - (text.rfind("\n", 0, start) + 1) + 1
    return (line, column), Fault("syntax", "an escape that stands for no character", "write the character itself")


def syntax_fault(error: yaml.YAMLError, text: str) -> tuple[Place, Fault]:
    """A syntax error in words of the file, not of the parser, and its place."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    if mark is not None:
        line, column = mark.line + 1, mark.column + 1
    else:  # characters that YAML refuses come without a line
        position = getattr(error, "position", 0)
        line = text.count("\n", 0, position) + 1
        column = position - (text.rfind("\n", 0, position) + 1) + 1
    what = str(getattr(error, "problem", None) or getattr(error, "reason", None) or error)
    if "nesting depth" in what:
        return (line, column), TOO_DEEP
    shown = split_lines(text)
    character = shown[line - 1][column - 1 : column] if line <= len(shown) else ""
    return (line, column), Fault("syntax", *_syntax_words(what, character))


def split_lines(text: str) -> list[str]:
    """The lines of a text as YAML counts them."""
    return re.split(r"\r\n|[\n\r\x85\u2028\u2029]", text)


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
    if "another document" in what or "'<document start>'" in what:
        return "a second document starts here", "one file is one document; delete the ---"
    if "expected <block end>" in what or "did not find expected key" in what:
        return "the text goes on behind a closing quote, or the indent jumps", "quote all of it, or indent as above"
    if "could not find expected ':'" in what:
        return "a key without its colon", "write key: value"
    return f"this is not YAML: {what}", "check the indent, quotes, brackets and colons just before this place"
