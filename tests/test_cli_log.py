"""`readiness log`: arrows, changes and answers written beside the trip, read back in words, never half."""

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from readiness.arrival import storage
from readiness.arrival.log import log_path, read_log, read_log_file
from readiness.arrival.records import Change, ShotSet, StepAnswer
from readiness.locking import locked

DAY = ("--date", "2027-10-05")
SPOT = {"name": "Spike tent", "elevation": "900 ft"}
HUT = {"name": "Marsh hut", "elevation": "700 ft", "temperature": "55 F to 75 F"}
STOP_STEPS = ["ARR-010", "ARR-020", "ARR-030", "ARR-040", "ARR-050", "ARR-160"]
REFERENCE = {"shot_on": "2027-09-01", "bare_shaft": {"distance": "20 yd", "clock": "7:00", "offset": "0.5 in"}}
HEAD_B = {"name": "head B", "kind": "fixed blade", "mass": "100 gr", "cutting_width": "1 in", "blades": 2}


@pytest.fixture
def a_trip(tmp_path, invented_text):
    """A function: the invented trip as a file, with keys of its blocks exchanged."""

    def written(name="trip.yaml", **blocks):
        path = tmp_path / name
        path.write_text(invented_text(**blocks), encoding="utf-8")
        return path

    return written


@pytest.fixture
def logged(run):
    """A function: the command on a trip, at the day of these tests."""
    return lambda trip, *words, **more: run("log", trip, *DAY, *words, **more)


def records(trip):
    """What stands in the log of a trip; the log is sound."""
    log, problems = read_log(log_path(trip))
    assert problems == ()
    return log.records


def codes(ran):
    """The codes of the problems that were told."""
    return re.findall(r"(?:warning|error)\[([a-z-]+)\]", ran.err)


def test_arrows_are_logged_and_read_back_in_words(a_trip, logged):
    """What was understood, with units, and what is next; in the file is what was typed."""
    trip = a_trip()
    ran = logged(trip, "--distance", "20 yd", "--shots", "0.3,-0.4@7; -1.1 0.2; x; 0,0;", "--time", "17:05")
    assert (ran.code, codes(ran)) == (0, ["stop-step"])
    assert ran.out == (
        "Logged at Marsh hut: 4 fletched at 20 yd: 0.3 in right, 0.4 in low (arrow 7); 1.1 in left, 0.2 in high; "
        f"outside the butt; on the aim.\nNext: readiness assess {trip}\n"
    )
    (record,) = records(trip)
    assert [round(shot.right_m / 0.0254, 9) for shot in record.shots] == [0.3, -1.1, 0, 0]
    assert [shot.outside for shot in record.shots] == [False, False, True, False]
    assert record.stamp.time.startswith("2027-10-05T17:05:00")


