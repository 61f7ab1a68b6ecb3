"""The rules of the house, kept by tests: where things may be imported, how long they may get, what is documented."""

import ast
import importlib
import inspect
import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "readiness"
MODULES = sorted(PACKAGE.rglob("*.py"))
PHYSICS = ("air", "flight", "sighting", "groups", "calibration")
LONGEST_MODULE = 320


def _tree(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def _functions():
    for path in MODULES:
        for node in ast.walk(_tree(path)):
            if isinstance(node, ast.FunctionDef):
                body = node.body[1:] if ast.get_docstring(node) else node.body
                first = body[0].lineno if body else node.lineno
                yield f"{path.stem}.{node.name}", node.end_lineno - first + 1


def test_only_the_command_line_prints_or_exits():
    """No module but cli, its commands and terminal (and __main__, which starts them) imports click, prints, or exits."""
    offenders = []
    for path in MODULES:
        if path.stem in ("cli", "terminal", "__main__") or path.parent.name == "commands":
            continue
        for node in ast.walk(_tree(path)):
            imported = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            imported += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            called = node.func.id if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""
            if "click" in imported or called in ("print", "exit") or "sys.exit" in ast.unparse(node).split("(")[0]:
                offenders.append(f"{path.name}:{node.lineno}")
    assert offenders == []


def test_physics_imports_nothing_but_arithmetic_and_itself():
    """air, flight, sighting, groups, calibration, quantiles and linear are pure: no file, no clock, no third party."""
    pure = (*PHYSICS, "quantiles", "linear")
    allowed = {"__future__", "functools", "math", "typing", "collections.abc", *(f"readiness.{name}" for name in pure)}
    for name in pure:
        tree = _tree(PACKAGE / f"{name}.py")
        for_types = [
            node for node in tree.body if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        ]
        unseen = {inner for block in for_types for inner in ast.walk(block)}
        for node in set(ast.walk(tree)) - unseen:
            assert not isinstance(node, ast.Import), f"{name}: {ast.unparse(node)}"
            assert not isinstance(node, ast.ImportFrom) or node.module in allowed, f"{name}: {node.module}"


def test_functions_are_about_25_lines_at_the_90th_percentile():
    """Nine functions in ten have at most 25 lines of code."""
    lengths = sorted(length for _, length in _functions())
    assert lengths[int(0.9 * len(lengths))] <= 25


def test_modules_do_not_grow_past_their_one_job():
    """The median module is short; none is very long."""
    lengths = sorted(len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES)
    assert lengths[len(lengths) // 2] <= 250
    assert lengths[-1] <= LONGEST_MODULE


@pytest.mark.parametrize("name", PHYSICS)
def test_every_quantity_of_a_physics_function_is_documented_with_its_unit(name):
    """Each float parameter and result of a public physics function stands in its docstring with [unit]."""
    module = importlib.import_module(f"readiness.{name}")
    for function_name, function in inspect.getmembers(module, inspect.isfunction):
        if function_name.startswith("_") or function.__module__ != module.__name__:
            continue
        doc = inspect.getdoc(function) or ""
        for parameter in inspect.signature(function).parameters.values():
            if parameter.annotation in ("float", "float | None"):
                line = re.search(rf"^\s*{parameter.name} : (.*)$", doc, re.MULTILINE)
                short = len(function.__code__.co_varnames) <= 4 and "Parameters" not in doc
                assert short or (line and re.search(r"\[[^\]]+\]", line[1])), (
                    f"{name}.{function_name}: {parameter.name}"
                )
        assert ">>>" in doc or "Ballistics" in doc, f"{name}.{function_name} has no example"


def test_every_public_thing_has_a_docstring():
    """Modules, classes and public functions say what they are."""
    missing = []
    for path in MODULES:
        tree = _tree(path)
        if not ast.get_docstring(tree):
            missing.append(path.name)
        for node in tree.body:
            named = isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
            if named and not ast.get_docstring(node):
                missing.append(f"{path.name}: {node.name}")
    assert missing == []


def test_the_list_of_packages_is_the_tree():
    """A folder that pyproject.toml forgets would work here and be missing from the wheel."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    folders = {f"readiness.{p.parent.relative_to(PACKAGE)}".replace("/", ".") for p in PACKAGE.rglob("__init__.py")}
    folders = {name.removesuffix("..") if name.endswith("..") else name for name in folders}
    wanted = {name.rstrip(".") for name in folders} | {"readiness.checklists", "readiness.sample_trips"}
    assert set(config["packages"]) == wanted


def test_the_top_level_holds_what_was_agreed():
    """README.md DEVELOPERS.md pyproject.toml readiness checklists tests sample_trips, the licence and dotfiles."""
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "readiness",
        "checklists",
        "tests",
        "sample_trips",
    }
    made = {"build", "dist", "readiness.egg-info"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - made
    assert found == agreed


def test_ci_runs_the_test_command_of_the_readme():
    """.ci/run takes the command out of the README, so the two cannot part."""
    marker = '.venv/bin/pip install -q -e ".[test]"'
    assert (ROOT / "README.md").read_text(encoding="utf-8").count(marker) == 1
    assert f"grep -F '{marker}' README.md" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_floors_of_dependencies_are_written_down_with_a_reason():
    """Every run-time dependency stands in DEVELOPERS.md with its floor."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    words = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for requirement in config["project"]["dependencies"]:
        name, floor = requirement.split(">=")
        assert re.search(rf"\| {name} \| {re.escape(floor)} \|", words, re.IGNORECASE), requirement


def test_the_table_of_facts_is_the_programs_own():
    """DEVELOPERS.md lists every fact; `python tests/facts_table.py` writes it anew."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \| (.+?) \| (.+?) \| (.*?) \|$", text, re.MULTILINE)
    listed = importlib.import_module("readiness.rules.facts").FACTS.values()
    assert rows == [(fact.name, fact.kind, fact.about, fact.needs) for fact in listed]
