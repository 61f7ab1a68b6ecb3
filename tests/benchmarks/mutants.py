"""Do the tests bite? One small change of the code at a time, and the tests that belong to it must notice.

    .venv/bin/python tests/benchmarks/mutants.py [air flight ...] [--jobs 2] [--share 0.25 --seed 7] [--again]

Prints mutants and killed ones by module, then each survivor with its reason from mutants_kept.yaml. Ends with 1 where a
module has less than nine in ten killed, or where a survivor has no reason.

Each mutant lives in a forked process that compiles the changed syntax tree in memory: no file is touched. The tests
that run the changed line go first, the quickest first; what they let through meets every test of the module before
it counts as a survivor. Results are kept in .mutants/, so a run that was stopped goes on where it was; --again runs
yesterday's survivors against today's tests. A changed module starts anew.
"""

from __future__ import annotations

import os

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # no threads in a process that forks

import argparse
import ast
import gc
import hashlib
import importlib.abc
import importlib.util
import json
import random
import resource
import signal
import sys
import time
import traceback
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import pytest
import yaml
from hypothesis import settings
from tabulate import tabulate

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).resolve().parents[2]
RESULTS = ROOT / ".mutants"
REASONS = Path(__file__).with_name("mutants_kept.yaml")
GOAL = 0.9
OUR_FAULT = 70  # of a process that never came to its tests
SLOW_THIRD_PARTIES = ("scipy.stats", "scipy.integrate", "scipy.optimize", "CoolProp.CoolProp", "jsonschema", "pint")

# Module -> the tests that belong to it, beside its own doctests.
RULES = ("tests/rules",)
TESTS = {
    "air": ("tests/test_air.py",),
    "flight": ("tests/test_flight.py",),
    "sighting": ("tests/test_sighting.py",),
    "groups": ("tests/test_groups.py",),
    "forecast": ("tests/test_forecast.py",),
    "pinshift": ("tests/test_pinshift.py", "tests/test_forecast.py"),
    "conditions": ("tests/test_conditions.py", "tests/test_forecast.py"),
    "rules/facts": (*RULES, "tests/test_house.py"),
    "rules/known": (*RULES, "tests/test_verification.py"),
    "rules/when": RULES,
    "rules/packs": RULES,
    "rules/lint": RULES,
    "rules/craft": RULES,
}

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.Mod: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}


class Mutant(NamedTuple):
    """One change: where it is, what it is, and the slot of the syntax tree that it fills anew."""

    key: str
    line: int
    parent: ast.AST
    field: str
    index: int | None
    new: ast.AST

    def apply(self) -> None:
        """Change the tree; the process that does so is thrown away afterwards."""
        if self.index is None:
            setattr(self.parent, self.field, self.new)
        else:
            getattr(self.parent, self.field)[self.index] = self.new


class Baseline(NamedTuple):
    """The tests of a module unchanged: which of them run a line, and how long each takes."""

    tests_of_line: dict[int, list[str]]
    seconds: dict[str, float]


