"""A camp file with its rule packs, read and checked: what a roster needs before the first client."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from readiness.camp.clients import inside, read_regular
from readiness.camp.items import with_camp_items
from readiness.camp.load import LoadedCamp, load_camp
from readiness.camp.making import Setting
from readiness.documents import MAX_BYTES
from readiness.problems import Fault, Problem, has_errors, sort_and_dedupe
from readiness.rules.lint import lint_packs
from readiness.rules.packs import Pack, built_in_packs, packs_at, read_pack

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from datetime import date
    from pathlib import Path

    from readiness.documents import Document


class Opened(NamedTuple):
    """A setting, or None where the camp file or a pack has errors; and every problem."""

    setting: Setting | None
    problems: tuple[Problem, ...]


def open_camp(text: str, name: str, folder: Path, today: date, checklists: Iterable[Path] = ()) -> Opened:
    """A camp file in a folder, with the packs that it names and those of the user's own folders.

    A pack with errors is refused like a bad camp file: it would be wrong on every client's paper.
    """
    loaded = load_camp(text, name, today)
    packs: list[Pack] = []
    problems: list[Problem] = []
    for index, written in enumerate(loaded.camp.checklists if loaded.camp else ()):
        found = inside(folder, written)
        data = found if isinstance(found, Fault) else read_regular(found, MAX_BYTES)
        if isinstance(data, Fault):
            problems.append(_document(loaded).problem(("checklists", index), data))
        else:
            _take(data, str(folder / written), packs, problems)
    for path in checklists:
        more, unreadable = packs_at(path)
        packs.extend(more)
        problems.extend(unreadable)
    return _opened(loaded, packs, problems, today)


def open_texts(text: str, name: str, packs: Mapping[str, str], today: date) -> Opened:
    """A camp file and its packs as texts, with nothing read from a disk: names in `checklists` are keys of packs."""
    loaded = load_camp(text, name, today)
    read: list[Pack] = []
    problems: list[Problem] = []
    for index, written in enumerate(loaded.camp.checklists if loaded.camp else ()):
        if written in packs:
            _take(packs[written].encode("utf-8", "surrogatepass"), written, read, problems)
        else:
            fault = Fault("unreadable", f"no pack is called {written}", "send its text in packs")
            problems.append(_document(loaded).problem(("checklists", index), fault))
    return _opened(loaded, read, problems, today)


def _document(loaded: LoadedCamp) -> Document:
    assert loaded.camp is not None
    return loaded.camp.document


def _opened(loaded: LoadedCamp, packs: list[Pack], problems: list[Problem], today: date) -> Opened:
    built_in, _ = built_in_packs()
    if packs and not problems:
        problems = list(lint_packs((*built_in, *packs)))
    found = sort_and_dedupe((*loaded.problems, *problems))
    if loaded.camp is None or has_errors(found):
        return Opened(None, found)
    asked = with_camp_items((*built_in, *packs), loaded.camp)
    return Opened(Setting(loaded.camp, asked, loaded.problems, today), found)


def _take(data: bytes, name: str, packs: list[Pack], problems: list[Problem]) -> None:
    try:
        pack, found = read_pack(data.decode("utf-8-sig"), name)
    except UnicodeDecodeError:
        pack, found = None, (Fault("not-utf8", "this is not UTF-8 text", "save it as UTF-8").at(name, 0, 0),)
    problems.extend(found)
    if pack is not None:
        problems.extend(_patterns(pack))
        packs.append(pack)


def _patterns(pack: Pack) -> Iterator[Problem]:
    """Regular expressions: a stranger's can take years on a short text, so those of a camp's packs are not run."""

    def walk(value: Any, path: tuple[str | int, ...]) -> Iterator[Problem]:
        below = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, inner in below:
            if key == "pattern":
                fault = Fault("pattern", "pattern is not read in a camp's pack", "write enum: with the words it may be")
                yield pack.document.problem((*path, key), fault)
            yield from walk(inner, (*path, key))

    yield from walk(pack.document.data, ())
