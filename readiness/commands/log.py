"""readiness log: what was shot, changed and seen at camp, written down beside the trip."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from readiness.commands.options import checklists_option, formats, today_option, trip_argument
from readiness.commands.reading import load, planned
from readiness.terminal import DONE, NOT_READY, complain, confirm, finish, give_up, page_text, say, say_page

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from datetime import date

    from readiness.arrival.entry import Typed
    from readiness.arrival.log import LogFile
    from readiness.plan import Plan, Step
    from readiness.problems import Problem
    from readiness.trip.model import Trip


@click.command("log")
@trip_argument
@click.option("--at", metavar="PLACE", help="Where; the last logged place if left out.")
@click.option("--distance", metavar="TEXT", help='How far, such as "20 yd".')
@click.option(
    "--kind", type=click.Choice(["fletched", "bare", "broadhead"]), help="What was shot; fletched if left out."
)
@click.option(
    "--shots", metavar="TEXT", help='right,up of each arrow: "0.3,-0.4; 1.1,0.2@7; x" (7: its number; x: missed).'
)
@click.option("--unit", type=click.Choice(["in", "cm"]), help="Unit of right and up; that of the trip if left out.")
@click.option("--head", metavar="NAME", help="Which broadhead.")
@click.option("--cold", is_flag=True, help="The first of these was the first arrow of the day.")
@click.option("--temperature", metavar="TEXT", help='Of the air, such as "31 F".')
@click.option(
    "--step", multiple=True, metavar="ID", help="A step of the plan that --value answers; may be given again."
)
@click.option("--value", multiple=True, metavar="TEXT", help='What it showed, such as "pass: no crack".')
@click.option("--changed", metavar="TEXT", help="What was changed on the bow: what was shot before is judged apart.")
@click.option("--time", metavar="TIME", help="When; now if left out.")
@click.option("--list", "listing", is_flag=True, help="Show what is logged.")
@click.option(
    "--undo", is_flag=False, flag_value="", metavar="[ID]", help="Take back a record, the last one without ID."
)
@click.option(
    "--import", "other", type=click.Path(path_type=Path), metavar="FILE", help="Take in another log's records."
)
@formats("text", "markdown", "json")
@checklists_option
@today_option
def log(
    trip_file: str,
    form: str,
    checklists: tuple[Path, ...],
    today: date | None,
    *,
    listing: bool,
    undo: str | None,
    other: Path | None,
    **options: Any,
) -> None:
    """Log arrows, changes and answers to steps for TRIP; without options it asks, arrow by arrow.

    Right and up are positive, as the archer sees the target. Records stand beside the trip in
    TRIP.log.jsonl, on the disk before this says so. Nothing in it is ever deleted.
    """
    from readiness.arrival.entry import Typed

    typed = Typed(**options)
    _refuse_mixed(trip_file, typed, listing=listing, undo=undo, other=other)
    asks = not (listing or undo is not None or other or typed.shots is not None or typed.step or typed.value)
    asks = asks and typed.changed is None
    plan = None
    if typed.step or typed.shots is not None or asks:
        # Arrows are logged whatever a pack of the user's is like: for the warning about them our own are enough.
        packs = checklists if typed.step or asks else ()
        plan, _, _ = planned(trip_file, today, packs, json_too=form == "json")
    trip = plan.trip if plan else load(trip_file, today, json_too=form == "json")[0]
    call = _Call(trip_file, trip, form, today)
    if listing:
        call.show()
    if undo is not None:
        call.undo(undo, typed)
    if other:
        call.take_in(other)
    if asks and plan:
        call.ask(plan, typed)
    call.record(typed, plan)


def _refuse_mixed(trip_file: str, typed: Typed, *, listing: bool, undo: str | None, other: Path | None) -> None:
    """End where a call wants two things at once, or has no file to stand beside."""
    from readiness.problems import Fault

    if trip_file == "-":
        fault = Fault("no-file", "a log stands beside a trip file, and standard input is none", "name the trip file")
        give_up([fault.at("<stdin>", 0, 0)])
    alone = [name for name, given in (("--list", listing), ("--undo", undo is not None), ("--import", other)) if given]
    mixed = [f"--{name}" for name, given in typed._asdict().items() if given and name != "time"]
    if len(alone) > 1 or (alone and mixed):
        fault = Fault(
            "one-of-two", f"{' and '.join([*alone, *mixed])} do not go together", f"leave {alone[0]} by itself"
        )
        give_up([fault.at("log", 0, 0)])


class _Call:
    """One run of the command on one log. Each way to use it ends the run."""

    def __init__(self, trip_file: str, trip: Trip, form: str, today: date | None) -> None:
        from readiness.arrival.log import log_path, read_log_file, setup_hash

        self._file, self._trip, self._form, self._today = trip_file, trip, form, today
        self._path = log_path(trip_file)
        self._log: LogFile = read_log_file(self._path)
        self._setup = setup_hash(trip)
        self._is_json = form == "json"

    def show(self) -> NoReturn:
        """--list: every record; 1 where a line of the file could not be read."""
        from readiness.arrival.log import strangers
        from readiness.problems import has_errors
        from readiness.render.camplog import list_data, list_page

        entries = self._log.entries
        problems = (*self._log.problems, *strangers(entries, str(self._path), self._trip))
        if self._is_json:
            from readiness.render.data import to_json

            say(to_json(list_data(self._trip.name, entries, self._setup, problems)))
        else:
            say_page(list_page(self._trip.name, entries, self._setup), self._form)
        complain(problems)
        finish(NOT_READY if has_errors(problems) else DONE)

    def undo(self, typed_id: str, typed: Typed) -> NoReturn:
        """--undo: a record more, which takes another back."""
        from readiness.arrival.entry import moment, moment_now, undo_entry
        from readiness.problems import Fault

        time = moment(typed.time, moment_now(self._today))
        entry = time if isinstance(time, Fault) else undo_entry(self._log.entries, typed_id, self._trip, time)
        if isinstance(entry, Fault):
            give_up([entry.at("--time" if entry is time else "--undo", 0, 0)], json_too=self._is_json)
        undone = next(known.data for known in self._log.entries if known.id == entry["undoes"])
        with self._told_if_interrupted([entry]):
            problems = self._append([entry])
            self._report([entry], problems, undone=undone)
        finish(DONE)

    def take_in(self, other: Path) -> NoReturn:
        """--import: the records of another file, all or none."""
        from readiness.arrival.merge import take_in
        from readiness.problems import has_errors

        found = take_in(other, self._path, self._log, self._trip)
        if has_errors(found.problems):
            give_up(found.problems, json_too=self._is_json)
        problems = (*found.problems, *(self._old_problems() if found.entries else self._log.problems))
        self._report(found.entries, problems, known=found.known)
        finish(DONE)

    def ask(self, plan: Plan, typed: Typed) -> NoReturn:
        """Without anything to write: questions, and what they give in one append."""
        from readiness.arrival.log import of_setup
        from readiness.commands.asking import asked

        try:
            answers = asked(plan, of_setup(self._log.log, self._setup)[0], typed)
        except (click.Abort, KeyboardInterrupt):
            click.echo("\nNothing was logged.", err=True)
            raise
        if not (answers.shots or answers.step):
            click.echo("Nothing was answered, so nothing was logged.", err=True)
            finish(DONE)
        self.record(answers, plan)

    def record(self, typed: Typed, plan: Plan | None) -> NoReturn:
        """What was typed, written; 1 where a stop step failed."""
        from readiness.arrival.entry import entered, moment_now
        from readiness.problems import has_errors

        steps = {step.id: step for step in plan.steps} if plan else {}
        made = entered(typed, self._trip, self._log.log, steps, moment_now(self._today))
        if has_errors(made.problems):
            give_up(made.problems, json_too=self._is_json)
        with self._told_if_interrupted(made.entries):
            problems = self._append(made.entries)
            warned = self._unheeded(plan, made.entries) if plan else ()
            self._report(made.entries, (*made.problems, *problems, *warned), failed=made.failed)
        finish(NOT_READY if any(step.stop for step in made.failed) else DONE)

    def _unheeded(self, plan: Plan, entries: Sequence[Mapping[str, Any]]) -> tuple[Problem, ...]:
        """What the arrows just logged were shot in spite of; the answers of the same call count."""
        from readiness.arrival.assessment import assess
        from readiness.arrival.gates import unheeded
        from readiness.arrival.log import of_setup, read_log_file
        from readiness.arrival.nextgroup import Allowed
        from readiness.trip.quantities import read_si

        shots = next((entry for entry in entries if entry["record"] == "shots"), None)
        if shots is None:
            return ()
        log, _ = of_setup(read_log_file(self._path).log, self._setup)
        before = log._replace(records=tuple(record for record in log.records if record.stamp.id != shots["id"]))
        gates = assess(plan, before, shots["at"], Allowed()).gates
        found = unheeded(gates, shots["kind"], read_si(shots["distance"], "length"))
        return tuple(fault.at(str(self._path), 0, 0) for fault in found)

    def _append(self, entries: Sequence[Mapping[str, Any]]) -> tuple[Problem, ...]:
        """Append, or end: nothing is reported as written that is not on the disk. The log's own problems stay told."""
        from readiness.arrival.log import append
        from readiness.problems import has_errors

        problems = append(self._path, entries)
        if has_errors(problems):
            give_up(problems, json_too=self._is_json)
        return (*self._old_problems(), *problems)

    @contextmanager
    def _told_if_interrupted(self, entries: Sequence[Mapping[str, Any]]) -> Iterator[None]:
        """After Ctrl-C, whether the records are in the log: else they would be typed again, and count twice."""
        from readiness.arrival.log import read_log_file

        try:
            yield
        except KeyboardInterrupt:
            there = {entry.id for entry in read_log_file(self._path).entries}
            is_logged = all(entry["id"] in there for entry in entries)
            click.echo(f"\n{'It is logged all the same.' if is_logged else 'Nothing was logged.'}", err=True)
            raise

    def _old_problems(self) -> tuple[Problem, ...]:
        """Those of the log as it was read, but for a torn line: it is set aside by what is appended, and told anew."""
        return tuple(old for old in self._log.problems if old.code != "torn-line")

    def _report(
        self,
        entries: Sequence[Mapping[str, Any]],
        problems: Iterable[Problem],
        *,
        undone: Mapping[str, Any] | None = None,
        known: int | None = None,
        failed: Sequence[Step] = (),
    ) -> None:
        from readiness.arrival.changes import is_known, taken_for, unknown_change
        from readiness.render.camplog import written_data, written_lines

        changes = [str(entry["what"]) for entry in entries if entry["record"] == "change"]
        problems = (*problems, *(unknown_change(what) for what in changes if not is_known(what)))
        if self._is_json:
            from readiness.render.data import to_json

            more: dict[str, Any] = {} if known is None else {"known": known}
            more |= {"taken_for": [taken_for(what) for what in changes]} if changes else {}
            more |= {"failed": [{"step": step.id, "stop": step.stop, "if_not": step.if_not} for step in failed]}
            confirm(to_json(written_data(self._trip.name, entries, problems, **more)))
        else:
            lines = list(written_lines(entries, undone))
            lines += [taken_for(what) for what in changes if is_known(what)]
            lines += [] if known is None else [f"{len(entries)} new, {known} were here already."]
            lines += [f"STOP, do not shoot. {step.id}: {step.if_not}" for step in failed if step.stop]
            lines += [f"{step.id}: {step.if_not}" for step in failed if not step.stop]
            self._say_lines([*lines, f"Next: readiness assess {self._file}"])
        complain(problems)

    def _say_lines(self, lines: Sequence[str]) -> None:
        """Each on a line of its own, however long: it reads back what was typed."""
        from readiness.problems import printable

        if self._form == "text":
            confirm("".join(f"{printable(line)}\n" for line in lines))
        else:
            from readiness.render.elements import Listing

            confirm(page_text((Listing(tuple(lines)),), self._form))