def alternatives(node: ast.AST) -> Iterator[ast.AST]:
    """Every small change of one node, as a node to stand in its place."""
    match node:
        case ast.Compare(ops=[operator], left=left, comparators=comparators):
            for other in COMPARISONS[type(operator)]:
                yield ast.Compare(left, [other()], comparators)
        case ast.Compare(ops=ops, left=left, comparators=comparators):
            for i, operator in enumerate(ops):
                yield ast.Compare(left, [*ops[:i], COMPARISONS[type(operator)][0](), *ops[i + 1 :]], comparators)
        case ast.BinOp(left=left, op=op, right=right):
            yield ast.BinOp(left, ARITHMETIC[type(op)](), right)
        case ast.AugAssign(target=target, op=op, value=value):
            yield ast.AugAssign(target, ARITHMETIC[type(op)](), value)
        case ast.BoolOp(op=op, values=values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
        case ast.UnaryOp(operand=operand):
            yield operand
        case ast.Constant(value=value) if value is not None and value is not ...:
            yield ast.Constant(_other(value))
        case ast.Return(value=value) if value is not None and not _is_none(value):
            yield ast.Return(ast.Constant(None))
        case ast.Expr(value=ast.Call()) | ast.Raise():
            yield ast.Pass()
        case ast.Assign(targets=targets, value=value) if not _is_none(value):
            yield ast.Assign(targets, ast.Constant(None))
        case ast.Call(func=func, args=args, keywords=keywords):
            for i, argument in enumerate(args):
                if not isinstance(argument, ast.Starred) and not _is_none(argument):
                    yield ast.Call(func, [*args[:i], ast.Constant(None), *args[i + 1 :]], keywords)
            for i in range(len(keywords)):
                yield ast.Call(func, args, [*keywords[:i], *keywords[i + 1 :]])
        case ast.Break():
            yield ast.Continue()
        case ast.Continue():
            yield ast.Break()
        case ast.If(test=test, body=body, orelse=orelse) if not isinstance(test, ast.Compare | ast.UnaryOp):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, orelse)
        case ast.IfExp(test=test, body=body, orelse=orelse) if not isinstance(test, ast.Compare | ast.UnaryOp):
            yield ast.IfExp(ast.UnaryOp(ast.Not(), test), body, orelse)


def _other(value: Any) -> Any:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    if isinstance(value, float):
        return value * 1.01 if value else 1.0
    return value + "~" if isinstance(value, str) else value + b"~"


def _is_none(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def slots(node: ast.AST, function: str = "") -> Iterator[tuple[ast.AST, str, int | None, ast.AST, str]]:
    """Every node that runs, with its place in its parent and the function it stands in, in the order of the file.

    Types, decorators, docstrings, imports, and assertions for the type checker are passed over.
    """
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        listed = value if isinstance(value, list) else [value]
        for index, child in enumerate(listed):
            if not isinstance(child, ast.AST) or _never_runs(child):
                continue
            yield node, field, index if isinstance(value, list) else None, child, function
            named = isinstance(child, ast.FunctionDef | ast.ClassDef)
            yield from slots(child, f"{function}.{child.name}".lstrip(".") if named else function)


def _never_runs(node: ast.AST) -> bool:
    match node:
        case ast.Expr(value=ast.Constant()) | ast.Assert() | ast.Import() | ast.ImportFrom():
            return True
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
    return False


def mutants_of(tree: ast.Module) -> list[Mutant]:
    """All mutants of a module; the key names function and change, and counts those that read alike."""
    found, seen = [], Counter()
    for parent, field, index, node, function in slots(tree):
        for new in alternatives(node):
            ast.fix_missing_locations(ast.copy_location(new, node))
            change = f"{function or 'module'}: {_short(node)} -> {_short(new)}"
            seen[change] += 1
            key = change if seen[change] == 1 else f"{change} #{seen[change]}"
            found.append(Mutant(key, node.lineno, parent, field, index, new))
    return found


def _short(node: ast.AST) -> str:
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 90 else f"{text[:60]} ... {text[-25:]}"


class InMemory(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Import one module from a syntax tree; every other one as always."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self.name, self.path, self.tree = name, path, tree

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self.path, loader=self)

    def exec_module(self, module: Any) -> None:
        exec(compile(self.tree, str(self.path), "exec", dont_inherit=True), module.__dict__)


class Chosen:
    """Run the named tests only, in that order, and stop at the first that fails."""

    def __init__(self, names: list[str]) -> None:
        self.place = {name: place for place, name in enumerate(names)}

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = sorted((i for i in items if i.nodeid in self.place), key=lambda i: self.place[i.nodeid])


class Watch:
    """Which tests run which line of one file, and for how long."""

    def __init__(self, path: Path) -> None:
        self.path, self.lines, self.seconds, self.now = str(path), {}, {}, ""

    def trace(self, frame: Any, event: str, argument: Any) -> Any:
        return self.line if frame.f_code.co_filename == self.path else None

    def line(self, frame: Any, event: str, argument: Any) -> Any:
        self.lines.setdefault(frame.f_lineno, {})[self.now] = None
        return self.line

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: Any) -> Any:
        self.now, start = item.nodeid, time.perf_counter()
        sys.settrace(self.trace)
        yield
        sys.settrace(None)
        self.seconds[item.nodeid] = time.perf_counter() - start


