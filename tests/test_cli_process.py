"""The command line as a process of its own: streams, signals, terminals, hash seeds, start-up imports."""

import json
import os
import signal
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
READINESS = str(Path(sysconfig.get_path("scripts")) / "readiness")
PLAN = ["plan", "sample_trips/high-basin.yaml", "--date", "2027-08-25"]
HEAVY = ["jsonschema", "tabulate", "yaml", "importlib.metadata"]


def start(*words, command=(READINESS,), **environment):
    """One process in the project's folder, without the caller's own wish for colours."""
    kept = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    return subprocess.run(
        [*command, *words], cwd=ROOT, env=kept | environment, capture_output=True, stdin=subprocess.DEVNULL, check=False
    )


@pytest.fixture(scope="module")
def plan_bytes():
    """The plan of the first sample as the console script prints it."""
    done = start(*PLAN, PYTHONHASHSEED="0")
    assert (done.returncode, done.stderr) == (0, b"")
    return done.stdout


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["pins", *PLAN[1:]], 0),
        (["check", "tests/bad_trips/arrow-too-light.yaml", "--date", "2027-08-25"], 1),
        (["plan", "no-such-file.yaml"], 2),
        (["plan", "--no-such-option"], 2),
        (["lint", "tests/bad_packs/craft.yaml"], 2),
    ],
)
def test_the_exit_code_of_the_process_is_the_commands(words, code):
    """The console script hands the code on, and ends without a traceback."""
    done = start(*words)
    assert done.returncode == code, done.stderr
    assert b"Traceback" not in done.stderr


def test_a_day_makes_the_plan_the_same_byte_for_byte(plan_bytes):
    """Whatever the order of hashes; an earlier day changes the page."""
    assert start(*PLAN, PYTHONHASHSEED="1").stdout == plan_bytes
    assert start(*PLAN[:-1], "2027-08-24").stdout != plan_bytes


def test_a_day_makes_the_json_the_same_byte_for_byte():
    """JSON and problems too."""
    one, other = (start(*PLAN, "--format", "json", PYTHONHASHSEED=seed).stdout for seed in ("0", "1"))
    assert one == other
    assert json.loads(one)["trip"] == "High basin, late season"


def test_the_module_form_is_the_same_command(plan_bytes):
    """`python -m readiness` prints the same bytes."""
    done = start(*PLAN, command=(sys.executable, "-m", "readiness"))
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout == plan_bytes


def test_a_pipe_gets_no_escape_codes(plan_bytes):
    """Standard output that is no terminal is plain, and so are problems on standard error."""
    assert b"\x1b" not in plan_bytes
    assert b"\x1b" not in start("plan", "no-such-file.yaml").stderr


def on_a_terminal(*words, **environment):
    """What a command writes to a terminal of its own, as bytes."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    kept = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    process = subprocess.Popen(
        [READINESS, *words], cwd=ROOT, env=kept | environment, stdout=theirs, stderr=theirs, stdin=subprocess.DEVNULL
    )
    os.close(theirs)
    written = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # the end of a terminal on Linux
            break
        if not piece:
            break
        written += piece
    os.close(ours)
    assert process.wait(timeout=30) == 0
    return written.replace(b"\r\n", b"\n")


def test_a_terminal_gets_bold_headings_unless_no_color_is_set(plan_bytes):
    """Bold is all there is; with NO_COLOR the terminal gets the very bytes of the pipe."""
    coloured = on_a_terminal(*PLAN, TERM="xterm")
    assert b"\x1b[1mThe answer\x1b[0m" in coloured
    assert b"\x1b[1mSTOP\x1b[0m Limbs and pockets" in coloured
    assert coloured.replace(b"\x1b[1m", b"").replace(b"\x1b[0m", b"") == plan_bytes
    assert on_a_terminal(*PLAN, TERM="xterm", NO_COLOR="1") == plan_bytes


def test_a_reader_that_leaves_early_gets_no_traceback():
    """`| head -1`: one line arrives, and nothing is said."""
    command = f"{READINESS} plan sample_trips/high-basin.yaml --all --date 2027-08-25 | head -1"
    done = subprocess.run(["bash", "-c", command], cwd=ROOT, capture_output=True, check=False)
    assert (done.stdout, done.stderr) == (b"High basin, late season\n", b"")


def closed_pipe(*words):
    """A command whose standard output nobody reads any more."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        return subprocess.run([READINESS, *words], cwd=ROOT, stdout=writer, stderr=subprocess.PIPE, check=False)
    finally:
        os.close(writer)


