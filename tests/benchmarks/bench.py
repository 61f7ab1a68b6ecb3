"""Speed as ratios against something real, measured side by side in one run.

    .venv/bin/python tests/benchmarks/bench.py [--rounds 15]

Prints one table with the goal beside each figure and exits with 1 if a goal is missed. Nothing here is a test:
machines are noisy, so each row is the ratio of the fastest of several alternating rounds.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import sysconfig
import tempfile
import time
from datetime import date
from pathlib import Path

from figures import Figure, show

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_trips" / "high-basin.yaml"
SCRIPTS = Path(sysconfig.get_path("scripts"))
IMPORTS = "import click, yaml, jsonschema, tabulate"
PARSE = f"{IMPORTS}; yaml.safe_load(open({str(SAMPLE)!r}, encoding='utf-8'))"

FONTS = ROOT / "readiness" / "render" / "fonts"
PLAIN = (
    "import click, yaml, jsonschema, tabulate, typst; "
    f"yaml.safe_load(open({str(SAMPLE)!r}, encoding='utf-8')); "
    "text = '#set page(width: 76.2mm, height: 127mm, margin: 4mm)\\n#set text(font: \"DejaVu Sans\", size: 10pt)\\n' "
    "+ 'plain words on a page ' * 30; "
    f"typst.Compiler(root={str(FONTS)!r}, font_paths=[{str(FONTS)!r}], ignore_system_fonts=True)"
    ".compile(input=text.encode(), format='pdf')"
)


def environment() -> dict[str, str]:
    """Ours, with compiled bytecode allowed, as on any user's machine."""
    return {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}


def seconds(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment())
    return time.perf_counter() - start


def fastest(commands: dict[str, list[str]], rounds: int) -> dict[str, float]:
    """The fastest of several rounds of each command, in turns so that noise hits all alike."""
    for command in commands.values():
        seconds(command)  # warm the file cache and write the bytecode
    times = {name: [] for name in commands}
    for _ in range(rounds):
        for name, command in commands.items():
            times[name].append(seconds(command))
    return {name: min(values) for name, values in times.items()}


def processes(rounds: int) -> list[Figure]:
    python, ours = sys.executable, str(SCRIPTS / "readiness")
    fixed = [str(SAMPLE), "--date", "2027-08-25"]
    with tempfile.TemporaryDirectory() as folder:
        schema = Path(folder, "trip.schema.json")
        schema.write_bytes(subprocess.run([ours, "schema", "trip"], check=True, capture_output=True).stdout)
        best = fastest(
            {
                "imports and parse": [python, "-c", PARSE],
                "plan": [ours, "plan", *fixed],
                "import click": [python, "-c", "import click"],
                "help": [ours, "--help"],
                "check-jsonschema": [str(SCRIPTS / "check-jsonschema"), "--schemafile", str(schema), str(SAMPLE)],
                "check": [ours, "check", *fixed],
                "imports, parse and a page of plain text": [python, "-c", PLAIN],
                "card": [ours, "card", *fixed, "-o", str(Path(folder, "card.pdf"))],
            },
            rounds,
        )
    for name, value in best.items():
        print(f"  {name}: {1000 * value:.0f} ms")
    return [
        Figure(f"readiness {name} / {base}", best[name] / best[base], most=goal)
        for name, base, goal in (
            ("plan", "imports and parse", 1.3),
            ("help", "import click", 1.3),
            ("check", "check-jsonschema", 0.75),
            ("card", "imports, parse and a page of plain text", 1.3),
        )
    ]


def memory() -> Figure:
    """Peak resident memory of a plan, whole process, against that of the bare imports."""

    def peak(command: list[str]) -> int:
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment())
        _, status, usage = os.wait4(process.pid, 0)
        assert status == 0, command
        return usage.ru_maxrss

    plan = [str(SCRIPTS / "readiness"), "plan", str(SAMPLE), "--date", "2027-08-25"]
    imports = [sys.executable, "-c", IMPORTS]
    ratio = min(peak(plan) for _ in range(3)) / min(peak(imports) for _ in range(3))
    return Figure("peak memory of plan / bare imports", ratio, most=1.3)