def run_tests(module: str, tree: ast.Module, plugin: object) -> int:
    """The module, from its tree, against its tests and doctests in this process; pytest's exit code."""
    name = f"readiness.{module.replace('/', '.')}"
    sys.meta_path.insert(0, InMemory(name, ROOT / "readiness" / f"{module}.py", tree))
    sys.path.insert(0, str(ROOT))
    os.chdir(ROOT)
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    settings.register_profile("mutants", derandomize=True, deadline=None, database=None)
    options = [
        "-q",
        "-x",
        "--tb=no",
        "--assert=plain",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:cov",
        "--hypothesis-profile=mutants",
    ]
    return int(pytest.main([*options, f"readiness/{module}.py", *TESTS[module]], plugins=[plugin]))


def in_a_fork(work: Any, cpu_seconds: float) -> int:
    """Start work() in a process of its own, with a limit of its time and memory; its process id."""
    child = os.fork()
    if child:
        return child
    code = OUR_FAULT
    try:
        os.setpgid(0, 0)
        resource.setrlimit(resource.RLIMIT_CPU, (int(cpu_seconds) + 1, int(cpu_seconds) + 3))
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
        code = work()
    except Exception:  # noqa: BLE001  the parent reads it
        (RESULTS / "fault.txt").write_text(traceback.format_exc(), encoding="utf-8")
    finally:
        os._exit(code)
    raise AssertionError


def baseline_of(module: str, tree: ast.Module) -> Baseline:
    """Run the module's tests unchanged; they must pass."""
    path, answer = ROOT / "readiness" / f"{module}.py", RESULTS / f"{module.replace('/', '-')}.baseline.json"

    def work() -> int:
        watch = Watch(path)
        code = run_tests(module, tree, watch)
        answer.write_text(json.dumps([watch.lines, watch.seconds]), encoding="utf-8")
        return code

    _, status = os.waitpid(in_a_fork(work, 1200), 0)
    if status:
        raise SystemExit(f"{module}: its tests do not pass unchanged (status {status})")
    lines, seconds = json.loads(answer.read_text(encoding="utf-8"))
    tests = {int(n): sorted((t for t in names if t), key=seconds.get) for n, names in lines.items()}
    return Baseline(tests, dict(sorted(seconds.items(), key=lambda entry: entry[1])))


def outcome_of(status: int) -> str:
    """killed, timeout or survived, from the status of the process: pytest says 0 passed, 5 there was no test."""
    if os.WIFEXITED(status) and os.WEXITSTATUS(status) == OUR_FAULT:
        raise SystemExit("a mutant never came to its tests: a fault of this script")
    if os.WIFSIGNALED(status):
        return "timeout" if os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL) else "killed"
    return "survived" if os.WEXITSTATUS(status) in (0, 5) else "killed"


def attack(module: str, tree: ast.Module, mutant: Mutant, names: list[str], seconds: float) -> int:
    """One mutant in a fork against some tests of its module; the process id."""

    def work() -> int:
        mutant.apply()
        return run_tests(module, tree, Chosen(names))

    return in_a_fork(work, 5.0 + 3.0 * seconds)


