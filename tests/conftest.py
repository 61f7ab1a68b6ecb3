"""What tests share: the sample trips at fixed days, plans made from them, the command line in this process, golden files."""

import io
import sys
from datetime import date
from pathlib import Path
from typing import NamedTuple

import pytest

from readiness.plan import make_plan
from readiness.rules.packs import built_in_packs, read_pack
from readiness.trip.load import load_trip
from readiness.trip.starter import default_answers, starter_text

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = {
    "high-basin": "2027-08-25",
    "river-breaks": "2027-10-25",
    "cold-snap": "2027-12-01",
    "terraces-metric": "2027-09-10",
}


def pytest_addoption(parser):
    """The one switch that accepts what the program prints now as right; read it before you keep it."""
    parser.addoption("--update-golden", action="store_true", help="write the golden files anew")


@pytest.fixture(scope="session")
def samples():
    """Sample trip -> the day that stands for today in its tests."""
    return dict(SAMPLES)


@pytest.fixture(scope="session")
def today():
    """The day that stands for today in tests of the first sample."""
    return date.fromisoformat(SAMPLES["high-basin"])


@pytest.fixture(scope="session")
def sample_text():
    """A function: the text of a sample trip, with pieces of it exchanged."""

    def text_of(name="high-basin", *changes):
        text = (ROOT / "sample_trips" / f"{name}.yaml").read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        return text

    return text_of


@pytest.fixture(scope="session")
def starter(today):
    """The text of a trip file that `new --defaults` writes: right in everything, with nothing packed or required."""
    return starter_text(default_answers(today), "trip.yaml")


@pytest.fixture(scope="session")
def without(sample_text):
    """A function: a change that takes a block of lines out of a sample, from its first line to before the next."""

    def change(name, first, following):
        text = sample_text(name)
        start = text.index(first)
        return text[start : text.index(following, start)], ""

    return change


@pytest.fixture(scope="session")
def a_trip(sample_text):
    """A function: a sample trip as the program reads it, with pieces of its text exchanged."""

    def trip_of(name="high-basin", *changes):
        loaded = load_trip(sample_text(name, *changes), "trip.yaml", date.fromisoformat(SAMPLES[name]))
        assert loaded.trip is not None, loaded.problems
        return loaded.trip

    return trip_of


@pytest.fixture(scope="session")
def a_pack():
    """A function: a rule pack from its text, which must be readable without a problem."""

    def pack_of(text, name="made-up.yaml"):
        pack, problems = read_pack(text, name)
        assert problems == ()
        return pack

    return pack_of


@pytest.fixture(scope="session")
def a_plan(a_trip):
    """A function: the plan of a sample trip and its problems; with packs beside the built-in ones, or instead."""
    shipped, problems = built_in_packs()
    assert problems == ()

    def plan_of(name="high-basin", *changes, packs=(), instead=False, units=None, arrows=12):
        trip = a_trip(name, *changes)
        return make_plan(
            trip,
            packs if instead else (*shipped, *packs),
            today=date.fromisoformat(SAMPLES[name]),
            units=units or trip.units,
            arrows=arrows,
            trip_sha256="0" * 64,
        )

    return plan_of


class Ran(NamedTuple):
    """How a command ended: exit code, standard output, standard error."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(monkeypatch, capsys):
    """A function: the `readiness` command in this process, in the project's folder, stdin as given."""
    from readiness import cli

    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.chdir(ROOT)

    def run_command(*words, stdin=""):
        data = stdin if isinstance(stdin, bytes) else stdin.encode()
        monkeypatch.setattr(sys, "argv", ["readiness", *map(str, words)])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))
        capsys.readouterr()
        with pytest.raises(SystemExit) as ending:
            cli.run()
        captured = capsys.readouterr()
        return Ran(ending.value.code, captured.out, captured.err)

    return run_command


@pytest.fixture
def golden(request):
    """A function: the text kept under a name in render/golden; with --update-golden the new text takes its place."""

    def kept(name, new):
        path = ROOT / "tests" / "render" / "golden" / name
        if request.config.getoption("--update-golden"):
            path.parent.mkdir(exist_ok=True)
            path.write_text(new, encoding="utf-8", newline="\n")
        assert path.is_file(), f"no golden file {name}: run pytest --update-golden and read what it writes"
        return path.read_text(encoding="utf-8")

    return kept
