"""readiness roster: every client's papers, one overview, whatever the clients' files hold and however a run ends."""

import csv
import hashlib
import html.parser
import io
import json
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from functools import cache
from html import unescape
from pathlib import Path
from typing import NamedTuple

import pytest
from client_tables import write_table

from readiness.camp import papers

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "sample_trips" / "larkspur-forks"
TEXTS = {path.stem: path.read_text(encoding="utf-8") for path in sorted((SAMPLE / "clients").glob("*.yaml"))}
FIXED = ("--date", "2027-09-04")
BROKEN = [
    ("draw_weight: 64 lb", "draw_weight: 64"),
    ("speed: 268 fps", "speed: 2680 fps"),
    ("bow:\n", "bow: [\n"),
    ("mass: 452 gr", "mass: 452 gr\n  mass: 9 gr"),
    ("format: 1", "format: 2"),
    ("hunter:", "huntress:"),
    ("heads:\n", "heads: &a [*a]\nhead:\n"),
    ("distance: 50 yd, arrows: 12", "distance: 5000 yd, arrows: 12"),
]


def tree(folder):
    """Every file below a folder with the hash of its bytes."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def write_camp(folder, number, broken=(), seed=0):
    """A camp of so many clients of all sorts; those of the given numbers are broken."""
    rng = random.Random(seed)
    (folder / "clients").mkdir(parents=True, exist_ok=True)
    shutil.copy(SAMPLE / "camp.yaml", folder)
    for index in range(number):
        text = rng.choice(list(TEXTS.values()))
        text = re.sub(r"id: lf\d+", f"id: c{index:03}", text)
        text = re.sub(r"elevation: (\d+)", lambda m: f"elevation: {int(m[1]) + rng.randrange(90)}", text, count=1)
        if index in broken:
            old, new = BROKEN[index % len(BROKEN)]
            text = re.sub(r"id: lf\d+", f"id: c{index:03}", TEXTS["asa"])
            assert old in text, old
            text = text.replace(old, new, 1)
        (folder / "clients" / f"client-{index:03}.yaml").write_text(text, encoding="utf-8")
    return folder / "camp.yaml"


class Whole(NamedTuple):
    """A camp, the folder of an undisturbed run, what it printed, and which clients are broken."""

    camp: Path
    out: Path
    overview: dict
    errors: str
    broken: set


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """A function: a camp of so many clients, every seventh of them broken, run once without a disturbance."""

    @cache
    def whole_of(number):
        folder = tmp_path_factory.mktemp(f"camp-{number}")
        broken = range(3, number, 7)
        camp = write_camp(folder, number, broken)
        command = [
            sys.executable,
            "-m",
            "readiness",
            "roster",
            str(camp),
            "-o",
            str(folder / "whole"),
            "--jobs",
            "2",
            *FIXED,
        ]
        done = subprocess.run([*command, "--format", "json"], capture_output=True, text=True, check=False)
        assert done.returncode == 1, done.stderr
        return Whole(camp, folder / "whole", json.loads(done.stdout), done.stderr, set(broken))

    return whole_of


def write_table_camp(folder, texts):
    """A camp whose clients are the rows of a table."""
    import yaml

    rows = write_table([yaml.load(text, yaml.BaseLoader) for text in texts])
    (folder / "clients.csv").write_bytes(b"\xef\xbb\xbf" + rows.replace("\n", "\r\n").encode())
    text = (SAMPLE / "camp.yaml").read_text(encoding="utf-8").replace("clients: clients", "clients: clients.csv")
    (folder / "camp.yaml").write_text(text, encoding="utf-8")
    return folder / "camp.yaml"


def handout_text(folder):
    """What a reader of a handout sees: its text without script, style and markup, white space as one space."""
    page = (folder / "handout.html").read_text(encoding="utf-8")
    seen = re.sub(r"<(script|style)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return " ".join(unescape(re.sub("<[^>]+>", " ", seen)).split())


def test_the_sample_camp_gives_papers_and_an_overview_worst_first(run, tmp_path):
    """Six folders named by id; not ready before cannot tell before ready."""
    done = run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED)
    assert done.code == 1
    statuses = re.findall(r"^(not ready|cannot tell|ready)  ", done.out, re.MULTILINE)
    assert statuses == ["not ready"] * 3 + ["cannot tell"] * 2 + ["ready"]
    assert {path.name for path in (tmp_path / "out").iterdir() if path.is_dir()} == {f"lf0{n}" for n in range(1, 7)}
    packing = (tmp_path / "out" / "lf01" / "packing.txt").read_text(encoding="utf-8")
    assert "Contact: desk at the trailhead barn" in packing
    assert "waders" in packing
    assert "- The pack string leaves the barn at five on the second morning." in packing
    plan = handout_text(tmp_path / "out" / "lf03")
    assert plan.index("2027-09-19 to") < plan.index("From the camp") < plan.index("What the arrows must show")
    assert "CAUTION Larkspur" not in plan
    assert "2027-09-19 to 2027-09-24, by road: Dyke meadow to Barn meadow and Forks spike camp." in plan


def test_a_paper_is_what_the_command_for_one_trip_prints(run, tmp_path, sample_text):
    """A complete trip as the only client of a camp with its places: the pins of its plan are those of `readiness pins`."""
    text = sample_text("terraces-metric")
    (tmp_path / "clients").mkdir()
    (tmp_path / "clients" / "one.yaml").write_text(text, encoding="utf-8")
    places = text[text.index("destinations:") : text.index("bow:")].replace("destinations:", "places:")
    (tmp_path / "camp.yaml").write_text(f"format: 1\ncamp: {{name: Hut}}\n{places}clients: clients\n", encoding="utf-8")
    trip = tmp_path / "trip.yaml"
    trip.write_text(text, encoding="utf-8")
    run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", "--date", "2027-09-10")
    alone = run("plan", trip, "--date", "2027-09-10").out
    answer = re.findall(r"^- (.*?)(?=\n-|\n\n)", alone[alone.index("The answer") :], re.MULTILINE | re.DOTALL)[:2]
    told = handout_text(tmp_path / "out" / "g03")
    assert all(" ".join(sentence.split()) in told for sentence in answer)


def test_a_bad_file_never_stops_the_others_and_is_told_at_its_place(whole):
    """Two hundred rows; the broken ones with file:line:col, all others with papers."""
    _, out, overview, errors, broken = whole(200)
    bad = {row["source"][-8:-5] for row in overview["clients"] if row["status"] == "bad file"}
    assert bad == {f"{number:03}" for number in broken}
    assert len(overview["clients"]) == 200
    for row in overview["clients"]:
        if row["status"] == "bad file":
            assert re.match(r".*client-\d\d\d\.yaml:\d+:\d+: error\[", row["errors"][0])
            assert row["errors"][0] in errors
            assert row["folder"] == ""
        else:
            assert {path.name for path in (out / row["folder"]).iterdir()} == set(papers.PAPERS)
    order = [row["status"] for row in overview["clients"]]
    assert order == sorted(order, key=["bad file", "not ready", "cannot tell", "ready"].index)


def test_papers_do_not_depend_on_how_many_work_at_them(whole, run, tmp_path):
    """One process in this one, two beside it: the same bytes, overview and manifest included."""
    camp, out, *_ = whole(20)
    run("roster", camp, "-o", tmp_path / "one", "--jobs", "1", *FIXED)
    assert tree(tmp_path / "one") == tree(out)


@pytest.mark.parametrize(
    ("number", "how", "after"), [(60, signal.SIGKILL, 4), (200, signal.SIGKILL, 80), (60, signal.SIGINT, 9)]
)
def test_a_run_that_was_cut_off_goes_on_where_it_was_and_gives_the_same_bytes(whole, tmp_path, number, how, after):
    """Killed after some clients, run again: the tree of an undisturbed run; what was done is not done again."""
    camp, out, *_ = whole(number)
    target = tmp_path / "out"
    command = [sys.executable, "-m", "readiness", "roster", str(camp), "-o", str(target), "--jobs", "2", *FIXED]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, start_new_session=True)
    journal = target / "journal.jsonl"
    deadline = time.monotonic() + 60
    while not journal.is_file() or journal.read_bytes().count(b"\n") <= after:
        assert time.monotonic() < deadline
        assert process.poll() is None
        time.sleep(0.005)
    os.kill(process.pid, how)
    errors = process.communicate()[1].decode()
    assert (process.returncode, "Traceback" in errors) == (-how if how == signal.SIGKILL else 130, False)
    assert not (target / "overview.html").exists()
    _all_gone(process.pid)
    before = {path: path.stat().st_mtime_ns for path in target.rglob("card.pdf")}
    done_then = [json.loads(line) for line in journal.read_bytes().splitlines()[1:] if line.endswith(b"}")]
    kept = {entry["folder"] for line in done_then for entry in line.values() if entry["files"]}
    again = subprocess.run(command, capture_output=True, text=True, check=False)
    assert again.returncode == 1, again.stderr
    assert tree(target) == tree(out)
    assert kept
    assert all(path.stat().st_mtime_ns == mtime for path, mtime in before.items() if path.parent.name in kept)


def test_a_second_run_into_the_same_folder_is_refused_and_a_killed_one_leaves_no_lock(run, tmp_path):
    """Two at once would write one overview each over the other's; the lock goes with the process that holds it."""
    words = ["roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED]
    held = (
        "import sys, time; from pathlib import Path; from readiness.camp.ledger import Ledger\n"
        "with Ledger(Path(sys.argv[1])) as ledger:\n"
        "    print(ledger.open(), flush=True); time.sleep(60)\n"
    )
    other = subprocess.Popen([sys.executable, "-c", held, tmp_path / "out"], stdout=subprocess.PIPE)
    assert other.stdout.readline() == b"None\n"
    refused = run(*words)
    assert (refused.code, refused.out) == (2, "")
    assert refused.err.startswith(
        f"{tmp_path / 'out'}: error[busy]: another roster is at work in this folder\n  hint: "
    )
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["roster.lock"]
    other.kill()
    other.communicate()
    assert run(*words).code == 1
    assert run(*words).code == 1  # nor does one that has ended


@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="this system keeps no mask of signals")
@pytest.mark.parametrize("moment_s", [0.05, 0.15, 0.3])
@pytest.mark.parametrize(("name", "code"), [("SIGINT", 130), ("SIGHUP", -1)])
def test_ctrl_c_and_the_end_of_a_terminal_are_answered_by_the_parent_alone(tmp_path, name, code, moment_s):
    """The signal goes to all processes of the group, workers that have hardly begun among them."""
    command = [sys.executable, "-m", "readiness", "roster", str(SAMPLE / "camp.yaml"), "-o", str(tmp_path / "out")]
    process = subprocess.Popen([*command, "--jobs", "2", *FIXED], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                               start_new_session=True)  # fmt: skip
    while not (tmp_path / "out" / "roster.lock").exists():  # Python's own start-up prints what it likes
        assert process.poll() is None
        time.sleep(0.002)
    time.sleep(moment_s)
    os.killpg(process.pid, getattr(signal, name))
    errors = process.communicate()[1].decode()
    assert process.returncode in (code, 1)
    assert "Traceback" not in errors
    _all_gone(process.pid)
    assert list(tmp_path.rglob(".*.part")) == []


