"""Hostile text for every kind of file, each by its name: what is wrong with it is said in the name.

A maker gets a good text of that kind and gives bytes. `Hostile.codes` are the exit codes that are right for it.
"""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

REFUSED, TAKEN = frozenset({2}), frozenset({0, 1})
EITHER = REFUSED | TAKEN
TURNED = "\u202eevil\u202c \u2066x\u2069 \u200f"  # direction overrides, isolates and marks
LONG = 900_000  # characters: as much as a file may hold


class Hostile(NamedTuple):
    """One hostile text: how it is made from a good one, and which exit codes are right."""

    make: Callable[[str], bytes]
    codes: frozenset[int] = REFUSED


def _plain(text: str) -> Callable[[str], bytes]:
    data = text.encode("utf-8", "surrogatepass")
    return lambda _: data


def _behind(more: str) -> Callable[[str], bytes]:
    """A good text that goes on with something bad."""
    return lambda good: good.encode() + b"\n" + more.encode("utf-8", "surrogatepass")


def _name(value: str) -> Callable[[str], bytes]:
    """The first name of a good text exchanged."""
    return lambda good: re.sub(r"(?m)^(\s*name: ).*$", lambda found: found[1] + value, good, count=1).encode()


def _bomb() -> str:
    rows = [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 12)]
    return "\n".join(["a0: &a0 {k: 1}", *rows])


