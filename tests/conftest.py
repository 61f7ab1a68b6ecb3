"""What tests share: the sample trips at fixed days, plans made from them, the command line in this process, golden files."""

import io
import signal
import sys
from datetime import date
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml
from hypothesis import settings
from made_up import exchanged

from readiness.plan import make_plan
from readiness.rules.packs import built_in_packs, read_pack
from readiness.trip.load import load_trip
from readiness.trip.starter import default_answers, starter_text

# A deadline measures the machine, not the code: a shared one stalls for longer than any example takes.
settings.register_profile("house", deadline=None)
settings.load_profile("house")

# A job in the background of a shell has Ctrl-C ignored, and hands that on to every process that a test starts.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

ROOT = Path(__file__).resolve().parents[1]
collect_ignore = ["fuzz", "pictures"]  # programs that want more than the tests do
SAMPLES = {
    "high-basin": "2027-08-25",
    "river-breaks": "2027-10-25",
    "cold-snap": "2027-12-01",
    "terraces-metric": "2027-09-10",
}

# A trip on which nothing is the matter: mild air, low ground, no hazard, a shop next door. Every name is invented.
INVENTED_DAY = date(2027, 9, 6)
INVENTED = {
    "format": 1,
    "trip": {
        "name": "Marsh week",
        "starts": "2027-10-04",
        "ends": "2027-10-08",
        "travel": "air",
        "target_zone": "8 in",
        "nearest_shop": "0.5 h",
        "hazards": [],
    },
    "home": {"name": "Gravel pit range", "elevation": "500 ft", "temperature": "60 F"},
    "destinations": [{"name": "Marsh hut", "elevation": "700 ft", "temperature": "55 F to 75 F"}],
    "bow": {
        "draw_weight": "65 lb",
        "let_off": "80 %",
        "draw_length": "28 in",
        "peep_height": "4.3 in",
        "sight": {"kind": "fixed pins", "radius": "33 in", "pins": ["20 yd", "30 yd", "40 yd"]},
    },
    "arrow": {"mass": "430 gr", "speed": "270 fps", "shaft_diameter": "0.246 in", "length": "28.5 in"},
    "heads": [
        {"name": "practice point", "kind": "field point", "mass": "100 gr"},
        {"name": "head A", "kind": "fixed blade", "mass": "100 gr", "cutting_width": "1.125 in", "blades": 3},
    ],
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
        return exchanged((ROOT / "sample_trips" / f"{name}.yaml").read_text(encoding="utf-8"), changes)

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


@pytest.fixture(scope="session")
def invented_text():
    """A function: the text of the invented trip; keys given replace its own in their block, None takes one out."""

    def text_of(**blocks):
        data = dict(INVENTED)
        for name, block in blocks.items():
            merged = {**data.get(name, {}), **block} if isinstance(block, dict) else block
            data[name] = {k: v for k, v in merged.items() if v is not None} if isinstance(block, dict) else merged
        kept = {name: block for name, block in data.items() if block is not None}
        return yaml.safe_dump(kept, allow_unicode=True, sort_keys=False)

    return text_of


@pytest.fixture(scope="session")
def invented(invented_text):
    """A function: the invented trip as the program reads it, with keys of its blocks exchanged."""

    def trip_of(**blocks):
        loaded = load_trip(invented_text(**blocks), "trip.yaml", INVENTED_DAY)
        assert loaded.trip is not None, loaded.problems
        return loaded.trip

    return trip_of


@pytest.fixture(scope="session")
def invented_plan(invented):
    """A function: the plan of the invented trip by the built-in packs, with keys of its blocks exchanged."""
    shipped, _ = built_in_packs()

    def plan_of(*, today=INVENTED_DAY, **blocks):
        trip = invented(**blocks)
        plan, problems = make_plan(trip, shipped, today=today, units=trip.units, arrows=12, trip_sha256="0" * 64)
        assert problems == ()
        return plan

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
