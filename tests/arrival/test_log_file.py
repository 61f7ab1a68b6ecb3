"""The camp log as a whole: what stands, what was taken back, what belongs to another set-up, what was torn."""

import hashlib
import json
import time

import pytest

from readiness.arrival.lines import to_line
from readiness.arrival.log import append, log_path, of_setup, read_lines, read_log, read_log_file, setup_hash
from readiness.arrival.records import Change, Log, ShotSet, StepAnswer
from readiness.arrival.storage import MAX_LOG_BYTES


def codes(problems):
    """The codes of problems with their lines."""
    return [(problem.code, problem.line) for problem in problems]


def test_a_log_that_is_not_there_is_empty(tmp_path):
    """Before the first record there is no file, and that is no problem."""
    assert read_log(tmp_path / "trip.log.jsonl") == (Log(), ())


def test_records_come_in_the_order_in_which_they_were_written(entry, a_log):
    """Each as its own kind, with its stamp."""
    log, problems = read_log(a_log(entry(), entry("change", 2), entry("step", 3)))
    assert problems == ()
    assert [type(record) for record in log.records] == [ShotSet, Change, StepAnswer]
    assert log.last_place == "Marsh hut"
    assert log.records[2].value == "pass: no crack"
    assert log.records[0].stamp.id == f"{1:012x}"


def test_what_was_taken_back_does_not_stand_and_stays_in_the_file(entry, a_log):
    """An undo adds a record; it deletes nothing."""
    path = a_log(entry(), entry("change", 2), entry("undo", 3, undoes=f"{1:012x}"))
    found = read_log_file(path)
    assert [e.stands for e in found.entries] == [False, True, True]
    assert [type(record) for record in found.log.records] == [Change]


@pytest.mark.parametrize(
    ("undoes", "code", "severity"),
    [(9, "unknown-id", "error"), (3, "not-undone", "error"), (1, "not-undone", "warning")],
)
def test_an_undo_of_nothing_of_an_undo_or_twice_is_told(entry, a_log, undoes, code, severity):
    """Nothing else changes by it."""
    second = entry("undo", 4, undoes=f"{undoes:012x}")
    log, problems = read_log(a_log(entry(), entry("change", 2), entry("undo", 3, undoes=f"{1:012x}"), second))
    assert [(p.code, p.line, p.severity) for p in problems] == [(code, 4, severity)]
    assert [type(record) for record in log.records] == [Change]


def test_a_line_twice_counts_once_and_an_id_for_two_records_is_an_error(entry, a_log):
    """A copied line is harmless; two records of one name are not."""
    log, problems = read_log(a_log(entry(), entry(), entry("change", 1)))
    assert codes(problems) == [("repeated-id", 2), ("repeated-id", 3)]
    assert [p.severity for p in problems] == ["warning", "error"]
    assert len(log.records) == 1


def test_a_bad_line_is_told_and_the_others_are_read(entry, a_log):
    """Blank lines, a byte-order mark and the line ends of other systems are nothing."""
    sound = to_line(entry("change", 3)).encode().replace(b"\n", b"\r\n")
    path = a_log(b"\xef\xbb\xbf", entry(), b"\n", b"{oops}\n", b"  \r\n", sound)
    log, problems = read_log(path)
    assert codes(problems) == [("bad-json", 3)]
    assert problems[0].file == str(path)
    assert [record.stamp.id for record in log.records] == [f"{1:012x}", f"{3:012x}"]


def test_a_last_line_that_is_whole_but_for_its_end_counts(entry, a_log):
    """An editor that leaves the end out takes no record away; the next one begins a line of its own."""
    path = a_log(entry(), to_line(entry("change", 2)).rstrip("\n").encode())
    assert [len(read_log(path)[0].records), read_log(path)[1]] == [2, ()]
    assert append(path, [entry("step", 3)]) == ()
    log, problems = read_log(path)
    assert (len(log.records), problems) == (3, ())


def test_a_torn_last_line_is_set_aside_at_every_byte(entry, tmp_path):
    """Wherever the write was cut: a message, no half record, and the next record stands by itself."""
    first, last = to_line(entry(at="Hütte")).encode(), to_line(entry(number=2, at="Hütte")).encode()
    path, beside = tmp_path / "trip.log.jsonl", tmp_path / "trip.log.torn"
    for cut in range(1, len(last) - 1):
        path.write_bytes(first + last[:cut])
        beside.unlink(missing_ok=True)
        log, problems = read_log(path)
        assert (len(log.records), codes(problems)) == (1, [("torn-line", 2)]), cut
        told = append(path, [entry("change", 3)])
        assert [(p.code, p.severity) for p in told] == [("torn-line", "warning")], cut
        assert beside.read_bytes() == last[:cut] + b"\n"
        log, problems = read_log(path)
        assert ([type(r) for r in log.records], problems) == ([ShotSet, Change], ()), cut


def test_torn_lines_are_collected_never_overwritten(entry, a_log):
    """A second kill does not lose what the first one left."""
    path = a_log(entry(), b'{"first')
    append(path, [entry("change", 2)])
    with path.open("ab") as file:
        file.write(b'{"second')
    append(path, [entry("change", 3)])
    assert (path.parent / "trip.log.torn").read_bytes() == b'{"first\n{"second\n'
    assert len(read_log(path)[0].records) == 3


