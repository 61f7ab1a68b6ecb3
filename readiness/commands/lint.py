"""readiness lint: what is wrong with rule packs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from readiness.commands.options import formats, today_option
from readiness.terminal import BAD_INPUT, DONE, complain, finish, say, say_page

if TYPE_CHECKING:
    from datetime import date

    from readiness.rules.packs import Pack


@click.command("lint")
@click.argument("paths", nargs=-1, metavar="[PACK OR FOLDER]...", type=click.Path(path_type=Path))
@formats("text", "markdown", "json")
@today_option
def lint(paths: tuple[Path, ...], form: str, today: date | None) -> None:  # noqa: ARG001  --date is in every command
    """Tell everything wrong with rule packs: grammar, craft and their own examples. Built-in ones if none is named."""
    from readiness.problems import has_errors, sort_and_dedupe
    from readiness.rules.lint import lint_packs
    from readiness.rules.packs import built_in_packs, packs_at

    built_in, problems = built_in_packs()
    named: list[Pack] = []
    for path in paths:
        found, unreadable = packs_at(path)
        named.extend(found)
        problems = (*problems, *unreadable)
    # A file that is a built-in pack, named by its path, is not its own double.
    texts = {pack.document.text for pack in named}
    others = tuple(pack for pack in built_in if pack.document.text not in texts)
    problems = sort_and_dedupe((*problems, *lint_packs((*others, *named))))
    shown = tuple(named) if paths else built_in
    if form == "json":
        from readiness.render.data import lint_data, to_json

        say(to_json(lint_data(shown, problems)))
    else:
        from readiness.render.kit import lint_page

        say_page(lint_page(shown, problems), form)
        complain(problems)
    finish(BAD_INPUT if has_errors(problems) else DONE)