def test_everything_that_can_be_said_of_arrows(a_trip, logged):
    """Head, cold, temperature, unit, place in any case."""
    trip = a_trip(destinations=[HUT, SPOT])
    ran = logged(
        trip, "--at", "spike TENT", "--distance", "30 m", "--kind", "broadhead", "--head", "Head a", "--cold",
        "--temperature", "31 F", "--unit", "cm", "--shots", "2.5,-1",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    assert (
        "Logged at Spike tent: 1 head A (broadhead) at 30 m, the first of the day, 31 F: 2.5 cm right, 1 cm low"
        in ran.out
    )
    (record,) = records(trip)
    assert (record.head, record.cold, record.distance_m, record.shots[0].right_m) == ("head A", True, 30.0, 0.025)
    assert record.temperature_c == pytest.approx(-5 / 9)  # (31 - 32) x 5/9


def test_what_is_left_out_is_taken_from_the_trip_and_the_log(a_trip, logged):
    """The last place, the only hunting head, fletched, the unit of the trip's pins."""
    trip = a_trip(destinations=[HUT, SPOT])
    assert logged(trip, "--at", "Spike tent", "--changed", "peep back").code == 0
    assert logged(trip, "--kind", "broadhead", "--distance", "20 yd", "--shots", "1,1").code == 0
    change, shots = records(trip)
    assert (type(change), shots.stamp.at, shots.head) == (Change, "Spike tent", "head A")


def test_a_metric_trip_is_measured_in_centimetres(run, sample_text, tmp_path):
    """As its own pins are in metres."""
    trip = tmp_path / "trip.yaml"
    trip.write_text(sample_text("terraces-metric"), encoding="utf-8")
    ran = run("log", trip, "--date", "2027-10-05", "--distance", "18 m", "--shots", "1,1", "--format", "json")
    (written,) = json.loads(ran.out)["written"]
    assert (ran.code, written["unit"]) == (0, "cm")


REFUSED = [
    (("--at", "Marsh hat"), "did you mean Marsh hut?"),
    (("--at", "Nowhere"), "the trip has Marsh hut, Spike tent"),
    ((), 'add --at "Marsh hut" or --at "Spike tent"'),
    (("--at", "Marsh hut", "--distance", "20"), "write 20 yd or 20 m"),
    (("--at", "Marsh hut", "--distance", "250 yd"), "above 200 yd"),
    (("--at", "Marsh hut", "--distance", "20 lb"), "unit of mass"),
    (("--at", "Marsh hut", "--head", "head A"), "add --kind broadhead"),
    (("--at", "Marsh hut", "--kind", "broadhead"), 'add --head "head A" or --head "head B"'),
    (("--at", "Marsh hut", "--kind", "broadhead", "--head", "heed A"), "did you mean head A?"),
    (("--at", "Marsh hut", "--kind", "broadhead", "--head", "practice point"), "the trip has head A, head B"),
    (("--at", "Marsh hut", "--temperature", "31"), "write 31 F or 31 C"),
    (("--at", "Marsh hut", "--shots", "400,0"), "over 3 m from the aim"),
    (("--at", "Marsh hut", "--shots", "0,3,-0,4"), "write 0.3,-0.4"),
    (("--at", "Marsh hut", "--shots", ""), "there is no arrow in it"),
    (("--at", "Marsh hut", "--step", "ARR-010"), "write them in pairs"),
    (("--at", "Marsh hut", "--value", "pass"), "write them in pairs"),
    (("--at", "Marsh hut", "--distance", "200 m", "--shots", "1,1"), "hint: write a value from 2 yd to 200 yd"),
    (("--at", "Marsh hut", "--distance", "20 lb", "--shots", "1,1"), "hint: write for example 20 yd"),
    (("--at", "Marsh hut", "--step", "ARR-10", "--value", "pass"), "did you mean ARR-010 ("),
    (("--at", "Marsh hut", "--step", "ARR-011", "--value", "pass"), "hint: readiness plan shows every id"),
    (("--at", "Marsh hut", "--step", "banana", "--value", "pass"), "readiness plan shows every id"),
    (("--at", "Marsh hut", "--step", "ARR-010", "--value", " "), "write a few words"),
    (("--at", "Marsh hut", "--changed", ""), "write a few words"),
    (("--at", "Marsh hut", "--changed", "a\x1b[31m"), "a character that no file should"),
    (("--at", "Marsh hut", "--changed", "x" * 401), "over 400 characters"),
    (("--at", "Marsh hut", "--time", "noon"), "write it as in 2027-09-11T17:05"),
    (("--at", "Marsh hut", "--time", "2027-02-30T10:00"), "write it as in 2027-09-11T17:05"),
]


@pytest.mark.parametrize(("words", "says"), REFUSED, ids=lambda v: " ".join(v)[-30:] if isinstance(v, tuple) else "")
def test_what_cannot_be_meant_is_refused_with_what_to_type(a_trip, logged, words, says):
    """Exit code 2, nothing on standard output, no file."""
    trip = a_trip(destinations=[HUT, SPOT], heads=[
        {"name": "practice point", "kind": "field point", "mass": "100 gr"},
        {"name": "head A", "kind": "fixed blade", "mass": "100 gr", "cutting_width": "1.125 in", "blades": 3},
        HEAD_B,
    ])  # fmt: skip
    if "--shots" not in words:
        words = (*words, "--shots", "1,1")
    if "--distance" not in words:
        words = (*words, "--distance", "20 yd")
    ran = logged(trip, *words)
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err
    assert not log_path(trip).exists()


def test_all_faults_of_one_call_are_told_at_once(a_trip, logged):
    """And a fault in one record keeps the others from being written."""
    trip = a_trip()
    ran = logged(
        trip, "--at", "Hut", "--distance", "20", "--shots", "1; 2", "--temperature", "cold", "--step", "X", "--value", "y",
        "--changed", "peep",
    )  # fmt: skip
    assert ran.code == 2
    assert [line.split(":")[0] for line in ran.err.splitlines() if "error[" in line] == [
        "--at", "--step", "--distance", "--temperature", "--shots", "--shots",
    ]  # fmt: skip
    assert not log_path(trip).exists()


@pytest.mark.parametrize(
    ("what", "told"),
    [
        ("60 yd pin moved up", "Taken for a sight moved on purpose"),
        ("sight back to 42.5", "Taken for a sight or peep put back"),
        ("new peep", "Taken for a change to sight or peep alone"),
        ("new string, peep tied in", "Taken for a change to the bow, not to the sight alone"),
        ("new string", "Taken for a change to the bow: every step"),
    ],
)
def test_a_change_is_told_how_it_is_understood(a_trip, logged, what, told):
    """In a line of its own, and as data."""
    trip = a_trip()
    ran = logged(trip, "--changed", what)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.splitlines()[1].startswith(told)
    (sentence,) = json.loads(logged(trip, "--changed", what, "--format", "json").out)["taken_for"]
    assert sentence == ran.out.splitlines()[1]


def test_a_change_in_no_known_word_is_told_with_the_words_that_are(a_trip, logged, tmp_path):
    """It is written down all the same; so is one that comes in from another file."""
    trip = a_trip()
    ran = logged(trip, "--changed", "Visier verstellt")
    assert ran.code == 0
    assert [record.what for record in records(trip)] == ["Visier verstellt"]
    for part in ("warning[unknown-words]", "taken for a change to the bow", "counts as where it was", "peep", "--undo"):
        assert part in ran.err
    other = tmp_path / "other.jsonl"
    other.write_bytes(log_path(trip).read_bytes())
    log_path(trip).unlink()
    ran = logged(trip, "--import", other)
    assert "warning[unknown-words]" in ran.err
    assert (ran.code, len(records(trip))) == (0, 1)


@pytest.mark.parametrize("option", [("--distance", "20 yd"), ("--kind", "bare"), ("--cold",), ("--unit", "cm")])
def test_what_describes_arrows_says_nothing_without_them(a_trip, logged, option):
    """Beside a change or an answer it is a mistake."""
    ran = logged(a_trip(), "--changed", "peep", *option)
    assert ran.code == 2
    assert f"{option[0]}: error[without-shots]" in ran.err


def test_a_bare_shaft_beyond_its_reference_is_logged_with_a_warning(a_trip, logged):
    """It was shot, so it is written down."""
    trip = a_trip(reference=REFERENCE)
    ran = logged(trip, "--kind", "bare", "--distance", "30 yd", "--shots", "1,1")
    assert (ran.code, len(records(trip))) == (0, 1)
    assert "warning[far-bare-shaft]" in ran.err
    assert "far-bare-shaft" not in logged(trip, "--kind", "bare", "--distance", "20 yd", "--shots", "1,1").err


def test_answers_to_steps_are_logged_in_pairs(a_trip, logged):
    """With the arrows and the change of the same call, the change first: it begins the run."""
    trip = a_trip()
    ran = logged(
        trip, "--step", "arr-010", "--value", "pass: no crack", "--step", "ARR-060", "--value", "fail", "--changed", "peep",
        "--distance", "20 yd", "--shots", "1,1",
    )  # fmt: skip
    assert (ran.code, codes(ran)) == (0, ["stop-step"])
    assert "(ARR-010)" not in ran.err  # answered in the same call
    assert [type(record) for record in records(trip)] == [Change, StepAnswer, StepAnswer, ShotSet]
    assert "ARR-060: Put it back to its mark" in ran.out  # what to do stands there at once; no stop step, so code 0


@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_a_stop_step_that_fails_says_stop_at_once(a_trip, logged, form):
    """The record is written, the response printed, and the code is 1."""
    trip = a_trip()
    ran = logged(trip, "--step", "ARR-010", "--value", "fail: white line at the pocket", "--format", form)
    assert ran.code == 1
    assert "Do not draw. A technician sees the bow." in ran.out
    assert len(records(trip)) == 1
    if form == "json":
        assert json.loads(ran.out)["failed"][0]["stop"] is True
    else:
        assert "STOP, do not shoot" in ran.out


def test_an_answer_that_cannot_be_read_is_written_and_counts_as_none(a_trip, logged):
    """With what to type."""
    trip = a_trip()
    ran = logged(trip, "--step", "ARR-010", "--value", "looked at it")
    assert ran.code == 0
    assert "counts as unanswered" in ran.err
    assert 'Begin with "pass:" or "fail:"' in ran.err
    assert records(trip)[0].value == "looked at it"


def test_a_step_of_a_pack_of_ones_own(a_trip, logged, tmp_path):
    """It is a step of the plan with --checklists, and none without."""
    folder = tmp_path / "packs"
    folder.mkdir()
    (folder / "river.yaml").write_text(
        'pack: river\nversion: 1\nmode: "read, do"\nclosing: Dry\nrules:\n  - {id: RIV-010, stage: arrival, title: Sand, '
        "do: Rinse., expect: No grain left., if_not: Again., basis: common practice}\n",
        encoding="utf-8",
    )
    words = ("--step", "RIV-010", "--value", "no grain left")
    assert logged(a_trip(), *words).code == 2
    assert logged(a_trip(), *words, "--checklists", folder).code == 0


def test_the_list_shows_every_record_and_what_was_taken_back(a_trip, logged):
    """With ids; the undo says what it took back."""
    trip = a_trip()
    assert "Nothing is logged yet" in logged(trip, "--list").out
    logged(trip, "--distance", "20 yd", "--shots", "1,1")
    logged(trip, "--changed", "peep back")
    ran = logged(trip, "--undo")
    assert (ran.code, ran.err) == (0, "")
    assert "Taken back at Marsh hut: changed: peep back" in ran.out
    listed = logged(trip, "--list", "--format", "markdown")
    assert listed.code == 0
    for entry in read_log_file(log_path(trip)).entries:
        assert entry.id in listed.out
    assert listed.out.count("taken back") == 1
    data = json.loads(logged(trip, "--list", "--format", "json").out)
    assert [(r["record"], r["stands"], r["same_setup"]) for r in data["records"]] == [
        ("shots", True, True), ("change", False, True), ("undo", True, True),
    ]  # fmt: skip


def test_undo_takes_back_the_last_that_stands_or_the_one_named(a_trip, logged):
    """By its id or its beginning; nothing is deleted, and what is not there is refused."""
    trip = a_trip()
    logged(trip, "--changed", "one")
    logged(trip, "--changed", "two")
    first, _ = (record.stamp.id for record in records(trip))
    assert logged(trip, "--undo", first[:11]).code == 0
    assert [record.what for record in records(trip)] == ["two"]
    again = logged(trip, "--undo", first)
    assert (again.code, "was taken back before" in again.err) == (2, True)
    undo = next(entry.id for entry in read_log_file(log_path(trip)).entries if entry.record is None)
    assert "is itself an undo" in logged(trip, "--undo", undo).err
    assert "no record has the id" in logged(trip, "--undo", "zz").err
    assert logged(trip, "--undo").code == 0
    assert "nothing was changed" in logged(trip, "--undo").err
    assert len(log_path(trip).read_bytes().splitlines()) == 4


def test_another_log_is_taken_in_whole_and_once(a_trip, logged):
    """What is here already is counted, not written again."""
    trip, other = a_trip(), a_trip("other.yaml")
    logged(other, "--distance", "20 yd", "--shots", "1,1; x")
    logged(other, "--changed", "peep")
    logged(other, "--undo")
    ran = logged(trip, "--import", log_path(other))
    assert (ran.code, ran.err) == (0, "")
    assert "3 new, 0 were here already." in ran.out
    assert log_path(trip).read_bytes() == log_path(other).read_bytes()
    logged(other, "--changed", "rest")
    assert "1 new, 3 were here already." in logged(trip, "--import", log_path(other)).out
    assert "0 new, 4 were here already." in logged(trip, "--import", log_path(other)).out
    assert log_path(trip).read_bytes() == log_path(other).read_bytes()


@pytest.fixture
def meanwhile(monkeypatch):
    """A function: what another process does to a log just before this one has it for itself."""

    def by(act):
        def locked_after(handle, patience_s):
            monkeypatch.undo()
            act()
            return locked(handle, patience_s)

        monkeypatch.setattr(storage, "locked", locked_after)

    return by


def test_two_imports_of_one_file_at_once_take_it_in_once(a_trip, logged, meanwhile):
    """The second finds the records there, though they were not when it first looked."""
    trip, other = a_trip(), a_trip("other.yaml")
    logged(other, "--distance", "20 yd", "--shots", "1,1; x")
    logged(other, "--changed", "peep")
    meanwhile(lambda: log_path(trip).write_bytes(log_path(other).read_bytes()))
    ran = logged(trip, "--import", log_path(other))
    assert (ran.code, ran.err) == (0, "")
    assert "0 new, 2 were here already." in ran.out
    assert log_path(trip).read_bytes() == log_path(other).read_bytes()


def test_an_import_adds_what_is_still_missing_to_a_log_that_grew(a_trip, logged, meanwhile):
    """One of the records came by another way, and one of its own was logged."""
    trip, other = a_trip(), a_trip("other.yaml")
    logged(other, "--distance", "20 yd", "--shots", "1,1; x")
    first = log_path(other).read_bytes()
    logged(trip, "--changed", "rest")
    own = log_path(trip).read_bytes()
    logged(other, "--changed", "peep")
    second = log_path(other).read_bytes().removeprefix(first)
    meanwhile(lambda: log_path(trip).write_bytes(own + second))
    ran = logged(trip, "--import", log_path(other))
    assert (ran.code, ran.err) == (0, "")
    assert "1 new, 1 were here already." in ran.out
    assert log_path(trip).read_bytes() == own + second + first


def test_an_import_that_no_longer_fits_is_not_taken_in_at_all(a_trip, logged, meanwhile):
    """An id that was logged meanwhile for another record: refused as if it had been there before."""
    trip, other = a_trip(), a_trip("other.yaml")
    logged(other, "--changed", "rest")
    logged(other, "--changed", "peep")
    lines = log_path(other).read_text(encoding="utf-8").splitlines(keepends=True)
    theirs = lines[1].replace("peep", "nock").encode()
    meanwhile(lambda: log_path(trip).write_bytes(theirs))
    ran = logged(trip, "--import", log_path(other))
    assert (ran.code, ran.out) == (2, "")
    assert "this id stands for another record already" in ran.err
    assert log_path(trip).read_bytes() == theirs


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda text: text + "{oops}\n", "error[bad-json]"),
        (lambda text: text[:-30], "error[torn-line]"),
        (lambda text: text.replace("20 yd", "20"), "20 has no unit"),
        (lambda text: text.replace(json.loads(text.splitlines()[0])["setup"], "0" * 16), "another set-up"),
        (lambda text: text.replace("Marsh hut", "Marsh hat"), "did you mean Marsh hut?"),
        (lambda text: text.replace(json.loads(text.splitlines()[1])["id"], json.loads(text.splitlines()[0])["id"]), "this id"),
        (lambda text: text.replace('"change"', '"undo"').replace('"what": "peep"', '"undoes": "000000000000"'), "no line before"),
        (lambda text: "", "nothing in it"),
    ],
)  # fmt: skip
def test_a_log_with_anything_wrong_is_not_taken_in_at_all(a_trip, logged, spoil, says):
    """All is checked before the first record is written."""
    trip, other = a_trip(), a_trip("other.yaml")
    logged(other, "--distance", "20 yd", "--shots", "1,1")
    logged(other, "--changed", "peep")
    path = log_path(other)
    path.write_text(spoil(path.read_text(encoding="utf-8")), encoding="utf-8")
    ran = logged(trip, "--import", path)
    assert (ran.code, ran.out) == (2, "")
    assert says in ran.err
    assert not log_path(trip).exists()