def run_module(module: str, jobs: int, share: float, seed: int, *, again: bool) -> dict[str, str]:
    """Every chosen mutant of a module -> its outcome; what is known already is not run again."""
    source = (ROOT / "readiness" / f"{module}.py").read_text(encoding="utf-8")
    tree = ast.parse(source)
    mutants = mutants_of(tree)
    chosen = sorted(random.Random(seed).sample(range(len(mutants)), round(share * len(mutants))))
    store = RESULTS / f"{module.replace('/', '-')}.{hashlib.sha256(source.encode()).hexdigest()[:12]}.jsonl"
    known = dict(map(json.loads, store.read_text(encoding="utf-8").splitlines())) if store.exists() else {}
    known = {key: outcome for key, outcome in known.items() if not (again and outcome == "survived")}
    todo = [mutants[i] for i in chosen if mutants[i].key not in known]
    baseline = baseline_of(module, tree) if todo else Baseline({}, {})
    everything = list(baseline.seconds)
    queue = [(m, baseline.tests_of_line.get(m.line) or everything) for m in reversed(todo)]
    running: dict[int, tuple[Mutant, list[str]]] = {}
    with store.open("a", encoding="utf-8") as kept:
        while queue or running:
            while queue and len(running) < jobs:
                mutant, names = queue.pop()
                seconds = sum(baseline.seconds[name] for name in names)
                running[attack(module, tree, mutant, names, seconds)] = mutant, names
            child, status = os.wait()
            mutant, names = running.pop(child)
            outcome = outcome_of(status)
            if outcome == "survived" and len(names) < len(everything):
                queue.append((mutant, everything))
                continue
            known[mutant.key] = outcome
            kept.write(json.dumps([mutant.key, outcome]) + "\n")
            kept.flush()
    return {mutants[i].key: known[mutants[i].key] for i in chosen}


def report(results: dict[str, dict[str, str]], sizes: dict[str, int]) -> bool:
    """Print the table and the survivors; whether all is well."""
    reasons = yaml.safe_load(REASONS.read_text(encoding="utf-8")) or {}
    rows, well = [], True
    for module, outcomes in results.items():
        killed = sum(outcome != "survived" for outcome in outcomes.values())
        slow = sum(outcome == "timeout" for outcome in outcomes.values())
        part = killed / max(1, len(outcomes))
        well &= part >= GOAL
        rows.append((module, sizes[module], len(outcomes), killed, slow, f"{part:.1%}"))
    print(tabulate(rows, ("module", "mutants", "run", "killed", "of these by time", "share"), tablefmt="pipe"))
    for module, outcomes in results.items():
        why = {change: reason for reason, changes in (reasons.get(module) or {}).items() for change in changes}
        for key, outcome in outcomes.items():
            if outcome == "survived":
                print(f"{module}.py {key}\n    {why.get(key, 'NO REASON')}")
                well &= key in why
    return well


def main() -> None:
    """Run what was asked for and print it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("modules", nargs="*", metavar="module", help="all when left out")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--share", type=float, default=1.0, help="part of the mutants to run, 0 to 1")
    parser.add_argument("--seed", type=int, default=7, help="which part")
    parser.add_argument("--again", action="store_true", help="run known survivors against today's tests")
    options = parser.parse_args()
    if unknown := set(options.modules) - set(TESTS):
        parser.error(f"no tests are named for {', '.join(sorted(unknown))}")
    RESULTS.mkdir(exist_ok=True)
    for name in SLOW_THIRD_PARTIES:
        importlib.import_module(name)
    gc.freeze()  # what every fork inherits is never collected
    results, sizes = {}, {}
    for module in options.modules or TESTS:
        results[module] = run_module(module, options.jobs, options.share, options.seed, again=options.again)
        sizes[module] = len(mutants_of(ast.parse((ROOT / "readiness" / f"{module}.py").read_text(encoding="utf-8"))))
        print(f"{module}: done", file=sys.stderr)
    sys.exit(0 if report(results, sizes) else 1)


if __name__ == "__main__":
    main()