# Of every file in YAML: trip, pack, camp, client.
YAML = {
    "aliases that multiply": Hostile(_plain(_bomb())),
    "an anchor that points at itself": Hostile(_plain("a: &x\n  b: *x\n")),
    "10,000 levels of lists": Hostile(_plain("[" * 10_000 + "]" * 10_000)),
    "900,000 levels of lists": Hostile(_plain("[" * LONG)),
    "10,000 levels of blocks": Hostile(_plain("- " * 10_000 + "x")),
    "10,000 levels of keys": Hostile(_plain("? " * 10_000 + "x")),
    "a line of 100 MB": Hostile(lambda _: b"a: " + b"x" * 100_000_000),
    "a line of 900 KB": Hostile(_plain("a: " + "x" * LONG)),
    "a key of 900 KB": Hostile(_plain("k" * LONG + ": 1")),
    "450,000 values in a line": Hostile(_plain("a: [" + "x," * (LONG // 2) + "x]")),
    "150,000 lines": Hostile(_plain("- x\n" * 150_000)),
    "16,000 unknown keys": Hostile(_behind("".join(f"kex{i}: 1\n" for i in range(16_000)))),
    "80,000 repeated keys": Hostile(_plain("k: 1\n" * 80_000)),
    "a mistake behind 90,000 lines": Hostile(_plain("".join(f"k{i}: v\n" for i in range(90_000)) + "b: [\n")),
    "tags": Hostile(_behind("x: !!python/object/apply:os.system [echo]\n")),
    "NUL": Hostile(_behind("x: a\0b\n")),
    "an escape sequence of a terminal": Hostile(_behind("x: a\x1b[2Jb\n")),
    "invalid UTF-8": Hostile(lambda good: good.encode() + b"\nx: \xff\xfe\n"),
    "UTF-16": Hostile(lambda good: good.encode("utf-16")),
    "a lone surrogate, as bytes": Hostile(_behind("x: \ud800\n")),
    "a lone surrogate, escaped": Hostile(_name(r'"a\uD800"')),
    "a number of a million digits": Hostile(_behind("x: " + "9" * LONG + "\n")),
    "a name of 900 KB": Hostile(_name('"' + "n" * LONG + '"')),
    "a name of spaces": Hostile(_name('"a' + " " * LONG + 'b"')),
    "directions turned in a name": Hostile(_name(f'"{TURNED}"'), EITHER),
    "markup in a name": Hostile(_name('"</script><b>&#x41; =1+1 #set page() \\\\\'`|*_[x](y)"'), EITHER),
    "an empty file": Hostile(_plain("")),
    "no mapping": Hostile(_plain("- 1\n")),
}
TRIP = {
    **YAML,
    "a quantity of a million digits": Hostile(
        lambda good: re.sub(r"elevation: \d+ ft", "elevation: " + "9" * LONG + " ft", good, count=1).encode()
    ),
    "a quantity beyond every float": Hostile(
        lambda good: re.sub(r"elevation: \d+ ft", "elevation: 1" + "0" * 55 + "e9 ft", good, count=1).encode()
    ),
    "a rule of spaces": Hostile(
        _behind('x: 1\nrequirements:\n  - {topic: "draw weight' + " " * LONG + 'x", rule: at least 50 lb}\n')
    ),
}


def _rule(pattern: str, value: str) -> str:
    """A pack whose one rule looks for a pattern in how the bow travels, and tries it on a value."""
    quoted = json.dumps(pattern)
    return f"""pack: made-up
version: 1
mode: "read, do"
closing: Done
rules:
  - id: MAD-010
    stage: arrival
    title: A made-up step
    when: {{travel: {{pattern: {quoted}}}}}
    do: Look.
    expect: No crack.
    if_not: Do not shoot.
    basis: common practice
    examples:
      applies: [{{travel: {json.dumps(value)}}}]
      skips: [{{travel: x}}]
"""


PACK = {
    **{name: hostile for name, hostile in YAML.items() if " name" not in name and "escaped" not in name},
    "a count beyond every float": Hostile(
        _behind("items:\n  - {id: MAD-900, item: thing, need: {count: 1e300, each: 1e300, per: trip_days}, air: [cabin], "
                "road: [vehicle], why: because, basis: common practice}\n"), EITHER),
    "10,000 patterns in a condition": Hostile(_plain(_rule("a", "a").replace(
        '{travel: {pattern: "a"}}', "{any: [" + "{travel: {pattern: a.*b.?}}, " * 10_000 + "{travel: {const: air}}]}")), EITHER),
    "a pattern that explodes": Hostile(_plain(_rule("(a+)+$", "a" * 60 + "!")), EITHER),
    "a pattern that explodes on three letters": Hostile(_plain(_rule("^" + "(.?" * 60 + ")*" * 60 + "z", "air")), EITHER),
    "a pattern of many wild cards": Hostile(_plain(_rule(".*.*.*.*.*.*.*.*z", "a" * 300)), EITHER),
    "a pattern of alternatives": Hostile(_plain(_rule("(a|a|b)" * 40 + "z", "a" * 60)), EITHER),
    "a pattern with 5,000 brackets": Hostile(_plain(_rule("(" * 5_000 + "a" + ")" * 5_000, "a")), EITHER),
    "a pattern that repeats without end": Hostile(_plain(_rule("a{99999999999}", "a")), EITHER),
    "a pattern repeated a billion times": Hostile(_plain(_rule("(((a{999}){999}){999}){999}", "a")), EITHER),
    "a pattern of 800 KB": Hostile(_plain(_rule("a?" * 400_000, "a")), EITHER),
    "a condition of 50 levels": Hostile(
        _plain(_rule("a", "a").replace('{travel: {pattern: "a"}}', "{not: " * 50 + "{travel: {const: air}}" + "}" * 50)), EITHER
    ),
    "4,000 rules": Hostile(
        _plain(_rule("a", "a") + "".join(_rule("b", "b").partition("rules:\n")[2].replace("MAD-010", f"MAD-{i}")
                                         for i in range(1_000, 3_500))), EITHER),
}  # fmt: skip


def _rows(*rows: str) -> bytes:
    return ("hunter.id,hunter.name,bow.draw_weight\n" + "\n".join(rows) + "\n").encode("utf-8", "surrogatepass")


TABLE = {
    "a line of 100 MB": Hostile(lambda _: b"hunter.id," + b"x" * 100_000_000),
    "a header of 15 MB": Hostile(lambda _: b"hunter.id" + b",ab" * 5_000_000),
    "a row of 15 MB": Hostile(lambda _: _rows("c1,Anna" + ",ab" * 5_000_000)),
    "a quote that never ends": Hostile(lambda _: _rows('c1,"' + "x" * 1_000_000)),
    "200,000 rows": Hostile(lambda _: _rows(*["c,n,60 lb"] * 200_000)),
    "NUL": Hostile(lambda _: _rows("c1,a\0b,60 lb"), TAKEN | REFUSED),
    "an escape sequence of a terminal": Hostile(lambda _: _rows("c1,a\x1b[2Jb,60 lb"), EITHER),
    "invalid UTF-8": Hostile(lambda _: _rows("c1,Anna,60 lb") + b"\xff\xfe"),
    "half of UTF-16": Hostile(lambda _: _rows("c1,Anna,60 lb").decode().encode("utf-16")[:-1]),
    "a lone surrogate": Hostile(lambda _: _rows("c1,\ud800,60 lb")),
    "directions turned in a name": Hostile(lambda _: _rows(f"c1,{TURNED},60 lb"), EITHER),
    "a number of 100,000 digits": Hostile(lambda _: _rows("c1,Anna," + "9" * 100_000 + " lb"), EITHER),
    "an id of spaces": Hostile(lambda _: _rows("a" + " " * 100_000 + "b,Anna,60 lb"), EITHER),
    "a column called arrow.999999999": Hostile(lambda _: b"hunter.id,gear.999999999.item\nc1,x\n"),
    "an empty file": Hostile(lambda _: b""),
}

_STAMP = '"id": "000000000001", "time": "2027-09-11T17:05:12+00:00", "version": "0.1.0", "setup": "0123456789abcdef"'
_SHOT = (
    f'{{"record": "shots", {_STAMP}, "at": "%s", "distance": "20 yd", "kind": "bare", "unit": "in", "shots": [%s]}}\n'
)


def _line(at: str, shots: str = '{"right": 0.3, "up": -0.4}') -> bytes:
    return (_SHOT % (at, shots)).encode("utf-8", "surrogatepass")


# A log is append-only: a line that is wrong is told and left out, so that the others still count.
LOG = {
    "a line of 100 MB": Hostile(lambda _: b'{"a": "' + b"x" * 100_000_000 + b'"}\n'),
    "a line of 3 MB": Hostile(lambda _: b'{"a": "' + b"x" * 3_000_000 + b'"}\n', EITHER),
    "3 MB of brackets": Hostile(lambda _: b"[" * 3_000_000 + b"\n", EITHER),
    "a million empty objects": Hostile(lambda _: b"[" + b"{}," * 1_000_000 + b"{}]\n", EITHER),
    "500,000 lines": Hostile(lambda _: b"{}\n" * 500_000, EITHER),
    "2,100 records": Hostile(
        lambda _: b"".join(_line("Camp").replace(b"000000000001", b"%012x" % i) for i in range(2_100)), EITHER
    ),
    "10,000 levels": Hostile(lambda _: b'{"a": ' * 10_000 + b"\n", EITHER),
    "NUL": Hostile(lambda _: _line("a\0b"), EITHER),
    "an escape sequence of a terminal": Hostile(lambda _: _line("a\\u001b[2Jb"), EITHER),
    "invalid UTF-8": Hostile(lambda _: b'{"a": "\xff"}\n', EITHER),
    "a lone surrogate": Hostile(lambda _: _line("\\ud800"), EITHER),
    "directions turned in a place": Hostile(lambda _: _line(TURNED), EITHER),
    "a number of a million digits": Hostile(
        lambda _: _line("Camp", '{"right": ' + "9" * 1_000_000 + ', "up": 0}'), EITHER
    ),
    "numbers that are none": Hostile(lambda _: _line("Camp", '{"right": NaN, "up": 1e999}'), EITHER),
    "keys twice": Hostile(lambda _: _line("Camp").replace(b'"at"', b'"at": "x", "at"'), EITHER),
    "a million shots": Hostile(lambda _: _line("Camp", '{"outside":true}' + ',{"outside":true}' * 200_000), EITHER),
    "a torn end": Hostile(lambda _: _line("Camp") + _line("Camp")[:40], EITHER),
}


def _json(camp: object, client: object) -> bytes:
    return json.dumps({"camp": camp, "client": client}).encode() + b"\n"


# One line of render-one: a line that is wrong has a result that says so, and the code is 1.
LINES = {
    "a line of 100 MB": Hostile(lambda _: b'{"camp": "' + b"x" * 100_000_000 + b'"}\n', TAKEN),
    "a line of empty objects": Hostile(lambda _: b'{"camp": [' + b"{}," * 1_300_000 + b"{}]}\n", TAKEN),
    "a line of 15 MB of empty objects": Hostile(lambda _: b'{"camp": [' + b"{}," * 5_000_000 + b"{}]}\n", TAKEN),
    "10,000 levels": Hostile(lambda _: b"[" * 10_000 + b"\n", TAKEN),
    "invalid UTF-8": Hostile(lambda _: b'{"camp": "\xff"}\n', TAKEN),
    "a lone surrogate": Hostile(lambda _: _json("\ud800", "\ud800"), TAKEN),
    "NUL": Hostile(lambda _: b"\0\n" + _json("\0", "\0"), TAKEN),
    "a billion digits": Hostile(lambda _: b'{"camp": ' + b"9" * 3_000_000 + b"}\n", TAKEN),
    "numbers that are none": Hostile(lambda _: b'{"camp": NaN, "client": Infinity}\n', TAKEN),
    "aliases that multiply": Hostile(lambda good: _json(good, _bomb()), TAKEN),
    "900,000 levels of lists": Hostile(lambda good: _json(good, "[" * LONG), TAKEN),
    "450,000 values": Hostile(lambda good: _json(good, "a: [" + "x," * (LONG // 2) + "x]"), TAKEN),
    "an explosive pattern in a pack": Hostile(
        lambda good: (
            json.dumps(
                {
                    "camp": good + "\nchecklists: [p.yaml]\n",
                    "client": "hunter: {id: x}",
                    "packs": {"p.yaml": _rule("(a+)+$", "a" * 60 + "!")},
                }
            ).encode()
            + b"\n"
        ),
        TAKEN,
    ),
    "no end of the last line": Hostile(lambda _: b'{"camp": ', TAKEN),
}