def test_nothing_that_the_reader_would_refuse_is_ever_written(entry, tmp_path):
    """All or none: one bad record among good ones leaves no file."""
    path = tmp_path / "trip.log.jsonl"
    problems = append(path, [entry(), entry("change", 2, what="")])
    assert [p.code for p in problems] == ["bad-size"]
    assert not path.exists()


def test_records_of_another_set_up_are_told_from_those_of_this_one(entry, a_log):
    """They are kept, and never judged together."""
    log, _ = read_log(a_log(entry(), entry("change", 2, setup="f" * 16), entry(number=3)))
    own, others = of_setup(log, "0123456789abcdef")
    assert [len(own.records), len(others.records)] == [2, 1]


def test_places_and_heads_that_the_trip_does_not_know_are_warnings(entry, a_log, invented):
    """They stay in the log; a near name is offered."""
    path = a_log(
        entry(at="Marsh hat"), entry(number=2, kind="broadhead", head="practice point"), entry(number=3, at="Marsh hut")
    )
    log, problems = read_log(path, invented())
    assert len(log.records) == 3
    assert [(p.line, p.severity, p.code) for p in problems] == [
        (1, "warning", "unknown-name"),
        (2, "warning", "unknown-name"),
    ]
    assert problems[0].hint == "did you mean Marsh hut?"


@pytest.mark.parametrize("kind", ["folder", "large"])
def test_a_file_that_is_no_log_is_refused_unread(tmp_path, entry, kind):
    """Neither read nor written."""
    path = tmp_path / "trip.log.jsonl"
    if kind == "folder":
        path.mkdir()
    else:
        path.write_bytes(b" " * (MAX_LOG_BYTES + 1))
    for problems in (read_log(path)[1], append(path, [entry()])):
        assert [(p.severity, p.line) for p in problems] == [("error", 0)]


def test_a_log_that_would_grow_too_large_to_be_read_is_not_written_to(entry, tmp_path):
    """Else the record would be acknowledged and then lost."""
    path = tmp_path / "trip.log.jsonl"
    path.write_bytes(b"\n" * (MAX_LOG_BYTES - 100))
    assert [p.code for p in append(path, [entry()])] == ["too-large"]
    assert path.stat().st_size == MAX_LOG_BYTES - 100


def test_hundreds_of_bad_lines_end_the_reading_and_are_told(entry):
    """A file of something else is not told line by line for minutes."""
    found = read_lines(b"x\n" * 1_000_000 + to_line(entry()).encode(), "t")
    assert len(found.problems) == 201
    assert found.problems[-1].code == "bad-log"


def test_reading_takes_time_in_step_with_the_length(entry):
    """Four times the lines take about four times as long, not sixteen."""

    def seconds(count):
        data = b"".join(to_line(entry(number=n)).encode() for n in range(1, count + 1))
        took = []
        for _ in range(3):
            start = time.perf_counter()
            assert len(read_lines(data, "t").entries) == count
            took.append(time.perf_counter() - start)
        return min(took)

    assert seconds(800) / seconds(200) < 9


def nested(trip_data):
    """The hash by its definition, from the data of the trip file itself."""
    kept = {key: trip_data[key] for key in ("home", "bow", "arrow", "heads", "reference") if key in trip_data}
    text = json.dumps(kept, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@pytest.mark.parametrize("name", ["high-basin", "river-breaks", "cold-snap", "terraces-metric"])
def test_the_hash_of_a_set_up_is_that_of_its_part_of_the_file(sample_text, name):
    """SHA-256 of canonical JSON, computed here from the file's data with hashlib."""
    from datetime import date

    from readiness.documents import read_document
    from readiness.trip.load import load_trip

    text = sample_text(name)
    document, _ = read_document(text, "t")
    assert setup_hash(load_trip(text, "t", date(2027, 8, 25)).trip) == nested(document.data)


def test_the_hash_follows_the_set_up_and_nothing_else(invented):
    """Gear, the trip's days and its places orphan nothing; a head's mass does."""
    plain = setup_hash(invented())
    assert setup_hash(invented(gear=[{"item": "release aid", "bag": "cabin"}])) == plain
    assert setup_hash(invented(destinations=[{"name": "Ridge", "elevation": "900 ft"}])) == plain
    assert setup_hash(invented(home={"name": "Gravel pit range", "elevation": "501 ft"})) != plain
    marks = {"marks": {"peep.height[2]": "4 in", "peep": "5 in"}}
    assert setup_hash(invented(reference=marks)) not in {
        plain,
        setup_hash(invented(reference={"marks": {"peep": "5 in"}})),
    }


@pytest.mark.parametrize(
    ("trip", "log"),
    [("trip.yaml", "trip.log.jsonl"), ("a/my.trip.yml", "a/my.trip.log.jsonl"), ("trip", "trip.log.jsonl")],
)
def test_the_log_stands_beside_its_trip(trip, log):
    """Under the same name."""
    assert log_path(trip).as_posix() == log