def test_records_of_another_set_up_are_marked(a_trip, logged):
    """The bow was changed in the trip file: what was shot before stays, and is told apart."""
    logged(a_trip(), "--distance", "20 yd", "--shots", "1,1")
    trip = a_trip(arrow={"mass": "431 gr"})
    assert "with another set-up" in " ".join(logged(trip, "--list").out.split())
    assert json.loads(logged(trip, "--list", "--format", "json").out)["records"][0]["same_setup"] is False


def test_a_bad_line_of_the_log_is_told_and_stops_nothing(a_trip, logged):
    """A record is written behind it; --list ends with 1."""
    trip = a_trip()
    log_path(trip).write_bytes(b"{oops}\n")
    ran = logged(trip, "--changed", "peep")
    assert ran.code == 0
    assert f"{log_path(trip)}:1:2: error[bad-json]" in ran.err
    assert logged(trip, "--list").code == 1


def test_a_torn_line_is_set_aside_with_a_message(a_trip, logged):
    """The command says where it went, once."""
    trip = a_trip()
    log_path(trip).write_bytes(b'{"record": "sho')
    ran = logged(trip, "--changed", "peep")
    assert (ran.code, ran.err.count("warning[torn-line]")) == (0, 1)
    assert "trip.log.torn" in ran.err
    assert (trip.parent / "trip.log.torn").read_bytes() == b'{"record": "sho\n'


