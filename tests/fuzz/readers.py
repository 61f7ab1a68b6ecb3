"""Coverage-guided fuzzing of everything that reads a stranger's text: trips, packs, camps, tables of clients, logs.

    pip install atheris && python tests/fuzz/readers.py trip -runs=1000000

The name is one of trip, pack, camp, table, log; what follows goes to libFuzzer. Begins with the samples that ship. A
reader may find as many problems as it likes: it may not raise, and each problem has to print. An input that makes one
raise is left as crash-* in the folder of the call; it becomes a fixture before it is mended.
"""

import sys
import tempfile
from datetime import date
from pathlib import Path

import atheris

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
TODAY = date(2027, 9, 1)

with atheris.instrument_imports(include=["readiness"]):
    from readiness.arrival.log import read_lines
    from readiness.camp.load import load_camp
    from readiness.camp.table import read_table
    from readiness.problems import show
    from readiness.rules.lint import lint_packs
    from readiness.rules.packs import built_in_packs, read_pack
    from readiness.trip.load import load_trip


def _text(data):
    return data.decode("utf-8", "replace")


def _trip(data):
    return load_trip(_text(data), "trip.yaml", TODAY).problems


def _pack(data):
    pack, problems = read_pack(_text(data), "pack.yaml")
    return problems if pack is None else (*problems, *lint_packs([pack]))


def _camp(data):
    return load_camp(_text(data), "camp.yaml", TODAY).problems


def _table(data):
    return read_table(data, "clients.csv").problems


def _log(data):
    return read_lines(data, "trip.log.jsonl").problems


def _seeds(name):
    samples = ROOT / "sample_trips"
    folders = {
        "trip": [*samples.glob("*.yaml"), *(ROOT / "tests" / "bad_trips").glob("*.yaml")],
        "pack": [*(ROOT / "checklists").glob("*.yaml"), *(ROOT / "tests" / "bad_packs").glob("*.yaml")],
        "camp": list(samples.glob("*/camp.yaml")),
    }
    return [path.read_bytes() for path in folders.get(name, [])] or [made.encode() for made in _MADE[name]]


_STAMP = '"id": "000000000001", "time": "2027-09-11T17:05:12+00:00", "version": "0.1.0", "setup": "0123456789abcdef"'
_MADE = {
    "table": [
        "hunter.id,bow.draw_weight,bow.sight.pins\nc01,66 lb,20 yd; 30 yd\n",
        "hunter.id;arrow.mass\r\nx;445 gr\r\n",
    ],
    "log": [
        (
            f'{{"record": "shots", {_STAMP}, "at": "Camp", "distance": "20 yd", "kind": "bare", "unit": "in", '
            '"shots": [{"right": 0.3, "up": -0.4, "arrow": 7}, {"outside": true}]}\n'
        ),
        f'{{"record": "step", {_STAMP}, "at": "Camp", "step": "ARR-010", "value": "pass"}}\n',
        f'{{"record": "undo", {_STAMP}, "at": "Camp", "undoes": "000000000001"}}\n',
    ],
}
READERS = {"trip": _trip, "pack": _pack, "camp": _camp, "table": _table, "log": _log}


def main():
    name = sys.argv[1] if len(sys.argv) > 1 else ""
    if name not in READERS:
        sys.exit(f"name one of {', '.join(READERS)}")
    read = READERS[name]
    if name == "pack":
        built_in_packs()

    def once(data):
        for problem in read(data):
            show(problem)

    corpus = Path(tempfile.mkdtemp(prefix=f"readiness-fuzz-{name}-"))
    for number, seed in enumerate(_seeds(name)):
        (corpus / f"seed-{number}").write_bytes(seed)
    atheris.Setup([sys.argv[0], str(corpus), "-max_len=6000", *sys.argv[2:]], once)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