def _all_gone(group):
    """Wait until no worker of a killed run is left: they follow their parent."""
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        time.sleep(0.02)
    pytest.fail("workers outlived the run")


def test_only_what_changed_is_made_again(run, tmp_path):
    """A second run writes no paper; one changed client is one folder; a changed camp is all of them."""
    camp = write_camp(tmp_path, 8)
    out = tmp_path / "out"

    def times():
        return {path.parent.name: path.stat().st_mtime_ns for path in sorted(out.rglob("packing.txt"))}

    run("roster", camp, "-o", out, *FIXED)
    first = times()
    run("roster", camp, "-o", out, *FIXED)
    assert times() == first
    client = tmp_path / "clients" / "client-004.yaml"
    client.write_text(client.read_text(encoding="utf-8") + "# mended\n", encoding="utf-8")
    run("roster", camp, "-o", out, *FIXED)
    assert {name for name, when in times().items() if when != first[name]} == {"c004"}
    camp.write_text(camp.read_text(encoding="utf-8").replace("before light", "at four"), encoding="utf-8")
    second = times()
    run("roster", camp, "-o", out, *FIXED)
    assert all(when != second[name] for name, when in times().items())
    run("roster", camp, "-o", out, "--date", "2027-09-05")
    assert "13 days before the start" in handout_text(out / "c000")