def test_a_log_that_cannot_be_written_is_told_and_nothing_is_said_to_be_logged(a_trip, logged):
    """Exit code 2, no product."""
    trip = a_trip()
    log_path(trip).mkdir()
    ran = logged(trip, "--changed", "peep")
    assert (ran.code, ran.out) == (2, "")
    assert "unwritable" in ran.err


@pytest.mark.parametrize(
    "words",
    [("--list", "--undo"), ("--list", "--shots", "1,1"), ("--undo", "--changed", "x"), ("--import", "f", "--list")],
)
def test_two_wishes_at_once_are_refused(a_trip, logged, words):
    """Nothing is done then."""
    ran = logged(a_trip(), *words)
    assert (ran.code, ran.out) == (2, "")
    assert "do not go together" in ran.err


def test_standard_input_has_nothing_to_stand_beside(logged):
    """A log needs a trip file."""
    assert "error[no-file]" in logged("-", "--list").err


PASSED = "p\n" * len(STOP_STEPS)


def test_it_asks_and_writes_what_was_answered(a_trip, logged):
    """Place, stop steps with their cautions before them, kind, distance, arrow by arrow; a wrong answer is asked again."""
    trip = a_trip(destinations=[HUT, SPOT])
    typed = f"Nowhere\nspike tent\nmaybe\n{PASSED}fletched\n20\n20 yd\n0.3\n0.3,-0.4@7\nx\n\n"
    ran = logged(trip, stdin=typed)
    assert ran.code == 0, ran.err
    steps, shots = records(trip)[:-1], records(trip)[-1]
    assert [(r.step, r.value) for r in steps] == [(step, "pass") for step in STOP_STEPS]
    assert (shots.stamp.at, len(shots.shots), shots.shots[0].arrow, shots.shots[1].outside) == (
        "Spike tent",
        2,
        7,
        True,
    )
    assert "type p, f, or Enter" in ran.err
    assert "write 20 yd or 20 m" in ran.err
    assert ran.err.index("drawn or dry-fired") < ran.err.index("ARR-010") < ran.err.index("How far")
    assert ran.err.index("Heads off before") < ran.err.index("STOP step ARR-040")


