"""The questions of `readiness log`: place, stop steps, distance, kind, then arrow by arrow. Asked on standard error."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from readiness.terminal import give_up

if TYPE_CHECKING:
    from collections.abc import Callable

    from readiness.arrival.entry import Typed
    from readiness.arrival.records import Log
    from readiness.plan import Plan, Step
    from readiness.problems import Fault

_LONGEST = 1_000  # characters of an answer; a paste gone wrong is not worked through, nor read back


def asked(plan: Plan, log: Log, typed: Typed) -> Typed:
    """The options completed by asking. At a stop step that fails the questions end.

    Parameters
    ----------
    plan : the plan: its stop steps before the first arrow, and the cautions before them
    log : what stands, shot with the present set-up
    typed : what was typed; it is not asked for again

    """
    at = _place(plan, log, typed)
    answers = _stop_steps(plan, log, at)
    is_open = len(answers) < len(_waiting(plan, log, at))
    typed = typed._replace(
        at=at,
        step=tuple(step.id for step, _ in answers),
        value=tuple("pass" if passed else "fail" for _, passed in answers),
    )
    if any(not passed for _, passed in answers):
        return typed
    if is_open:
        _say("A stop step is open: the bow counts as not looked over, and assess gives no advice on the sight.")
    return _arrows(plan, log, typed)


def _place(plan: Plan, log: Log, typed: Typed) -> str:
    from readiness.arrival.entry import place_named
    from readiness.problems import Fault

    names = [place.name for place in plan.trip.destinations]
    stands_for = place_named(None, plan.trip, log)
    if typed.at is not None or len(names) == 1:
        found = place_named(typed.at, plan.trip, log)
        if isinstance(found, Fault):
            give_up([found.at("--at", 0, 0)])
        return found
    given = "" if isinstance(stands_for, Fault) else stands_for
    return _until_right(
        f"Where ({' or '.join(names)})?", lambda text: place_named(text, plan.trip, log), "--at PLACE", given
    )


def _stop_steps(plan: Plan, log: Log, at: str) -> list[tuple[Step, bool]]:
    """The stop steps before an arrow that have not passed at a place, with their answers; the first failure ends it."""
    waiting = _waiting(plan, log, at)
    if waiting:
        _say("Before any arrow: p for pass, f for fail, Enter leaves a step open.")
        for caution in plan.cautions_before_stage("arrival"):
            _say(f"CAUTION {caution.text}")
    answers: list[tuple[Step, bool]] = []
    for step in waiting:
        for caution in plan.cautions_before_step(step.id):
            _say(f"CAUTION {caution.text}")
        _say(f"STOP step {step.id}, {step.title}: {step.do}\n  Wanted: {step.expect}")
        if _last_reading(step, log, at) == "fail":
            words, check = "  It failed here: p only if it was put right, else f?", _must_pass_or_fail
        else:
            words, check = "  p, f or Enter?", _pass_or_fail
        answer = _until_right(words, check, f"--step {step.id} --value, with pass or fail,")
        if answer:
            answers.append((step, answer == "p"))
        if answer == "f":
            break
    return answers


def _waiting(plan: Plan, log: Log, at: str) -> list[Step]:
    return [step for step in plan.before_shooting if _last_reading(step, log, at) != "pass"]


def _last_reading(step: Step, log: Log, at: str) -> str:
    from readiness.arrival.answers import reading_of
    from readiness.arrival.records import StepAnswer

    values = [r.value for r in log.of_place(at) if isinstance(r, StepAnswer) and r.step == step.id]
    return reading_of(values[-1], step.expect) if values else "cannot tell"


def _pass_or_fail(text: str) -> str | Fault:
    from readiness.problems import Fault

    short = {"": "", "p": "p", "pass": "p", "f": "f", "fail": "f"}.get(text.casefold())
    return Fault("bad-choice", f"{text!r} is no answer", "type p, f, or Enter") if short is None else short


def _must_pass_or_fail(text: str) -> str | Fault:
    from readiness.problems import Fault

    return _pass_or_fail(text) or Fault("bad-choice", "it failed before", "type p or f")


def _arrows(plan: Plan, log: Log, typed: Typed) -> Typed:
    """Distance, kind, then each arrow until an empty answer."""
    from readiness.arrival.entry import head_named, quantity, unit_of
    from readiness.arrival.gates import before_bare_shaft
    from readiness.arrival.records import ShotSet
    from readiness.arrival.shots import read_shot
    from readiness.problems import Fault

    trip = plan.trip
    kind = typed.kind or _until_right("Fletched, bare or broadhead?", _kind, "--kind", "fletched")
    if kind == "bare" and not any(isinstance(r, ShotSet) and r.kind == "bare" for r in log.of_place(str(typed.at))):
        for caution in before_bare_shaft(plan):
            _say(f"CAUTION {caution.text}")
    head = head_named(typed.head, kind, trip)
    if isinstance(head, Fault):
        words = f"Which head ({', '.join(h.name for h in trip.hunting_heads)})?"
        head = _until_right(words, lambda text: _head(text, plan), "--head NAME")
    distance = typed.distance or _until_right(
        "How far, with unit (20 yd)?", lambda text: quantity(text, "distance"), '--distance "20 yd"'
    )
    unit = typed.unit or unit_of(trip)
    words = "inches" if unit == "in" else "centimetres"
    _say(f"Each arrow in {words}: right,up from the aiming point; left and low are negative. @7 behind it is arrow 7,")
    _say("x is outside the butt, Enter ends.")
    shots: list[str] = []
    while True:
        text = _until_right(
            f"Arrow {len(shots) + 1}?", lambda text: text and _checked(text, read_shot(text, unit)), "--shots"
        )
        if not text:
            break
        shots.append(text)
    arrows = "; ".join(shots) or None
    return typed._replace(distance=distance, kind=kind, head=head, unit=unit, shots=arrows) if arrows else typed


def _head(text: str, plan: Plan) -> str | Fault:
    from readiness.arrival.entry import head_named
    from readiness.problems import Fault

    return head_named(text, "broadhead", plan.trip) or Fault("missing-head", "the trip has no such head")


def _checked(text: str, shot: object) -> str | Fault:
    from readiness.problems import Fault

    return shot if isinstance(shot, Fault) else text


def _kind(text: str) -> str | Fault:
    from readiness.arrival.records import KINDS
    from readiness.problems import Fault

    begun = [kind for kind in KINDS if text and kind.startswith(text.casefold())]
    return begun[0] if len(begun) == 1 else Fault("bad-choice", f"{text!r} is none of them", f"type {', '.join(KINDS)}")


def _until_right(words: str, check: Callable[[str], str | Fault], option: str, given: str = "") -> str:
    """Ask until the answer fits; an empty answer is the one in brackets, if there is one.

    Where nothing may be left empty, the first empty answer is told what ends it, and the next one ends it: someone
    leans on Enter, or does not know what to type. option is what answers the question on the command line.
    """
    from readiness.problems import Fault, printable

    was_empty = False
    while True:
        _say(f"{words}{f' [{given}]' if given else ''} ", end="")
        answer = _typed()
        if answer is None:
            continue
        found = check(answer or given)
        if not isinstance(found, Fault):
            return found
        if answer:
            _say(printable(f"  {found.message}: {found.hint}"))
        elif was_empty:
            raise click.Abort
        else:
            _say(
                f"  an answer is needed: Enter once more, or Ctrl-C, ends without logging; {option} says it beforehand"
            )
        was_empty = not answer


def _typed() -> str | None:
    """One line of standard input; None, and why, for one that cannot be an answer. Its end ends the program."""
    try:
        answer = input().strip()  # its own prompt would go to standard output
    except EOFError as end:
        raise click.Abort from end
    except UnicodeDecodeError:
        _say("  this is no text: type it anew")
        return None
    if len(answer) > _LONGEST:
        _say(f"  this is longer than {_LONGEST} characters: type it anew")
        return None
    return answer


def _say(text: str, end: str = "\n") -> None:
    click.echo(text + end, err=True, nl=False)