def test_a_run_says_what_it_made_kept_and_took_away(run, tmp_path):
    """By folder where they are few, else how many; a client who is gone, or whose file is bad now, loses the papers."""
    camp, out = write_camp(tmp_path, 4), tmp_path / "out"

    def papers(form="text"):
        done = run("roster", camp, "-o", out, *FIXED, "--jobs", "1", "--format", form)
        told = done.err if form == "csv" else done.out
        return next(line for line in told.splitlines() if line.startswith("Made: "))

    assert papers() == "Made: c000, c001, c002, c003. Kept: none. Taken away: none."
    assert papers("csv") == "Made: none. Kept: 4. Taken away: none."
    clients = tmp_path / "clients"
    one, two, three = (clients / f"client-00{number}.yaml" for number in (1, 2, 3))
    one.write_text(one.read_text(encoding="utf-8") + "# mended\n", encoding="utf-8")
    two.write_text("format: 1\n", encoding="utf-8")
    three.unlink()
    assert papers("markdown") == "Made: c001. Kept: 1. Taken away: c002, c003."
    data = json.loads(run("roster", camp, "-o", out, *FIXED, "--format", "json").out)
    assert data["papers"] == {"made": [], "kept": ["c000", "c001"], "taken_away": []}
    page = (out / "overview.html").read_text(encoding="utf-8")
    assert "no papers until this is mended; those of an earlier run were taken away" in page
    write_camp(tmp_path, 12)
    assert papers() == "Made: 11. Kept: 1. Taken away: none."


def test_papers_of_rows_that_moved_are_not_made_again(run, tmp_path):
    """A table sorted another way: its papers stay, what is told of each names its row of today, and one change is one."""
    texts = [TEXTS[name] for name in ("asa", "birte", "corvin", "eskil")]
    camp, out = write_table_camp(tmp_path, texts), tmp_path / "out"

    def times():
        return {path.parent.name: path.stat().st_mtime_ns for path in sorted(out.rglob("packing.txt"))}

    run("roster", camp, "-o", out, *FIXED)
    first = times()
    write_table_camp(tmp_path, [texts[3], texts[1].replace("draw_weight: 43 lb", "draw_weight: 44 lb"), *texts[0::2]])
    done = run("roster", camp, "-o", out, *FIXED, "--format", "json")
    assert {name for name, when in times().items() if when != first[name]} == {"lf02"}
    rows = {row["id"]: row["source"].rsplit(":", 1)[1] for row in json.loads(done.out)["clients"]}
    assert rows == {"lf05": "2", "lf02": "3", "lf01": "4", "lf03": "5"}
    apart = run("roster", camp, "-o", tmp_path / "fresh", *FIXED, "--format", "json")
    left, right = (json.loads(ran.out) for ran in (done, apart))
    assert left.pop("papers") == {"made": ["lf02"], "kept": ["lf01", "lf03", "lf05"], "taken_away": []}
    assert right.pop("papers")["kept"] == []
    assert (left, done.err) == (right, apart.err)
    assert tree(out) == tree(tmp_path / "fresh")