def test_a_paste_gone_wrong_is_not_worked_through(a_trip, logged):
    """Megabytes as an answer are asked for again in a moment, and not read back."""
    trip = a_trip(destinations=[HUT])
    ran = logged(trip, stdin=f"{PASSED}fletched\n{'x' * 2_000_000}\n20 yd\n0.3,-0.4\n\n")
    assert ran.code == 0, ran.err[-500:]
    assert "longer than 1000 characters" in ran.err
    assert len(ran.err) < 20_000


def test_what_has_passed_is_not_asked_again(a_trip, logged):
    """A step that was left open, or failed, is; a failed one wants an answer."""
    trip = a_trip()
    logged(trip, stdin=f"p\n\n{PASSED[4:]}\n20 yd\n1,1\n\n")
    again = logged(trip, stdin="p\n\n20 yd\n2,2\n\n")
    assert again.code == 0, again.err
    assert [r.step for r in records(trip) if isinstance(r, StepAnswer)][-1] == "ARR-020"
    logged(trip, "--step", "ARR-010", "--value", "fail")
    failed = logged(trip, stdin="\nf\n")
    assert failed.code == 1
    assert "It failed here" in failed.err
    assert "STOP, do not shoot. ARR-010" in failed.out


def test_a_failed_stop_step_ends_the_questions(a_trip, logged):
    """What was answered is written, the response printed, and no arrow is asked for."""
    trip = a_trip()
    ran = logged(trip, stdin="p\nf\n")
    assert ran.code == 1
    assert [(r.step, r.value) for r in records(trip)] == [("ARR-010", "pass"), ("ARR-020", "fail")]
    assert "STOP, do not shoot. ARR-020: Do not draw." in ran.out
    assert "How far" not in ran.err


