"""The log on the disk: two writers at once, a kill at any moment, a full disk, a held lock."""

import errno
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from readiness import locking
from readiness.arrival import storage
from readiness.arrival.lines import to_line
from readiness.arrival.log import append, read_log, read_log_file

pytestmark = pytest.mark.skipif(os.name == "nt", reason="locks and signals of another kind")

WRITER = """
import sys
from pathlib import Path
from readiness.arrival.log import append
path, first, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
for number in range(first, first + count):
    entry = {"record": "change", "id": f"{number:012x}", "time": "2027-09-11T17:05:12Z", "version": "1",
             "setup": "0" * 16, "at": "Marsh hut", "what": "turn " * (1 + number % 60)}
    assert append(path, [entry]) == ()
"""

# Children append as fast as they can and say each id once append has returned. One in four is killed in the very middle
# of a write, one at a moment after its start, and two at a moment after the first id that they said.
KILLER = """
import os, random, select, signal, sys, time
from pathlib import Path
from readiness import locking
from readiness.arrival import storage
from readiness.arrival.log import append

path, kills, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
chance = random.Random(seed)
storage.MAX_LOG_BYTES = 100_000_000  # how much is written before each kill is the machine's to say

def entry(number):
    return {"record": "change", "id": f"{number:012x}", "time": "2027-09-11T17:05:12Z", "version": "1",
            "setup": "0" * 16, "at": "Hütte am Moor", "what": "turn " * (1 + number % 40)}

def half_a_write(handle, data, write=os.write):
    if chance.random() < 0.2:
        write(handle, data[: chance.randrange(1, len(data))])
        os.kill(os.getpid(), signal.SIGKILL)
    return write(handle, data)

assert append(path, [entry(0)]) == ()  # imports are done before the first fork
print(0)
number = 1
for kill in range(kills):
    said, saying = os.pipe()
    chance.seed(seed + kill)
    child = os.fork()
    if child == 0:
        os.close(said)
        tell, write = os.fdopen(saying, "wb", buffering=0), os.write
        if kill % 4 == 0:
            storage.os.write = half_a_write
        while True:
            if any(p.severity == "error" for p in append(path, [entry(number)])):
                os._exit(1)
            tell.write(b"%d\\n" % number)
            number += 1
    os.close(saying)
    if kill % 4 > 1:
        select.select([said], [], [], 10)
    if kill % 4:
        time.sleep(chance.uniform(0, 0.015))
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), status
    with os.fdopen(said, "rb") as told:
        ids = [int(line) for line in told.read().splitlines()]
    print(*ids, sep="\\n")
    number += len(ids) + 1  # the last may be written and not said
"""


def run_python(code, *words):
    """A started Python process of its own."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def ended(*processes):
    """What each printed, once all have ended well."""
    said = [process.communicate(timeout=120) for process in processes]
    for process, (_, err) in zip(processes, said, strict=True):
        assert process.returncode == 0, err
    return [out for out, _ in said]


def test_two_writers_at_once_lose_and_tear_nothing(tmp_path):
    """Two processes, a hundred records each, into one file."""
    path = tmp_path / "trip.log.jsonl"
    ended(*[run_python(WRITER, path, first, 100) for first in (1, 1001)])
    log, problems = read_log(path)
    assert problems == ()
    numbers = [int(record.stamp.id, 16) for record in log.records]
    assert sorted(numbers) == [*range(1, 101), *range(1001, 1101)]
    assert [n for n in numbers if n < 1000] == list(range(1, 101))
    assert not storage.torn_path(path).exists()


def test_no_acknowledged_record_is_lost_by_hundreds_of_kills(tmp_path):
    """Every id that was said to be written is in the file; what was torn is set aside, whole lines stay whole."""
    torn = 0
    seeds = (1, 2)
    said = ended(*[run_python(KILLER, tmp_path / f"{seed}.log.jsonl", 200, seed) for seed in seeds])
    for seed, ids in zip(seeds, said, strict=True):
        acknowledged = set(map(int, ids.split()))
        path = tmp_path / f"{seed}.log.jsonl"
        *lines, tail = path.read_bytes().split(b"\n")
        written = [int(json.loads(line)["id"], 16) for line in lines]
        assert acknowledged <= set(written)
        assert len(set(written)) == len(written)
        assert len(acknowledged) > 100  # each of the 100 that are let begin says at least one
        assert len(written) - len(acknowledged) <= 200  # at most the one that each kill kept from being said
        aside = storage.torn_path(path)
        torn += (aside.read_bytes().count(b"\n") if aside.exists() else 0) + bool(tail)
    assert torn >= 80  # 50 a seed, but those cut just before the line's end, or an earlier line's


class Disk:
    """A disk that takes only so many bytes of one write, then fails or takes a part."""

    def __init__(self, takes, error=None):
        self.takes, self.error = takes, error

    def __call__(self, handle, data, write=os.write):
        written = write(handle, data[: self.takes])
        if self.error:
            raise OSError(self.error, os.strerror(self.error))
        return written


@pytest.mark.parametrize("disk", [Disk(0), Disk(5), Disk(40, errno.ENOSPC), Disk(0, errno.EIO)])
def test_a_disk_that_takes_a_part_leaves_the_log_as_it_was(entry, a_log, monkeypatch, disk):
    """An error, nothing acknowledged, nothing half written."""
    path = a_log(entry())
    before = path.read_bytes()
    monkeypatch.setattr(storage.os, "write", disk)
    problems = append(path, [entry("change", 2), entry("step", 3)])
    monkeypatch.undo()
    assert [(p.code, p.severity) for p in problems] == [("unwritable", "error")]
    assert "nothing was logged" in problems[0].message
    assert path.read_bytes() == before
    assert append(path, [entry("change", 2)]) == ()


def test_a_flush_that_fails_is_no_acknowledgement(entry, a_log, monkeypatch):
    """What is not on the disk is taken back and told."""
    path = a_log(entry())
    before = path.read_bytes()

    def failing(_):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(storage.os, "fsync", failing)
    problems = append(path, [entry("change", 2)])
    monkeypatch.undo()
    assert [p.code for p in problems] == ["unwritable"]
    assert path.read_bytes() == before


FULL = """
import resource, signal, sys
from pathlib import Path
from readiness.arrival.log import append
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
path = Path(sys.argv[1])
entry = {"record": "change", "id": "0" * 11 + "2", "time": "2027-09-11T17:05:12Z", "version": "1",
         "setup": "0" * 16, "at": "x", "what": "y" * 300}
resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size + int(sys.argv[2]),) * 2)
for problem in append(path, [entry]):
    print(problem.code)
"""


@pytest.mark.parametrize(("room", "told"), [(0, "unwritable\n"), (100, "unwritable\n"), (4000, "")])
def test_a_full_disk_is_told_and_the_log_stays_as_it_was(entry, a_log, room, told):
    """The system's own limit on a file's size, with no room, too little, and enough."""
    path = a_log(entry())
    before = path.read_bytes()
    assert ended(run_python(FULL, path, room)) == [told]
    assert path.read_bytes().startswith(before)
    assert len(read_log(path)[0].records) == (1 if told else 2)
    assert read_log(path)[1] == ()


def test_the_file_is_on_the_disk_before_append_returns(entry, tmp_path, monkeypatch):
    """One write, then the file is flushed, and the folder of a new file too."""
    happened = []
    write, sync = os.write, os.fsync
    monkeypatch.setattr(storage.os, "write", lambda h, data: happened.append("write") or write(h, data))
    monkeypatch.setattr(
        storage.os,
        "fsync",
        lambda h: happened.append("folder" if Path(f"/proc/self/fd/{h}").is_dir() else "file") or sync(h),
    )
    path = tmp_path / "trip.log.jsonl"
    append(path, [entry(), entry("change", 2)])
    append(path, [entry("step", 3)])
    assert happened in (["folder", "write", "file", "write", "file"], ["file", "write", "file", "write", "file"])


def test_a_log_that_another_holds_is_waited_for_and_then_told(entry, a_log, monkeypatch):
    """Never written to without the lock, never waited for without end."""
    fcntl = pytest.importorskip("fcntl")
    path = a_log(entry())
    monkeypatch.setattr(storage, "_PATIENCE_S", 0.05)
    with path.open("rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        assert [p.code for p in append(path, [entry("change", 2)])] == ["busy"]
    assert append(path, [entry("change", 2)]) == ()


class OtherSystem:
    """A module with locks on bytes, as where there is no fcntl: it notes each call, and refuses the first."""

    LK_NBLCK, LK_UNLCK = 2, 0

    def __init__(self):
        self.calls = []

    def locking(self, handle, mode, count):
        self.calls.append((mode, count, os.lseek(handle, 0, os.SEEK_CUR) > storage.MAX_LOG_BYTES))
        if len(self.calls) == 1:
            raise PermissionError(errno.EACCES, "held")


def test_without_fcntl_a_byte_beyond_the_log_is_locked(entry, a_log, monkeypatch):
    """Tried again until it is free, and let go at the end."""
    other = OtherSystem()

    def found(name):
        if name == "fcntl":
            raise ImportError(name)
        return other

    monkeypatch.setattr(locking, "import_module", found)
    path = a_log(entry())
    assert append(path, [entry("change", 2)]) == ()
    assert other.calls == [(2, 1, True), (2, 1, True), (0, 1, True)]
    assert len(read_log_file(path).entries) == 2


def test_a_folder_that_is_not_there_and_a_file_that_may_not_be_written(entry, tmp_path):
    """A problem, no traceback."""
    assert [p.code for p in append(tmp_path / "none" / "trip.log.jsonl", [entry()])] == ["unwritable"]
    path = tmp_path / "trip\0.log.jsonl"
    assert [p.code for p in append(path, [entry()])] == ["unwritable"]
    assert [p.code for p in read_log(path)[1]] == ["unreadable"]


def test_a_pipe_in_the_place_of_a_log_is_not_waited_for(entry, tmp_path):
    """Neither by the reader nor by the writer."""
    path = tmp_path / "trip.log.jsonl"
    os.mkfifo(path)
    assert [p.code for p in read_log(path)[1]] == ["unreadable"]
    assert [p.code for p in append(path, [entry()])] == ["unwritable"]


def test_a_pipe_in_the_place_of_the_torn_lines_is_not_waited_for(entry, tmp_path):
    """The torn line stays where it is, and nothing is written behind it."""
    path = tmp_path / "trip.log.jsonl"
    path.write_bytes(b'{"record": "sho')
    os.mkfifo(storage.torn_path(path))
    (problem,) = append(path, [entry()])
    assert (problem.code, "trip.log.torn is no regular file" in problem.message) == ("unwritable", True)
    assert path.read_bytes() == b'{"record": "sho'


def test_a_log_of_one_long_unfinished_line_is_set_aside_whole(entry, tmp_path):
    """Nothing is cut from what is set aside."""
    path = tmp_path / "trip.log.jsonl"
    path.write_bytes(b"x" * 300_000)
    assert [p.code for p in append(path, [entry()])] == ["torn-line"]
    assert storage.torn_path(path).read_bytes() == b"x" * 300_000 + b"\n"
    assert path.read_bytes() == to_line(entry()).encode()