def test_a_paper_that_was_cut_short_is_made_again(run, tmp_path):
    """As after a power cut: the length tells."""
    camp = write_camp(tmp_path, 3)
    run("roster", camp, "-o", tmp_path / "out", *FIXED)
    whole = tree(tmp_path / "out")
    (tmp_path / "out" / "c001" / "packing.txt").write_bytes(b"half")
    (tmp_path / "out" / "c002" / "packing.txt").unlink()
    run("roster", camp, "-o", tmp_path / "out", *FIXED)
    assert tree(tmp_path / "out") == whole


def test_the_folder_is_what_a_first_run_would_have_made(run, tmp_path):
    """Clients who are gone, renamed, or broken now leave no paper behind; a file of the user's own stays."""
    camp = write_camp(tmp_path, 6)
    out = tmp_path / "out"
    run("roster", camp, "-o", out, *FIXED)
    (out / "c003" / "mine.txt").write_text("a note of the outfitter's")
    (tmp_path / "clients" / "client-001.yaml").unlink()
    (tmp_path / "clients" / "client-003.yaml").unlink()
    broken = tmp_path / "clients" / "client-002.yaml"
    broken.write_text(broken.read_text(encoding="utf-8").replace("bow:", "bov:", 1), encoding="utf-8")
    renamed = tmp_path / "clients" / "client-004.yaml"
    renamed.write_text(renamed.read_text(encoding="utf-8").replace("c004", "d004"), encoding="utf-8")
    run("roster", camp, "-o", out, *FIXED)
    assert (out / "c003" / "mine.txt").read_text() == "a note of the outfitter's"
    shutil.rmtree(out / "c003")
    run("roster", camp, "-o", tmp_path / "fresh", *FIXED)
    assert tree(out) == tree(tmp_path / "fresh")
    assert {path.name for path in out.iterdir() if path.is_dir()} == {"c000", "d004", "c005"}


@pytest.mark.parametrize(
    "damage", [b"", b"{", b"[]\n5\n", b'{"x": {"folder": "../../y", "files": {"a": 1}}}\n', b"\xff\n"]
)
def test_a_damaged_manifest_costs_time_and_nothing_else(run, tmp_path, damage):
    """It is text in a folder, and may hold anything."""
    camp = write_camp(tmp_path, 2)
    run("roster", camp, "-o", tmp_path / "out", *FIXED)
    whole = tree(tmp_path / "out")
    (tmp_path / "out" / "manifest.jsonl").write_bytes(damage)
    done = run("roster", camp, "-o", tmp_path / "out", *FIXED)
    assert done.code == 1
    assert tree(tmp_path / "out") == whole


HOSTILE = [
    "../../x",
    "/etc/x",
    "..",
    "CON",
    "nul.txt",
    "a\\b",
    "x" * 60,
    "c1.",
    "=cmd",
    "manifest.jsonl",
    "-rf",
    "  .  ",
]


def test_hostile_names_stay_inside_and_all_survive(run, tmp_path):
    """Every folder is a child of the output folder; two clients of one name have a folder each."""
    (tmp_path / "camp" / "clients").mkdir(parents=True)
    shutil.copy(SAMPLE / "camp.yaml", tmp_path / "camp")
    names = [*HOSTILE, "same", "SAME"]
    for index, name in enumerate(names):
        text = TEXTS["eskil"].replace("id: lf05", f"id: {json.dumps(name)}")
        (tmp_path / "camp" / "clients" / f"k{index}.yaml").write_text(text, encoding="utf-8")
    out = tmp_path / "camp" / "out"
    done = run("roster", tmp_path / "camp" / "camp.yaml", "-o", out, *FIXED, "--format", "json")
    rows = json.loads(done.out)["clients"]
    folders = {row["folder"] for row in rows}
    assert len(folders) == len(names)
    assert all((out / folder / "card.pdf").is_file() for folder in folders)
    assert {"k12", "k13"} <= folders
    assert {path.name for path in tmp_path.iterdir()} == {"camp"}
    assert {path.name for path in (tmp_path / "camp").iterdir()} == {"camp.yaml", "clients", "out"}
    assert "repeated-id" in done.err


class _Tags(html.parser.HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.texts, self.links = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for name, value in attrs if name in ("href", "src")]
        assert not [name for name, _ in attrs if name.startswith("on") or name == "style"]

    def handle_data(self, data):
        self.texts.append(data)


def test_no_text_of_a_client_becomes_markup_or_a_formula(run, tmp_path):
    """Names as tags in HTML, as formulas in CSV, as control characters in text."""
    names = [
        "<script>alert(1)</script>",
        '"><img src=x onerror=y>',
        "=HYPERLINK(1)",
        "+1",
        "-1",
        "@x",
        "a\x1b[31mb",
        "&lt;",
    ]
    (tmp_path / "clients").mkdir()
    shutil.copy(SAMPLE / "camp.yaml", tmp_path)
    for index, name in enumerate(names):
        text = (
            TEXTS["eskil"].replace("name: Eskil Upper Mill", f"name: {json.dumps(name)}").replace("lf05", f"k{index}")
        )
        (tmp_path / "clients" / f"k{index}.yaml").write_text(text, encoding="utf-8")
    done = run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", *FIXED)
    assert "\x1b" not in done.out
    page = _Tags()
    page.feed((tmp_path / "out" / "overview.html").read_text(encoding="utf-8"))
    assert not {"script", "img", "iframe", "link"} & set(page.tags)
    assert set(page.links) == {f"k{index}/" for index in range(len(names))}
    assert {names[0], names[1], names[7]} <= set(page.texts)
    text = (tmp_path / "out" / "overview.csv").read_text(encoding="utf-8")
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
    assert {"'=HYPERLINK(1)", "'+1", "'-1", "'@x"} <= set(cells)
    assert run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--format", "csv").out == text