@pytest.mark.parametrize("given", ["", "p\n", f"{PASSED}\n20 yd\n", f"{PASSED}\n20 yd\n1,1\n"])
def test_an_end_in_the_middle_writes_nothing_and_says_so(a_trip, logged, given):
    """Exit code 130."""
    trip = a_trip()
    ran = logged(trip, stdin=given)
    assert (ran.code, ran.out) == (130, "")
    assert "Nothing was logged." in ran.err
    assert not log_path(trip).exists()


@pytest.mark.parametrize(
    ("before", "option"),
    [("", "--at"), (f"Spike tent\n{PASSED}\n", "--distance"), (f"Spike tent\n{PASSED}broadhead\n", "--head")],
)
def test_enter_where_an_answer_is_needed_is_told_once_and_then_ends(a_trip, logged, before, option):
    """What ends it and which option answers it; the second Enter ends like an input that has ended."""
    heads = [{"name": "head A", "kind": "fixed blade", "mass": "100 gr"}, HEAD_B]
    trip = a_trip(destinations=[HUT, SPOT], heads=heads)
    ran = logged(trip, stdin=f"{before}\n\n\n\n")
    assert (ran.code, ran.out) == (130, "")
    assert ran.err.count("an answer is needed") == 1
    told = ran.err[ran.err.index("an answer is needed") :]
    assert "Ctrl-C" in told
    assert option in told
    assert "Nothing was logged." in told
    assert "'' " not in ran.err  # nobody typed two quotation marks
    assert not log_path(trip).exists()