def test_a_reader_that_is_gone_gets_no_traceback():
    """A closed pipe is no fault of ours and none of the user's: nothing is said."""
    assert closed_pipe(*PLAN).stderr == b""


def test_a_reader_that_is_gone_does_not_make_the_trip_unready():
    """The code stays that of the command: done."""
    assert closed_pipe(*PLAN).returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_a_full_disk_is_told_as_what_it_is():
    """The output could not be written: that is no fault of the program, and the code is not 0."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run([READINESS, *PLAN], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode != 0
    assert b"could not be written" in done.stderr
    assert b"our fault" not in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_control_c_at_a_question_ends_with_130(tmp_path):
    """The interrupted process says so, and leaves no file behind."""
    process = subprocess.Popen(
        [READINESS, "new", str(tmp_path / "trip.yaml")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    asked = b""
    while b"call this trip" not in asked:
        asked += os.read(process.stderr.fileno(), 4096)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out) == (130, b"")
    assert b"Interrupted" in err
    assert b"Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_shell_completion_is_offered():
    """The shell's script comes out, and `pl` is completed to plan."""
    script = start(_READINESS_COMPLETE="bash_source")
    assert script.returncode == 0
    assert b"complete" in script.stdout
    assert b"_READINESS_COMPLETE" in script.stdout
    done = start(_READINESS_COMPLETE="bash_complete", COMP_WORDS="readiness pl", COMP_CWORD="1")
    assert done.stdout.split() == [b"plain,plan"]


def test_importing_the_command_line_imports_nothing_heavy():
    """What only some commands need is imported by them."""
    code = "import readiness.cli, sys; print([name for name in sys.argv[1:] if name in sys.modules])"
    done = start("-c", code, *HEAVY, command=(sys.executable,))
    assert (done.stdout.strip(), done.stderr) == (b"[]", b"")


def test_a_letter_that_the_terminal_cannot_write_is_an_escape_and_no_crash(tmp_path, sample_text):
    """An old terminal gets what it has, and backslashes for the rest."""
    trip = tmp_path / "trip.yaml"
    trip.write_text(sample_text("high-basin", ("High basin, late season", "Hochtal \u2192 spät")), encoding="utf-8")
    done = start("pins", str(trip), *PLAN[2:], PYTHONIOENCODING="iso8859-1")
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(b"Hochtal \\u2192 sp\xe4t: pin shift\n")


def in_shell(redirected, *words, folder=ROOT):
    """A command with its streams redirected by a shell."""
    command = ["bash", "-c", f'exec "$@" {redirected}', "bash", READINESS, *map(str, words)]
    return subprocess.run(command, cwd=folder, capture_output=True, stdin=subprocess.DEVNULL, check=False)


def test_a_product_on_a_closed_standard_output_is_told():
    """Nobody can have it: that is bad usage, and no fault of the program."""
    done = in_shell(">&-", *PLAN)
    assert (done.returncode, done.stderr) == (2, b"The output could not be written: standard output is closed\n")


@pytest.mark.parametrize("redirected", [">&-", "> /dev/full"])
def test_a_file_that_was_written_is_said_on_standard_error_where_standard_output_is_of_no_use(tmp_path, redirected):
    """It is there, so the command is done; to type it again would be of no use."""
    done = in_shell(redirected, "calendar", *PLAN[1:], "-o", tmp_path / "trip.ics")
    assert (done.returncode, done.stderr) == (0, f"Wrote {tmp_path / 'trip.ics'}.\n".encode())
    assert (tmp_path / "trip.ics").read_bytes().endswith(b"END:VCALENDAR\r\n")


