"""Names of clients as folder names that every system takes, each client its own."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

LONGEST = 60  # characters; at most 240 bytes, and file systems take 255
# Names that Windows keeps for devices, whatever follows a dot (Microsoft, "Naming Files, Paths, and Namespaces").
_DEVICES = {"con", "prn", "aux", "nul", "conin$", "conout$"}
_DEVICES |= {f"{kind}{number}" for kind in ("com", "lpt") for number in "0123456789¹²³"}


def safe_name(text: str) -> str:
    """A folder name for any text: letters, digits, space, dot, dash and underscore are kept, the rest becomes _.

    It is never empty, never . or .., begins with no dot, dash or space, ends with no dot or space, and is no device.

    >>> safe_name("../../x"), safe_name("CON.txt"), safe_name("c07"), safe_name(" Anna K. ")
    ('x', 'x-CON.txt', 'c07', 'Anna K')
    """
    text = unicodedata.normalize("NFC", text)
    kept = "".join(c if c.isalnum() or c in " .-_" else "_" for c in text)
    kept = re.sub(r"[\s_]*_[\s_]*", "_", kept)
    kept = kept.lstrip(" .-_")[:LONGEST].rstrip(" ._")
    if not kept:
        return "client"
    return f"x-{kept}" if kept.split(".")[0].rstrip().casefold() in _DEVICES else kept


def folder_key(name: str) -> str:
    """What two folder names have in common where a system takes them for one: case, and how accents are put together.

    >>> folder_key("Stra\u00dfe") == folder_key("STRASSE")
    True
    """
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def folder_names(clients: Sequence[tuple[str | None, str]], taken: Iterable[str] = ()) -> tuple[str, ...]:
    """A folder for each client: its id where no other client has it, else the name of its file, numbered if need be.

    Parameters
    ----------
    clients : for each, its id, or None where it has none, and the stem of its file, [text]
    taken : names that no client may have, [text]

    Examples
    --------
    >>> folder_names([("c07", "anna"), ("C07", "bert"), (None, "cora"), (None, "Cora")])
    ('anna', 'bert', 'cora', 'Cora-2')

    """
    used = {folder_key(name) for name in taken}
    counted: dict[str, int] = {}
    for number, _ in clients:
        if number is not None:
            key = folder_key(safe_name(number))
            counted[key] = counted.get(key, 0) + 1
    wanted = []
    for number, stem in clients:
        own = number is not None and counted[folder_key(safe_name(number))] == 1
        wanted.append((own, safe_name(number if own and number is not None else stem)))
    names = [""] * len(clients)
    for index in sorted(range(len(clients)), key=lambda index: not wanted[index][0]):  # ids first: they keep their name
        names[index] = _free(wanted[index][1], used)
        used.add(folder_key(names[index]))
    return tuple(names)


def _free(name: str, used: set[str]) -> str:
    number = 1
    found = name
    while folder_key(found) in used:
        number += 1
        end = f"-{number}"
        found = f"{name[: LONGEST - len(end)].rstrip(' ._')}{end}"
    return found