def test_enter_at_a_step_that_failed_before_ends_too(a_trip, logged):
    """It wants p or f, and does not ask for ever."""
    trip = a_trip()
    logged(trip, "--step", "ARR-010", "--value", "fail")
    ran = logged(trip, stdin="\n\n\n\n\n\n")
    assert (ran.code, ran.out) == (130, "")
    assert "--step ARR-010" in ran.err
    assert len(records(trip)) == 1


def test_one_enter_by_mistake_does_no_harm(a_trip, logged):
    """Enter, then an answer; and a wrong answer between two Enters begins the count anew."""
    ran = logged(a_trip(), stdin=f"{PASSED}\n\n20\n\n20 yd\n1,1\n\n")
    assert ran.code == 0, ran.err
    assert ran.err.count("an answer is needed") == 2


def test_the_caution_stands_before_the_first_bare_shaft(a_trip, logged):
    """At each place once: before its distance is asked for, not again when one was logged there."""
    trip = a_trip()
    first = logged(trip, stdin=f"{PASSED}bare\n8 yd\n1,1\n\n")
    assert first.code == 0, first.err
    assert first.err.index("5 to 10 yd (5 to 10 m)") < first.err.index("How far")
    assert "nobody forward" in first.err
    second = logged(trip, stdin="bare\n20 yd\n1,1\n\n")
    assert (second.code, "nobody forward" in second.err) == (0, False)