def test_a_logged_record_is_acknowledged_on_standard_error_where_standard_output_is_full(tmp_path):
    """Else it would be typed again, and count twice."""
    trip = tmp_path / "trip.yaml"
    trip.write_bytes((ROOT / "sample_trips" / "high-basin.yaml").read_bytes())
    done = in_shell("> /dev/full", "log", trip, "--at", "Trailhead camp", "--changed", "peep", *PLAN[2:])
    assert (done.returncode, b"peep" in done.stderr) == (0, True)
    assert (tmp_path / "trip.log.jsonl").read_bytes().count(b"\n") == 1


def test_a_file_never_becomes_standard_output_that_was_closed(tmp_path):
    """With all three streams closed, the file opened next would have their numbers."""
    done = in_shell("<&- >&- 2>&-", "calendar", *PLAN[1:], "-o", tmp_path / "trip.ics")
    assert done.returncode == 0
    assert (tmp_path / "trip.ics").read_bytes().endswith(b"END:VCALENDAR\r\n")


@pytest.mark.parametrize(
    ("words", "code"), [(("plan", "-"), 2), (("new", "-"), 130), (("log", "sample_trips/high-basin.yaml"), 130)]
)
def test_a_closed_standard_input_is_an_empty_one(words, code):
    """A trip that is empty is told; questions that nobody answers are broken off."""
    done = in_shell("<&-", *words)
    assert (done.returncode, done.stdout) == (code, b"")
    assert b"our fault" not in done.stderr


def test_a_reader_that_is_gone_does_not_make_an_unready_trip_ready():
    """The code stays that of the command here, too: not ready."""
    process = closed_pipe("check", "tests/bad_trips/arrow-too-light.yaml", "--date", "2027-08-25")
    assert process.returncode == 1


def test_ctrl_c_while_it_still_imports_ends_with_130():
    """Before there is any command that could be interrupted."""
    code = (
        "import os, signal, sys\n"
        "class Late:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'readiness.cli': os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Late())\n"
        "from readiness.__main__ import run\n"
        "run()\n"
    )
    done = start("-c", code, command=(sys.executable,))
    assert (done.returncode, done.stderr) == (130, b"")


STOPPED = """
import os, sys
number, times = int(sys.argv[1]), int(sys.argv[2])
sys.argv = ["readiness", "new", sys.argv[3], "--defaults"]
flush = os.fsync
def stopped(handle):
    for _ in range(times):
        os.kill(os.getpid(), number)
    flush(handle)
os.fsync = stopped
from readiness.__main__ import run
run()
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
@pytest.mark.parametrize("times", [1, 2])
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_command_that_is_ended_from_outside_leaves_no_half_file(tmp_path, name, times):
    """By `kill`, or with its terminal: it tidies up, once, then ends by that signal, as who sent it expects."""
    number = int(getattr(signal, name))
    done = start("-c", STOPPED, str(number), str(times), str(tmp_path / "trip.yaml"), command=(sys.executable,))
    assert (done.returncode, done.stdout, done.stderr) == (-number, b"", b"")
    assert list(tmp_path.iterdir()) == []


LAST = """
import os, sys
number = int(sys.argv[1])
class Late:
    def __getattr__(self, name):
        return getattr(sys.__stderr__, name)
    def flush(self):
        os.kill(os.getpid(), number)
sys.argv, sys.stderr = ["readiness", "--version"], Late()
from readiness.__main__ import run
run()
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_command_that_is_ended_at_its_last_words_shows_no_traceback(name):
    """All is done by then, but the process is still there."""
    number = int(getattr(signal, name))
    done = start("-c", LAST, str(number), command=(sys.executable,))
    assert (done.returncode, done.stderr) == (-number, b"")
    assert done.stdout.startswith(b"readiness")


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_a_command_that_is_to_outlive_its_terminal_does(tmp_path):
    """`nohup readiness ...`: what the caller had ignored stays ignored."""
    words = [sys.executable, "-c", STOPPED, str(int(signal.SIGHUP)), "1", str(tmp_path / "trip.yaml")]
    done = start("-c", "trap '' HUP; exec \"$@\"", "sh", *words, command=("sh",))
    assert (done.returncode, done.stderr) == (0, b"")
    assert [path.name for path in tmp_path.iterdir()] == ["trip.yaml"]
