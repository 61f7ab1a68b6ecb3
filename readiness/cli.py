"""The command line: which commands there are. With terminal and commands, the only place that prints or exits."""

from __future__ import annotations

from importlib import import_module
from typing import NoReturn

import click

from readiness import __version__
from readiness.terminal import ending

# Each stands in readiness.commands under its name; only the one that runs is imported.
COMMANDS = {
    "new": "Write a commented trip file to start from.",
    "check": "Tell what is wrong, doubtful or left out.",
    "plan": "Print the verification plan of a trip.",
    "pins": "Print the pin shift and what to do about it.",
    "pack": "Print what to pack, and what is missing.",
    "card": "Set the field card on paper.",
    "handout": "Write the plan as one file for a phone.",
    "calendar": "Write the stages of a trip as a calendar.",
    "log": "Write down what was shot, changed and seen at camp.",
    "assess": "Tell what the logged arrows mean.",
    "roster": "Write the papers of every client of a camp, and one overview.",
    "render-one": "Make one client's papers a line, from JSON lines.",
    "lint": "Tell what is wrong with rule packs.",
    "schema": "Publish the file formats.",
}


class _OnDemand(click.Group):
    """A group that imports a command when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        name = cmd_name.replace("-", "_")
        command: click.Command = getattr(import_module(f"readiness.commands.{name}"), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=_OnDemand, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="readiness")
def main() -> None:
    """Prove a travelling hunting bow: what to record and pack, what to shoot on arrival, what it means.

    Start with `readiness new trip.yaml`, then `readiness check trip.yaml` and `readiness plan trip.yaml`.
    A TRIP of - is read from standard input.
    """


def run() -> NoReturn:
    """The `readiness` command."""
    ending(lambda: main.main(standalone_mode=False))