def test_answers_typed_as_options_are_not_asked_for(a_trip, logged):
    """Kind and distance here; no arrow at all writes only the steps."""
    trip = a_trip()
    ran = logged(trip, "--kind", "broadhead", "--distance", "30 yd", stdin=f"{PASSED}1,1\n\n")
    assert (ran.code, records(trip)[-1].head) == (0, "head A")
    assert "How far" not in ran.err
    nothing = logged(trip, stdin="\n20 yd\n\n")
    assert (nothing.code, nothing.out) == (0, "")
    assert "nothing was logged" in nothing.err


@pytest.mark.parametrize("form", ["json", "text", "markdown"])
def test_the_format_of_the_log_is_published(run, form):
    """As a JSON Schema and as a table of every key."""
    ran = run("schema", "log", "--format", form)
    assert (ran.code, ran.err) == (0, "")
    for key in ("record", "setup", "undoes", "outside"):
        assert key in ran.out
    if form == "json":
        assert json.loads(ran.out)["$schema"].endswith("2020-12/schema")


@pytest.mark.parametrize("words", [("--changed", "rest"), ("--distance", "20 yd", "--shots", "1,1"), ("--undo",)])
@pytest.mark.parametrize(
    ("where", "says", "more"), [("fsync", "It is logged all the same.", 1), ("open", "Nothing was logged.", 0)]
)
def test_control_c_while_a_record_is_written_says_whether_it_is_logged(
    a_trip, logged, monkeypatch, words, where, says, more
):  # fmt: skip
    """Else it would be typed again, and count twice."""

    def interrupted(*_):
        raise KeyboardInterrupt

    trip = a_trip()
    logged(trip, "--changed", "peep")
    monkeypatch.setattr(storage.os, where, interrupted)
    ran = logged(trip, *words)
    monkeypatch.undo()
    assert (ran.code, ran.out, ran.err) == (130, "", f"\n{says}\n\nInterrupted.\n")
    assert len(read_log_file(log_path(trip)).entries) == 1 + more


@pytest.mark.skipif(os.name == "nt", reason="signals of another kind")
def test_control_c_at_a_question_writes_nothing(a_trip):
    """The process ends with 130, and says that nothing was logged."""
    trip = a_trip()
    process = subprocess.Popen(
        [sys.executable, "-m", "readiness", "log", str(trip), *DAY],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=Path(__file__).parents[1],
    )  # fmt: skip
    asked = b""
    while b"p, f or Enter" not in asked:
        asked += os.read(process.stderr.fileno(), 4096)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert (process.returncode, out) == (130, b"")
    assert b"Nothing was logged." in err
    assert not log_path(trip).exists()


def test_bytes_that_are_no_text_are_no_crash(a_trip, logged):
    """The question comes again; a pipe, whose rest is lost with them, ends there with nothing written."""
    trip = a_trip()
    ran = logged(trip, stdin=b"\xff\n" + PASSED.encode() + b"\n20 yd\n1,1\n\n")
    assert (ran.code, ran.out, log_path(trip).exists()) == (130, "", False)
    assert "this is no text" in ran.err
    assert "Nothing was logged." in ran.err
