"""Names of clients as folder names that every system takes, each client its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.filenames import LONGEST, folder_key, safe_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


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
    for client_id, _ in clients:
        if client_id is not None:
            key = folder_key(safe_name(client_id))
            counted[key] = counted.get(key, 0) + 1
    wanted = []
    for client_id, stem in clients:
        own = client_id is not None and counted[folder_key(safe_name(client_id))] == 1
        wanted.append((own, safe_name(client_id if own and client_id is not None else stem)))
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
