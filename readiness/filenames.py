"""Any text as a name that every file system takes, and when two such names are one."""

from __future__ import annotations

import re
import unicodedata

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