def one_flight() -> Figure:
    """100 yd at 1e-6 m: the loosest solve_ivp (DOP853) that is that good, against readiness.flight.fly."""
    from math import hypot

    from scipy.integrate import solve_ivp

    from readiness.flight import fly

    speed, slope, distance, k, g = 85.344, 0.05, 91.44, 0.001449225, 9.80665

    def scipy_height(tolerance: float) -> float:
        def rates(_t: float, s: list[float]) -> list[float]:
            v = hypot(s[2], s[3])
            return [s[2], s[3], -k * v * s[2], -k * v * s[3] - g]

        def reached(_t: float, s: list[float]) -> float:
            return s[0] - distance

        reached.terminal = True
        level = speed / hypot(1.0, slope)
        flight = solve_ivp(
            rates,
            (0, 10),
            [0, 0, level, level * slope],
            method="DOP853",
            rtol=tolerance,
            atol=tolerance,
            events=reached,
        )
        return float(flight.y_events[0][0][1])

    truth = scipy_height(1e-13)
    tolerance = next(t for t in (1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 1e-8) if abs(scipy_height(t) - truth) < 1e-6)
    assert abs(fly(speed, slope, distance, k, g).height_m - truth) < 1e-6

    def best(work: object, calls: int) -> float:
        times = []
        for _ in range(7):
            start = time.perf_counter()
            for _ in range(calls):
                work()
            times.append((time.perf_counter() - start) / calls)
        return min(times)

    theirs = best(lambda: scipy_height(tolerance), 30)
    ours = best(lambda: fly(speed, slope, distance, k, g), 3000)
    print(f"  one flight: solve_ivp {1e6 * theirs:.0f} us at rtol {tolerance:g}, fly {1e6 * ours:.1f} us")
    return Figure("solve_ivp DOP853 / one 100 yd flight at 1e-6 m", theirs / ours, least=50)


def all_pins() -> Figure:
    """Every pin, case and band of the two-camp sample, in process, in milliseconds."""
    from readiness.forecast import forecast
    from readiness.trip.load import load_trip

    trip = load_trip(SAMPLE.read_text(encoding="utf-8"), "sample", date(2027, 8, 25)).trip
    times = []
    for _ in range(20):
        start = time.perf_counter()
        forecast(trip)
        times.append(1000 * (time.perf_counter() - start))
    return Figure("all pins, cases and bands of the two-camp sample", min(times), most=20, unit="ms")


def many_cards(count: int) -> Figure:
    """Pocket cards, front and back, measured together as roster does: 20 archers in turns, each card of another name."""
    from readiness.camp.roster import CHUNK
    from readiness.commands.reading import planned
    from readiness.render.card import card_on_paper, measure_cards, set_card

    text = SAMPLE.read_text(encoding="utf-8")
    plans = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(20):
            file = Path(folder, f"{number}.yaml")
            file.write_text(text.replace("mean_radius: 2.6 in", f"mean_radius: {2.0 + number / 20:.2f} in"), "utf-8")
            plans.append(planned(str(file), date(2027, 8, 25), (), arrows=24)[0])
    start = time.perf_counter()
    for first in range(0, count, CHUNK):
        cards = [
            card_on_paper(plan._replace(trip=plan.trip._replace(hunter_name=f"Client {number}")))
            for number in range(first, min(first + CHUNK, count))
            for plan in (plans[number % 20],)
        ]
        measure_cards(cards)
        for card in cards:
            set_card(card, date(2027, 8, 25))
    each = 1000 * (time.perf_counter() - start) / count
    return Figure(f"one of {count:,} cards in one process", each, most=10, unit="ms")


def handout_size() -> Figure:
    """The handout of the first sample."""
    from readiness.commands.reading import planned
    from readiness.render.handout import handout_html

    plan = planned(str(SAMPLE), date(2027, 8, 25), ())[0]
    return Figure("handout of the first sample", len(handout_html(plan).encode()) / 1000, most=150, unit="kB")


def figures(rounds: int) -> list[Figure]:
    """Everything that this script measures."""
    found = [*processes(rounds), memory(), one_flight(), all_pins(), many_cards(1000), handout_size()]
    print(f"  (this script itself: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB)")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=15)
    return show(figures(parser.parse_args().rounds))


if __name__ == "__main__":
    sys.exit(main())