def test_a_markdown_overview_keeps_names_as_text(run, tmp_path):
    """The same page as Markdown."""
    done = run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--format", "markdown")
    assert done.out.startswith("# Larkspur Forks camp: 6 clients")
    assert "| Asa of the Ferry | lf01 |" in re.sub(" +", " ", done.out)


def test_a_table_of_clients_gives_the_papers_of_their_files(run, tmp_path):
    """The sample's clients as a spreadsheet: the same plans but for the fingerprint of the file."""
    write_table_camp(tmp_path, TEXTS.values())
    run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "files", *FIXED)
    run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "table", *FIXED)
    folders = sorted(path for path in (tmp_path / "files").iterdir() if path.is_dir())
    assert len(folders) == len(TEXTS)
    for folder in folders:
        twin = tmp_path / "table" / folder.name
        assert (folder / "packing.txt").read_bytes() == (twin / "packing.txt").read_bytes()
        left, right = (re.sub(r"\b[0-9a-f]{12,64}\b", "#", handout_text(of)) for of in (folder, twin))
        assert left == right


def test_all_ready_ends_with_0(run, tmp_path):
    """A camp of one ready client."""
    (tmp_path / "clients").mkdir()
    shutil.copy(SAMPLE / "camp.yaml", tmp_path)
    (tmp_path / "clients" / "asa.yaml").write_text(TEXTS["asa"], encoding="utf-8")
    assert run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", *FIXED).code == 0


def test_a_bad_camp_file_ends_with_2_and_makes_nothing(run, tmp_path):
    """Every mistake of the camp file at its place, and no folder."""
    text = (SAMPLE / "camp.yaml").read_text(encoding="utf-8").replace("elevation: 7450 ft", "elevation: 7450")
    (tmp_path / "camp.yaml").write_text(text, encoding="utf-8")
    done = run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", *FIXED)
    assert (done.code, done.out) == (2, "")
    assert re.search(r"camp\.yaml:\d+:\d+: error\[bare-number\]", done.err)
    assert not (tmp_path / "out").exists()


def test_a_folder_with_other_files_is_not_written_into(run, tmp_path):
    """A slip with -o must not mix papers into someone's documents."""
    (tmp_path / "letter.txt").write_text("dear")
    done = run("roster", SAMPLE / "camp.yaml", "-o", tmp_path, *FIXED)
    assert done.code == 2
    assert "no roster made" in done.err
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def test_a_folder_that_cannot_be_made_is_told(run, tmp_path):
    """A file stands in the way."""
    (tmp_path / "out").write_text("")
    done = run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out" / "deeper", *FIXED)
    assert done.code == 2
    assert "cannot be written" in done.err


def test_a_pack_of_the_users_own_speaks_on_every_plan(run, tmp_path):
    """--checklists, as for one trip."""
    pack = re.search(r"```yaml\n(pack: river-camp.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)[
        1
    ]
    (tmp_path / "packs").mkdir()
    (tmp_path / "packs" / "river.yaml").write_text(pack, encoding="utf-8")
    run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--checklists", tmp_path / "packs")
    assert "RIV-010" in handout_text(tmp_path / "out" / "lf01")
    (tmp_path / "packs" / "river.yaml").write_text(pack.replace("stage: arrival", "stage: never"), encoding="utf-8")
    assert (
        run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "o2", *FIXED, "--checklists", tmp_path / "packs").code == 2
    )


def test_our_own_fault_with_one_client_is_told_and_the_others_go_on(run, tmp_path, monkeypatch):
    """A paper that fails for one client."""
    from readiness.camp import papers

    def fragile(data):
        if data.plan.trip.hunter_id == "lf03":
            raise RuntimeError("ink")
        return b"fine"

    monkeypatch.setitem(papers.PAPERS, "packing.txt", fragile)
    done = run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--jobs", "1", "--format", "json")
    rows = {row["id"]: row for row in json.loads(done.out)["clients"]}
    assert "RuntimeError: ink" in rows["lf03"]["errors"][0]
    assert not (tmp_path / "out" / "lf03").exists()
    assert (tmp_path / "out" / "lf04" / "packing.txt").read_bytes() == b"fine"


