"""HTML that nothing can break out of: whatever is not markup of our own making is escaped when it is put in."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from typing import Any

# Controls and half characters have no place in HTML; signs that turn the direction of writing are shown as what they
# are, so that a name cannot make a line read otherwise than it stands.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_TURNING = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\u2028\u2029]")
_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})
_BARE = re.compile("[A-Za-z0-9_-]+")
_VOID = ("input", "meta", "br")


class Html(str):
    """Finished markup. Only this module makes it from text; everywhere else it is put together with `tag`."""

    __slots__ = ()


def plain(text: str) -> str:
    r"""Text as a page shows it: controls replaced, signs that turn the direction of writing spelt out.

    >>> plain("a\u202eb")
    'a[U+202E]b'
    """
    return _TURNING.sub(lambda match: f"[U+{ord(match[0]):04X}]", _CONTROL.sub("\ufffd", text))


def escaped(text: str) -> Html:
    """Text as markup: markup of our own is kept as it is, all else is escaped.

    >>> escaped("<b>")
    '&lt;b&gt;'
    """
    return text if isinstance(text, Html) else _escaped(text)


@lru_cache(maxsize=16_384)  # pages of one run have most of their texts in common
def _escaped(text: str) -> Html:
    return Html(plain(text).translate(_ESCAPES))


def tag(name: str, /, *children: str, **attributes: str | bool | None) -> Html:
    """One element. A False or None attribute is left out, True has no value; class_ is class, data_x is data-x.

    A value of plain letters needs no quotes: a page has a thousand of them.

    >>> tag("p", "1 < 2 ", tag("b", "yes"), class_="note", title="a b")
    '<p class=note title="a b">1 &lt; 2 <b>yes</b></p>'
    """
    words = "".join(
        f" {key.rstrip('_').replace('_', '-')}" + ("" if value is True else _value(value))
        for key, value in attributes.items()
        if value is not None and value is not False
    )
    inside = joined(*children)
    return Html(f"<{name}{words}>" if name in _VOID else f"<{name}{words}>{inside}</{name}>")


def _value(value: str) -> str:
    return f"={value}" if _BARE.fullmatch(value) else f'="{escaped(value)}"'


def joined(*children: str) -> Html:
    """Elements and texts one after the other."""
    return Html("".join(map(escaped, children)))


def script_data(data: Any) -> Html:
    r"""Data as JSON for a script element: no sign in it can end the element or begin markup.

    >>> script_data("</script>")
    '"\\u003c/script\\u003e"'
    """
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return Html(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))