def test_a_terminal_sees_a_bar_with_the_time_left(tmp_path):
    """On a pseudo-terminal, standard error moves; on a pipe it stays quiet."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    command = [
        sys.executable,
        "-m",
        "readiness",
        "roster",
        str(SAMPLE / "camp.yaml"),
        "-o",
        str(tmp_path / "out"),
        *FIXED,
    ]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=theirs)
    os.close(theirs)
    seen = b""
    try:
        while chunk := os.read(ours, 4096):
            seen += chunk
    except OSError:  # the other end is closed
        pass
    process.wait()
    os.close(ours)
    assert b"Papers" in seen
    assert b"6/6" in seen
    quiet = subprocess.run([*command[:-4], "-o", str(tmp_path / "two"), *FIXED], capture_output=True, check=False)
    assert b"Papers" not in quiet.stderr


def _returned(folder, name, **values):
    """A return form of a client of the sample camp as the handout saves it, in an inbox."""
    from datetime import date

    from readiness.arrival.log import setup_hash
    from readiness.camp.load import load_camp
    from readiness.camp.merge import load_client
    from readiness.documents import read_document

    day = date(2027, 9, 4)
    camp = load_camp((SAMPLE / "camp.yaml").read_text(encoding="utf-8"), "camp.yaml", day).camp
    trip = load_client(read_document(TEXTS[name], name)[0], camp.document, (), day).trip
    form = {
        "record": "form",
        "id": hashlib.sha256(f"{name} {values}".encode()).hexdigest()[:12],
        "time": "2027-09-02T18:00:00-06:00",
        "version": "0.1.0",
        "setup": setup_hash(trip),
        "at": trip.destinations[0].name,
        "client": trip.hunter_id,
        "values": values,
    }
    folder.mkdir(exist_ok=True)
    path = folder / f"{name} {len(list(folder.iterdir()))}.jsonl"
    path.write_text(json.dumps(form) + "\n", encoding="utf-8")
    return trip.hunter_id


def test_what_came_back_stands_in_the_overview_and_again_makes_nothing(run, tmp_path):
    """Collected once, the form shows in every overview; only its client is made again, and only once."""
    shutil.copytree(SAMPLE, tmp_path / "camp")
    inbox, out = tmp_path / "inbox", tmp_path / "out"
    words = ("roster", tmp_path / "camp" / "camp.yaml", "-o", out, *FIXED, "--jobs", "1", "--format", "json")
    run(*words)
    stamps = {path: path.stat().st_mtime_ns for path in out.glob("*/*")}
    number = _returned(inbox, "asa", verified_distance="40 yd", draw_weight="60 lb", second_release="no")
    done = run(*words, "--collect", inbox)
    data = json.loads(done.out)
    assert data["collected"]["files"] == [{"file": "asa 0.jsonl", "client": number, "new": 1, "known": 0}]
    assert "cannot be told" in data["collected"]["note"]
    row = next(row for row in data["clients"] if row["id"] == number)
    assert (row["returned"], row["verified"], len(row["calls"])) == ("2027-09-02", "40 yd", 3)
    made = {path.parent.name for path, stamp in stamps.items() if path.stat().st_mtime_ns != stamp}
    assert made == {row["folder"]}
    before = {path: path.stat().st_mtime_ns for path in out.glob("*/*")}
    manifest, files = (out / "manifest.jsonl").stat().st_mtime_ns, tree(out)
    again = json.loads(run(*words, "--collect", inbox).out)
    assert again["collected"]["files"][0]["known"] == 1
    assert again["clients"] == data["clients"]
    assert {path: path.stat().st_mtime_ns for path in out.glob("*/*")} == before
    assert (out / "manifest.jsonl").stat().st_mtime_ns == manifest
    run("roster", tmp_path / "camp" / "camp.yaml", "-o", tmp_path / "fresh", *FIXED)
    assert tree(tmp_path / "fresh") == files
    page = (out / "overview.html").read_text(encoding="utf-8")
    assert "2027-09-02: 40 yd" in page
    assert "Worth a call: no second release" in page


def test_all_that_a_form_says_is_shown(run, tmp_path):
    """Heads, groups and the technician's day, too: folded in HTML, in a column of CSV, by key in JSON."""
    shutil.copytree(SAMPLE, tmp_path / "camp")
    inbox, camp, out = tmp_path / "inbox", tmp_path / "camp" / "camp.yaml", tmp_path / "out"
    group = {"arrows": 6, "size": "3.5 in", "distance": "20 yd"}
    values = {"near_group": group, "heads": "two blades: 125 gr; <i>", "technician_checked_on": "2027-08-14"}
    number = _returned(inbox, "asa", **values)
    words = ("roster", camp, "-o", out, *FIXED, "--collect", inbox, "--format")
    rows = {row["id"]: row for row in json.loads(run(*words, "json").out)["clients"]}
    flat = {f"near_group.{key}": str(value) for key, value in group.items()}
    assert rows[number]["form"] == {**flat, "heads": values["heads"], "technician_checked_on": "2027-08-14"}
    assert {row["id"]: row["form"] for row in rows.values() if row["id"] != number and row["form"]} == {}
    told = next(row for row in csv.DictReader(io.StringIO(run(*words, "csv").out)) if row["id"] == number)["form"]
    page = (out / "overview.html").read_text(encoding="utf-8")
    (folded,) = re.findall(r"<details><summary>all of the return form of 2027-09-02</summary>.*?</details>", page)
    shown = unescape(re.sub("</?(ul|details|summary)>", "", folded))
    for said in ("near group, arrows: 6", "near group, size: 3.5 in", "technician checked on: 2027-08-14"):
        assert said in told
        assert f"<li>{said}</li>" in folded
    assert "heads: two blades: 125 gr; <i>" in told
    assert "heads: two blades: 125 gr; <i>" in shown
    assert "<i>" not in folded


def test_a_refused_file_is_told_with_its_line_and_ends_with_1(run, tmp_path):
    """In every format, with what nobody can find out; the sound file beside it is taken. Nothing in the inbox changes."""
    shutil.copytree(SAMPLE, tmp_path / "camp")
    inbox = tmp_path / "inbox"
    _returned(inbox, "asa", draw_weight="660 lb")
    number = _returned(inbox, "birte", draw_weight="43 lb")
    before = tree(inbox)
    words = ("roster", tmp_path / "camp" / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--collect", inbox)
    for form in ("text", "markdown", "csv"):
        done = run(*words, "--format", form)
        assert done.code == 1
        assert re.search(r"asa 0\.jsonl:1:\d+: error\[out-of-range\]", done.err)
        told = " ".join((done.err if form == "csv" else done.out).split())
        assert "1 file taken in, 1 refused" in told
        assert "made a file up on purpose cannot be told" in told
        assert number in told
    assert len(list(csv.DictReader(io.StringIO(done.out)))) == len(TEXTS)
    assert tree(inbox) == before
    assert [path.name for path in (tmp_path / "camp" / "clients").glob("*.jsonl")] == ["birte.log.jsonl"]


def test_a_file_from_the_inbox_alone_decides_the_exit_code(run, tmp_path):
    """All clients ready ends with 0; one refused file more, and it is 1; an inbox that is not there is 2."""
    (tmp_path / "camp" / "clients").mkdir(parents=True)
    shutil.copy(SAMPLE / "camp.yaml", tmp_path / "camp")
    (tmp_path / "camp" / "clients" / "asa.yaml").write_text(TEXTS["asa"], encoding="utf-8")
    words = ("roster", tmp_path / "camp" / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--collect", tmp_path / "inbox")
    assert run(*words).code == 2
    (tmp_path / "inbox").mkdir()
    assert run(*words).code == 0
    (tmp_path / "inbox" / "who.jsonl").write_text("{}\n", encoding="utf-8")
    assert run(*words).code == 1


def _formats(run, camp, out, *more):
    """What each format of the overview says, as text with its white space folded."""
    import pypdf

    told = {form: run("roster", camp, "-o", out, *FIXED, *more, "--format", form).out for form in ("text", "csv")}
    told["html"] = html.unescape(re.sub("<[^>]*>", "", (out / "overview.html").read_text(encoding="utf-8")))
    told["pdf"] = "".join(page.extract_text() for page in pypdf.PdfReader(out / "overview.pdf").pages)
    return {form: " ".join(text.replace("\u200b", "").split()) for form, text in told.items()}


def test_a_form_of_another_set_up_is_not_shown_as_verified_in_any_format(run, tmp_path):
    """The client changed the bow after sending it: the distance stands there with what it was shot with."""
    shutil.copytree(SAMPLE, tmp_path / "camp")
    inbox, camp, out = tmp_path / "inbox", tmp_path / "camp" / "camp.yaml", tmp_path / "out"
    _returned(inbox, "asa", verified_distance="40 yd")
    run("roster", camp, "-o", out, *FIXED, "--collect", inbox)
    client = tmp_path / "camp" / "clients" / "asa.yaml"
    client.write_text(TEXTS["asa"].replace("draw_weight: 64 lb", "draw_weight: 64.5 lb"), encoding="utf-8")
    told = _formats(run, camp, out)
    for form in ("text", "html", "pdf"):
        assert "40 yd, but with another set-up" in told[form].replace("another set- up", "another set-up"), form
    table = csv.DictReader(io.StringIO((out / "overview.csv").read_text(encoding="utf-8")))
    (row,) = [row for row in table if row["id"] == "lf01"]
    assert (row["verified"], row["verified_otherwise"]) == ("", "40 yd")
    assert "another set-up" in row["calls"]


def test_what_to_type_and_who_it_is_stand_in_every_format(run, tmp_path):
    """A bad file's hint, and the folder or id beside a name that no font can show."""
    shutil.copytree(SAMPLE, tmp_path / "camp")
    clients, out = tmp_path / "camp" / "clients", tmp_path / "out"
    bad = TEXTS["asa"].replace("draw_weight: 64 lb", "draw_weight: 64").replace("Asa of the Ferry", "\u9ad8\u5c71")
    (clients / "asa.yaml").write_text(bad, encoding="utf-8")
    (clients / "birte.yaml").write_text(TEXTS["birte"].replace("Birte Nine Pines", "\u5c71\u9ad8"), encoding="utf-8")
    told = _formats(run, tmp_path / "camp" / "camp.yaml", out)
    for form, text in told.items():
        assert "write 64 lb" in text, form
        assert "lf01" in text, form
        assert "lf02" in text, form
    assert "\u5c71\u9ad8 (lf02): not ready" in told["text"]
    table = csv.DictReader(io.StringIO((out / "overview.csv").read_text(encoding="utf-8")))
    (row,) = [row for row in table if row["id"] == "lf01"]
    assert row["hints"].startswith("write 64 lb")


def test_the_text_is_short_and_the_other_formats_are_whole(run, tmp_path):
    """Birte lacks over thirty things: three of them and how many more; all of them in HTML, CSV and JSON."""
    done = run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--format", "json")
    row = next(row for row in json.loads(done.out)["clients"] if row["id"] == "lf02")
    gear = row["unpacked"]
    assert len(gear) > 30
    text = " ".join(run("roster", SAMPLE / "camp.yaml", "-o", tmp_path / "out", *FIXED).out.split())
    assert all(f"- {entry} " in text for entry in gear[:3])
    assert f"and {len(gear) - 3} more things missing or in a wrong bag; overview.html and overview.csv have" in text
    assert gear[3] not in text
    for name in ("overview.html", "overview.csv"):
        whole = (tmp_path / "out" / name).read_text(encoding="utf-8")
        assert all(entry in whole for entry in gear)


@pytest.mark.parametrize(
    ("mark", "delimiter"), [(b"\xef\xbb\xbf", ";"), (b"", ";"), (b"\xef\xbb\xbf", ","), (b"", "\t")], ids=str
)
def test_the_table_of_the_overview_is_written_as_that_of_the_clients(run, tmp_path, mark, delimiter):
    """So that the spreadsheet that wrote the one opens the other; formulas stay text all the same."""
    import yaml

    clients = [yaml.load(text, yaml.BaseLoader) for text in TEXTS.values()]
    clients[0]["hunter"]["name"] = "=1;2,3\t4"
    rows = list(csv.reader(io.StringIO(write_table(clients))))
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    (tmp_path / "clients.csv").write_bytes(mark + out.getvalue().encode())
    text = (SAMPLE / "camp.yaml").read_text(encoding="utf-8").replace("clients: clients", "clients: clients.csv")
    (tmp_path / "camp.yaml").write_text(text, encoding="utf-8")
    run("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", *FIXED)
    data = (tmp_path / "out" / "overview.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf") == bool(mark)
    table = list(csv.reader(io.StringIO(data.decode("utf-8-sig")), delimiter=delimiter))
    assert table[0][:3] == ["status", "client", "id"]
    assert {len(row) for row in table} == {len(table[0])}
    assert "'=1;2,3 4" in [row[1] for row in table]


def test_a_file_of_the_inbox_that_was_not_read_is_named_in_every_format(run, tmp_path):
    """It may be a log that a phone gave another ending; it is no mistake, so the exit code stays that of the camp."""
    (tmp_path / "camp" / "clients").mkdir(parents=True)
    shutil.copy(SAMPLE / "camp.yaml", tmp_path / "camp")
    (tmp_path / "camp" / "clients" / "asa.yaml").write_text(TEXTS["asa"], encoding="utf-8")
    inbox = tmp_path / "inbox"
    _returned(inbox, "asa", verified_distance="50 yd")
    for index in range(8):
        (inbox / f"form {index}.jsonl.txt").write_text("", encoding="utf-8")
    words = ("roster", tmp_path / "camp" / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--collect", inbox)
    for form in ("text", "markdown", "csv"):
        done = run(*words, "--format", form)
        told = " ".join((done.err if form == "csv" else done.out).split())
        assert "8 more were in the inbox and not read: form 0.jsonl.txt, form 1.jsonl.txt" in told
        assert "and 2 more." in told
        assert done.code == 0
    assert len(json.loads(run(*words, "--format", "json").out)["collected"]["not_read"]) == 8


def test_a_collected_log_that_counts_no_more_because_ids_clash_is_told(run, tmp_path):
    """It was taken in when the id was one client's; then a slip in another row gave it to two."""
    import yaml

    table = tmp_path / "clients.csv"
    table.write_text(write_table([yaml.load(text, yaml.BaseLoader) for text in TEXTS.values()]), encoding="utf-8")
    text = (SAMPLE / "camp.yaml").read_text(encoding="utf-8").replace("clients: clients", "clients: clients.csv")
    (tmp_path / "camp.yaml").write_text(text, encoding="utf-8")
    inbox, words = tmp_path / "inbox", ("roster", tmp_path / "camp.yaml", "-o", tmp_path / "out", *FIXED)
    number = _returned(inbox, "asa", verified_distance="40 yd")
    assert "shared-log" not in run(*words, "--collect", inbox).err
    table.write_text(table.read_text(encoding="utf-8").replace("lf06", number), encoding="utf-8")
    done = run(*words, "--format", "json")
    assert not any(row["returned"] for row in json.loads(done.out)["clients"])
    assert re.search(rf"clients\.{number}\.log\.jsonl: warning\[shared-log\]: this log is not read", done.err)


def test_no_text_of_a_returned_form_becomes_markup_or_a_formula(run, tmp_path):
    """A log that someone wrote into by hand, and the names of files in an inbox."""
    shutil.copytree(SAMPLE, tmp_path / "camp")
    inbox = tmp_path / "inbox"
    _returned(inbox, "asa", verified_distance="40 yd", heads="=1+1<script>alert(1)</script>")
    (inbox / "=<b>x.jsonl").write_text('{"record": "<b>"}\n', encoding="utf-8")
    done = run(
        "roster", tmp_path / "camp" / "camp.yaml", "-o", tmp_path / "out", *FIXED, "--collect", inbox, "--format", "csv"
    )
    assert "<script" not in (tmp_path / "out" / "overview.html").read_text(encoding="utf-8")
    assert not [cell for row in csv.reader(io.StringIO(done.out)) for cell in row if cell[:1] in "=+@" and cell]
