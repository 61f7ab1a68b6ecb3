"""readiness assess: from a logged evening to an answer that may be acted on; gates, JSON, the corrected copy."""

import json
from datetime import date

import pytest
import yaml

from readiness.trip.load import load_trip

DAY = ("--date", "2027-09-11")
STOPS = ("ARR-010", "ARR-020", "ARR-030", "ARR-040", "ARR-050", "ARR-160")
MARKS = ("ARR-060", "ARR-070", "ARR-080", "ARR-090", "ARR-100", "ARR-110")
NEAR_HIGH = "0.2,1.9@1; -0.3,1.2@2; 0.5,1.6@3"
BARE_WITH_IT = "-0.2,0.9; -0.5,1.4; 0.1,1.1"
FAR_HIGH = "1.2,5.5@1; -2.0,3.1@2; 0.6,7.2@3; -1.1,4.0@4; 2.2,4.8@5; 0.1,6.6@6"
NEAR, BARE, FAR = (
    "0.1,0.5; -0.3,-0.2; 0.5,0.0",
    "-0.2,-0.3; -0.5,-0.2; -0.1,-0.7",
    "1.2,2.5; -2,-1.1; 0.6,0.2; -1.1,1; 2,1; 0,1.6",
)
MOVES = "[{distance: 20 yd, move: 0.1 in, low: 0.0 in, high: 0.2 in, advice: confirm}]"
NOTED = f"{{place: Trailhead camp, on: 2027-09-10, moves: {MOVES}}}"


@pytest.fixture
def trip(tmp_path, sample_text):
    """The first sample in a folder of its own."""
    path = tmp_path / "trip.yaml"
    path.write_text(sample_text(), encoding="utf-8")
    return path


@pytest.fixture
def log(run, trip):
    """A function: log something at the first camp."""

    def logged(*words):
        ran = run("log", trip, "--at", "Trailhead camp", *words, *DAY)
        assert ran.code in (0, 1), ran.err
        return ran

    return logged


@pytest.fixture
def answered(log):
    """A function: answer steps of the plan."""

    def answer(*steps, value="pass"):
        words = [word for step in steps for word in ("--step", step, "--value", value)]
        log(*words)

    return answer


@pytest.fixture
def evening(log):
    """A function: log near fletched, bare and far fletched groups."""

    def shot(near, bare, far):
        log("--distance", "20 yd", "--shots", near, "--temperature", "41 F")
        log("--distance", "20 yd", "--kind", "bare", "--shots", bare)
        log("--distance", "60 yd", "--shots", far)

    return shot


def assessed(run, trip, *words):
    """Exit code and JSON of an assessment."""
    ran = run("assess", trip, "--format", "json", *words, *DAY)
    return ran.code, json.loads(ran.out)


def test_a_slipped_peep_is_found_and_led_to_its_mark(run, trip, evening, answered):
    """Twelve arrows: high in step with distance, the bare shaft with them."""
    answered(*STOPS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    code, data = assessed(run, trip)
    assert code == 1
    leading = data["causes"][0]
    assert leading["cause"] == "sight"
    assert leading["probability"] > 0.8
    assert leading["steps"] == ["ARR-070", "VER-055", "ARR-100"]  # the sight comes last
    outcomes = {v["check"]: v["outcome"] for v in data["verdicts"]}
    assert outcomes == {"bare shaft": "pass", "near zero": "fail", "far zero": "fail"}
    assert data["resight"] == []
    assert "peep" in leading["evidence"]
    page = run("assess", trip, *DAY).out
    assert "Put peep and sight back to their marks" in page
    assert page.index("Most likely") < page.index("What was shot")


def test_the_json_has_the_promised_keys(run, trip, evening, answered):
    """The contract of the command."""
    answered(*STOPS)
    evening(NEAR, BARE, FAR)
    code, data = assessed(run, trip)
    assert code == 0
    assert {"trip", "at", "groups", "verdicts", "causes", "resight", "next"} <= set(data)
    assert {"at", "distance_yd", "kind", "arrows", "right_in", "up_in", "sigma_in"} <= set(data["groups"][0])
    promised = {"check", "outcome", "observed_in", "expected_in", "detectable_in", "p_value", "text"}
    assert all(promised <= set(verdict) for verdict in data["verdicts"])
    assert {cause["cause"] for cause in data["causes"]} == {
        "nothing", "air", "sight", "speed", "vertical tune", "sideways tune", "broadhead flight", "bad arrow", "spread",
        "other",
    }  # fmt: skip
    assert {"distance_yd", "kind", "arrows", "why"} <= set(data["next"])
    near = next(g for g in data["groups"] if g["kind"] == "fletched" and g["distance_yd"] == 20)
    assert near["right_in"] == pytest.approx(0.1)  # (0.1 - 0.3 + 0.5) / 3 by hand
    assert near["up_in"] == pytest.approx(0.1)


def test_while_a_stop_step_is_open_nothing_more_is_shot_and_the_sight_stays(run, trip, evening, answered):
    """And it says which."""
    answered(*STOPS[1:], *MARKS)
    evening(NEAR, BARE, FAR)
    _, data = assessed(run, trip)
    assert data["next"] is None
    assert data["resight"] == []
    assert "ARR-010" in data["next_why"]
    answered("ARR-010")
    _, data = assessed(run, trip)
    assert data["next"] is not None
    assert data["resight"]


def test_a_failed_stop_step_stops_everything(run, trip, evening, answered):
    """Exit 1, with what the step says to do."""
    answered(*STOPS, *MARKS)
    evening(NEAR, BARE, FAR)
    answered("ARR-010", value="fail: white line on the lower limb")
    code, data = assessed(run, trip)
    assert code == 1
    assert data["next"] is None
    assert data["resight"] == []
    assert data["next_why"].startswith("STOP")
    page = run("assess", trip, *DAY).out
    assert page.index("STOP") < page.index("What was shot")


def test_the_sight_stays_until_every_mark_is_known_to_be_right(run, trip, evening, answered):
    """One mark open is enough."""
    answered(*STOPS, *MARKS[1:])
    evening(NEAR, BARE, FAR)
    _, data = assessed(run, trip)
    assert data["resight"] == []
    assert "ARR-060" in data["resight_why"]


def test_a_bare_shaft_off_its_baseline_comes_before_the_sight(run, trip, evening, answered):
    """Tune first."""
    answered(*STOPS, *MARKS)
    evening(NEAR, "3,-0.3; 2.6,-0.2; 3.1,-0.7", FAR)
    code, data = assessed(run, trip)
    assert code == 1
    assert data["causes"][0]["cause"] == "sideways tune"
    assert "away from" not in data["causes"][0]["evidence"]
    assert "toward the riser" in data["causes"][0]["evidence"]  # to the right, for a right-handed archer
    assert data["resight"] == []
    assert "bare shaft" in data["resight_why"]


def test_a_left_handed_archer_reads_it_mirrored_and_an_unknown_hand_is_asked_for(run, tmp_path, sample_text):
    """The same arrows, the other side of the riser."""
    for hand, words in (("left", "away from the riser"), (None, "missing hunter.hand")):
        change = ", hand: right" if hand is None else "hand: right"
        path = tmp_path / f"{hand}.yaml"
        path.write_text(sample_text("high-basin", (change, "" if hand is None else "hand: left")), encoding="utf-8")
        for kind, shots in (("fletched", NEAR), ("bare", "3,-0.3; 2.6,-0.2; 3.1,-0.7")):
            run("log", path, "--at", "Trailhead camp", "--distance", "20 yd", "--kind", kind, "--shots", shots, *DAY)
        _, data = assessed(run, path)
        sideways = next(c for c in data["causes"] if c["cause"] == "sideways tune")
        assert words in sideways["evidence"]


def test_a_change_of_speed_asks_for_limbs_string_and_cams_again(run, trip, evening, answered):
    """A stop: the answers from before the arrows do not count."""
    answered(*STOPS, *MARKS)
    evening(
        "0.1,-0.9; -0.3,-1.2; 0.5,-1.0", "-0.2,-1.3; -0.5,-1.6; -0.1,-1.7", "1,-8.5; -2,-10; 0.6,-9; -1,-8; 2,-9; 0,-9"
    )
    _, data = assessed(run, trip)
    assert data["causes"][0]["cause"] == "speed"
    assert data["causes"][0]["steps"][:3] == ["ARR-010", "ARR-020", "ARR-030"]
    assert data["next"] is None
    assert "launch speed" in data["next_why"]
    answered(*STOPS, *MARKS)
    assert assessed(run, trip)[1]["next"] is not None


def test_a_logged_change_begins_a_new_run(run, trip, evening, log, answered):
    """What was shot before the peep went back is judged no more."""
    answered(*STOPS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    log("--changed", "peep back to its threads")
    log("--distance", "20 yd", "--shots", NEAR)
    code, data = assessed(run, trip)
    assert code == 0
    assert [g["arrows"] for g in data["groups"]] == [3]


def test_an_arrow_outside_the_butt_is_counted_on_the_page(run, trip, log):
    """Never dropped."""
    log("--distance", "20 yd", "--shots", f"{NEAR}; x")
    _, data = assessed(run, trip)
    assert (data["groups"][0]["arrows"], data["groups"][0]["outside"]) == (4, 1)
    assert data["verdicts"][0]["outcome"] == "cannot tell"
    assert "outside the butt" in data["verdicts"][0]["text"]


def test_a_group_without_a_record_to_hold_it_against_is_told(run, trip, log):
    """A bare shaft at another distance than the reference's is not silently left out."""
    log("--distance", "20 yd", "--shots", NEAR)
    log("--distance", "15 yd", "--kind", "bare", "--shots", BARE)
    assert "Bare at 15 yd: judged against nothing" in " ".join(run("assess", trip, *DAY).out.split())


def test_records_of_another_set_up_are_left_out_and_told(run, trip, log, sample_text):
    """Editing gear orphans nothing; another arrow does."""
    log("--distance", "20 yd", "--shots", NEAR)
    trip.write_text(sample_text("high-basin", ("item: cotton wool", "item: cotton")), encoding="utf-8")
    assert assessed(run, trip)[1]["left_out"] == 0
    trip.write_text(sample_text("high-basin", ("mass: 445 gr", "mass: 465 gr")), encoding="utf-8")
    _, data = assessed(run, trip)
    assert (data["left_out"], data["groups"]) == (1, [])


def test_write_notes_the_correction_in_a_copy_and_never_over_the_trip(run, trip, evening, answered):
    """A dated block for the place; the copy is a sound trip, and is not written twice."""
    answered(*STOPS, *MARKS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    before = trip.read_bytes()
    ran = run("assess", trip, "--write", *DAY)
    copy = trip.with_name("trip.trailhead-camp-2027-09-11.yaml")
    assert copy.name in ran.err
    assert trip.read_bytes() == before
    data = yaml.safe_load(copy.read_text(encoding="utf-8"))
    (noted,) = data["resighted"]
    assert noted["place"] == "Trailhead camp"
    assert [m["distance"] for m in noted["moves"]] == ["20 yd", "30 yd", "40 yd", "50 yd", "60 yd"]
    loaded = load_trip(copy.read_text(encoding="utf-8"), "t", date(2027, 9, 11))
    json_moves = {round(m["distance_yd"]): m["move_in"] for m in assessed(run, trip)[1]["resight"]}
    for move in loaded.trip.resighted[0].moves:
        assert move.move_m / 0.0254 == pytest.approx(json_moves[round(move.distance_m / 0.9144)], abs=1e-4)
    assert "A correction of the sight for Trailhead camp" in run("plan", copy, *DAY).out
    again = run("assess", trip, "--write", *DAY)
    assert again.code == 2
    assert "error[exists]" in again.err


def test_a_corrected_copy_without_a_log_says_where_the_older_records_stand(run, trip, evening, answered):
    answered(*STOPS, *MARKS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    assert run("assess", trip, "--write", *DAY).code in (0, 1)
    (copy,) = trip.parent.glob("trip.*.yaml")
    ran = run("assess", copy, *DAY)
    assert ran.code == 2
    assert "may stand in trip.log.jsonl" in ran.err
    copy.rename(copy.with_name("other.yaml"))
    assert "may stand in" not in run("assess", copy.with_name("other.yaml"), *DAY).err


def test_a_second_correction_joins_the_first(run, trip, evening, answered):
    """In the same block."""
    answered(*STOPS, *MARKS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    run("assess", trip, "--write", *DAY)
    copy = trip.with_name("trip.trailhead-camp-2027-09-11.yaml")
    trip.write_bytes(copy.read_bytes() + b"declared: {lighted nock: no}\n")  # a key behind the block
    run("assess", trip, "--write", "--date", "2027-09-12")
    second = trip.with_name("trip.trailhead-camp-2027-09-12.yaml")
    noted = load_trip(second.read_text(encoding="utf-8"), "t", date(2027, 9, 12)).trip.resighted
    assert [str(one.on) for one in noted] == ["2027-09-11", "2027-09-12"]


def test_a_correction_joins_a_block_that_is_not_the_last_of_the_file(run, trip, evening, answered):
    """Other keys behind it stay as they are, and so does a file whose last line has no end."""
    answered(*STOPS, *MARKS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    before = trip.read_text(encoding="utf-8")
    block = f"resighted:\n  - {NOTED}\n"
    for text in (before.replace("gear:\n", f"{block}gear:\n"), before.rstrip("\n"), f"{before}{block}".rstrip("\n")):
        trip.write_text(text, encoding="utf-8")
        ran = run("assess", trip, "--write", *DAY)
        copy = trip.with_name("trip.trailhead-camp-2027-09-11.yaml")
        written = copy.read_text(encoding="utf-8")
        copy.unlink()
        loaded = load_trip(written, "t", date(2027, 9, 11))
        assert loaded.problems == (), ran.err
        days = [str(one.on) for one in loaded.trip.resighted]
        assert days == (["2027-09-10", "2027-09-11"] if "2027-09-10" in text else ["2027-09-11"])
        assert loaded.trip.gear == load_trip(before, "t", date(2027, 9, 11)).trip.gear


@pytest.mark.parametrize("line", ["resighted: []\n", f"resighted: [{NOTED}]\n"])
def test_a_correction_is_not_written_where_no_block_can_be_joined(run, trip, evening, answered, line):
    """A list in one line is not taken apart: it is told what to write instead, and no copy is made."""
    answered(*STOPS, *MARKS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    trip.write_text(trip.read_text(encoding="utf-8") + line, encoding="utf-8")
    ran = run("assess", trip, "--write", *DAY)
    assert ran.code == 2, ran.err
    assert "error[unfit]" in ran.err
    assert [p.name for p in trip.parent.iterdir() if p.suffix == ".yaml"] == ["trip.yaml"]


def test_write_notes_nothing_where_every_pin_says_leave(run, trip, evening, answered):
    """A sight that is to be left alone gets no note in a copy; that, too, is said, and is no failure."""
    answered(*STOPS, *MARKS)
    evening(NEAR, BARE, FAR)
    assert {move["advice"] for move in assessed(run, trip)[1]["resight"]} == {"leave"}
    ran = run("assess", trip, "--write", *DAY)
    assert ran.code == 0
    assert ran.err == "Nothing written: leave the sight alone, there is no correction to note.\n"
    assert [p.name for p in trip.parent.iterdir() if p.suffix == ".yaml"] == ["trip.yaml"]


def test_write_without_a_correction_is_refused_with_the_reason(run, trip, log):
    """Nothing is written."""
    log("--distance", "20 yd", "--shots", NEAR)
    ran = run("assess", trip, "--write", *DAY)
    assert ran.code == 2
    assert "error[no-correction]" in ran.err
    assert [p.name for p in trip.parent.iterdir() if p.suffix == ".yaml"] == ["trip.yaml"]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--at", "Trailhed camp"], "Trailhead camp"),
        (["--longest", "50"], "hint: write 50 yd or 50 m\n"),
        (["--longest", "50 lb"], "hint: write for example 20 yd\n"),
        (["--longest", "50 furlong"], "hint: write it in yd or m\n"),
    ],
)
def test_a_slip_of_the_keys_is_told(run, trip, log, words, code):
    """With what to type."""
    log("--distance", "20 yd", "--shots", NEAR)
    ran = run("assess", trip, *words, *DAY)
    assert ran.code == 2
    assert code in ran.err


def test_without_a_log_it_says_how_to_begin_one(run, trip):
    """Exit 2."""
    ran = run("assess", trip, *DAY)
    assert ran.code == 2
    assert "readiness log" in ran.err


def test_the_next_group_stays_within_what_is_allowed(run, trip, evening, answered):
    """--arrows and --longest."""
    answered(*STOPS)
    evening(NEAR, BARE, FAR)
    _, data = assessed(run, trip, "--arrows", "6", "--longest", "45 yd")
    assert data["next"]["distance_yd"] <= 45
    assert data["next"]["arrows"] <= 6


def test_the_caution_stands_before_the_first_bare_shaft(run, trip, log, answered):
    """5 to 10 yd, a broad butt, nobody forward; before the step itself."""
    answered(*STOPS)
    log("--distance", "20 yd", "--shots", NEAR)
    ran = run("assess", trip, "--longest", "20 yd", *DAY)
    after = " ".join(ran.out[ran.out.index("\nNext\n") :].split())
    assert after.index("CAUTION") < after.index("bare shaft at 7 yd")
    _, data = assessed(run, trip, "--longest", "20 yd")
    assert data["next"]["why"].startswith("A bare shaft can leave the line.")


def test_a_failed_stop_step_is_the_answer_whatever_the_groups_say(run, trip, evening, answered):
    """No good news beside a white line on a limb."""
    evening(NEAR, BARE, FAR)
    answered(*STOPS[1:])
    answered("ARR-010", value="fail: white line")
    _, data = assessed(run, trip)
    assert data["answer"].startswith("STOP")
    assert "shoots as it did" not in run("assess", trip, *DAY).out


def test_no_good_news_stands_beside_a_failed_check(run, trip, evening, log, answered):
    """A first cold arrow far off fails, though no cause of the groups speaks of it."""
    evening(NEAR, BARE, FAR)
    log("--distance", "40 yd", "--cold", "--shots", "9,9")
    answered(*STOPS)
    code, data = assessed(run, trip)
    assert code == 1
    assert [v["outcome"] for v in data["verdicts"] if "cold" in v["check"]] == ["fail"]
    assert data["causes"][0]["cause"] == "nothing"
    assert data["answer"].startswith("Cannot tell what moved: a check failed")


def test_without_a_recorded_bare_shaft_the_bow_is_not_called_proven(run, tmp_path, sample_text, without):
    """What nothing is recorded of cannot have passed."""
    path = tmp_path / "trip.yaml"
    path.write_text(
        sample_text("high-basin", without("high-basin", "  bare_shaft:", "  broadheads:")), encoding="utf-8"
    )
    for yards, shots in (("20 yd", NEAR), ("60 yd", FAR)):
        run("log", path, "--at", "Trailhead camp", "--distance", yards, "--shots", shots, *DAY)
    assert "Not proven yet: bare shaft" in assessed(run, path)[1]["answer"]


def test_a_missed_butt_is_no_good_news(run, trip, log, answered):
    """Exit 1, cannot tell, and no group from as far or farther."""
    answered(*STOPS)
    log("--distance", "20 yd", "--shots", "0,0; 0.3,0.4; 0.1,0.2; x; x")
    code, data = assessed(run, trip)
    assert code == 1
    assert data["answer"].startswith("Cannot tell: 2 arrows missed the butt")
    assert data["next"] is None


def test_a_loss_of_speed_that_is_only_possible_asks_for_the_limbs_again(run, trip, log, answered):
    """One near group low: sight or speed, nobody knows; limbs, string and cams are a minute's look."""
    answered(*STOPS)
    log("--distance", "20 yd", "--shots", "0.1,-1.2; -0.3,-1.7; 0.5,-1.4")
    _, data = assessed(run, trip)
    speed = next(c for c in data["causes"] if c["cause"] == "speed")
    assert speed["probability"] > 0.2
    assert data["next"] is None
    assert "launch speed" in data["answer"]


def test_a_close_up_bare_shaft_that_failed_shuts_the_farther_one(run, trip, log, answered):
    """ARR-170: no bare shaft from farther off."""
    answered(*STOPS)
    log("--distance", "20 yd", "--shots", NEAR)
    answered("ARR-170", value="fail: a foot off")
    code, data = assessed(run, trip, "--longest", "20 yd")
    assert code == 1
    assert data["answer"].startswith("The bare shaft failed close up (ARR-170): back to the marks.")
    assert data["next"]["kind"] == "bare"
    assert data["next"]["distance_yd"] <= 10
    assert "ARR-170" in data["resight_why"]


def test_once_a_pin_was_moved_the_old_zeros_judge_nothing(run, trip, evening, log, answered):
    """Doing what the page says must not lead to an alarm."""
    answered(*STOPS, *MARKS)
    evening(NEAR, BARE, FAR)
    log("--changed", "60 yd pin moved up 0.02 in")
    log("--distance", "60 yd", "--shots", "0,0; 0.5,0.3; -0.5,-0.2; 0.2,0.1; 0,0.4; 0.1,0")
    code, data = assessed(run, trip)
    assert code == 0
    assert data["verdicts"] == []
    assert "moved on purpose" in data["answer"]


def test_a_correction_fits_behind_an_end_mark_and_into_windows_lines(run, trip, evening, answered):
    """The copy keeps the line ends of the trip."""
    answered(*STOPS, *MARKS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    trip.write_bytes((trip.read_text(encoding="utf-8") + "...\n").replace("\n", "\r\n").encode())
    run("assess", trip, "--write", *DAY)
    data = trip.with_name("trip.trailhead-camp-2027-09-11.yaml").read_bytes()
    assert data.count(b"\n") == data.count(b"\r\n")
    assert load_trip(data.decode(), "t", date(2027, 9, 11)).trip.resighted


def test_a_change_in_unknown_words_is_told_on_the_page_again(run, trip, log):
    """Whoever reads the verdicts learns that the sight counts as where it was."""
    log("--changed", "Visier verstellt")
    log("--distance", "20 yd", "--shots", NEAR)
    page = " ".join(run("assess", trip, *DAY).out.split())
    assert "No word in it is known, so it is taken for a change to the bow" in page
    log("--changed", "peep back")
    assert "No word in it is known" not in " ".join(run("assess", trip, *DAY).out.split())


def test_the_page_is_kept_as_it_is(run, trip, evening, answered, golden):
    """The whole page of a slipped peep, to be read when it changes."""
    answered(*STOPS)
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    out = run("assess", trip, *DAY).out
    assert out == golden("assess-slipped-peep.txt", out)


SIGHT_RIGHT = (
    "2.1,0.5; 1.7,-0.2; 2.5,0.0",
    "1.8,-0.3; 1.5,-0.2; 1.9,-0.7",
    "7,2.5; 4,-1.1; 6.6,0.2; 4.9,1; 8,1; 6,1.6",
)


def test_the_headline_promises_no_correction_where_no_pin_is_far_enough_off(run, trip, evening, answered):
    """2 in right at 20 yd, 6 in at 60: the windage. No pin is off in height, and the page says so, with the move."""
    answered(*STOPS, *MARKS, "ARR-170")
    evening(*SIGHT_RIGHT)
    _, data = assessed(run, trip)
    assert data["causes"][0]["cause"] == "sight"
    assert {row["advice"] for row in data["resight"]} <= {"leave", "cannot tell"}
    assert data["housing_in"] is None
    assert data["answer"].endswith("No pin is far enough off to be moved for height.")
    # 6 in at 60 yd is 6/2160 rad; at a radius of 34 in that is 0.094 in
    assert "the sight moves 0.09 in to the right, the way the arrows miss" in data["resight_why"]


def test_where_the_sight_as_a_whole_moved_one_move_of_the_housing_is_told(run, trip, evening, answered):
    answered(*STOPS, *MARKS, "ARR-170")
    evening(NEAR_HIGH, BARE_WITH_IT, FAR_HIGH)
    _, data = assessed(run, trip)
    move, low, high = data["housing_in"]
    assert low < move < high
    assert min(row["move_in"] for row in data["resight"]) < move < max(row["move_in"] for row in data["resight"])
    assert "one move of the whole housing" in data["resight_why"]


def test_the_headline_does_not_speak_of_a_correction_while_the_sight_stays(run, trip, evening, answered):
    """The bare shaft is off its baseline: first that."""
    answered(*STOPS, *MARKS, "ARR-170")
    evening(NEAR_HIGH, "2.8,0.9; 2.5,1.4; 3.1,1.1", FAR_HIGH)
    _, data = assessed(run, trip)
    assert data["resight"] == []
    assert "may be corrected" not in data["answer"]


def test_good_news_names_the_heads_that_are_not_proven(run, trip, evening, log, answered):
    """A hunting head is what it is all about."""
    answered(*STOPS, *MARKS, "ARR-170")
    evening(NEAR, "-0.2,-0.3; -0.5,-0.2; -0.1,-0.7; -0.3,-0.5; -0.2,-0.6; -0.4,-0.4", FAR)
    _, data = assessed(run, trip)
    assert data["answer"].startswith("The bow shoots as it did with field points")
    assert data["answer"].endswith("Not proven yet: hunting head.")


def test_arrows_logged_in_spite_of_a_failed_stop_step_are_logged_and_warned_of(run, trip, log, answered):
    answered("ARR-020", value="fail: a cut strand")
    ran = log("--distance", "20 yd", "--shots", NEAR)
    assert ran.code == 0
    assert "in spite of this: STOP, no further shot: string and cables (ARR-020) failed." in " ".join(ran.err.split())


def test_bare_shafts_where_the_sight_has_no_setting_are_not_called_missing(run, tmp_path, sample_text):
    """The reference distance is 15 yd, the nearest pin 20."""
    trip = tmp_path / "trip.yaml"
    trip.write_text(sample_text().replace("bare_shaft: {distance: 20 yd", "bare_shaft: {distance: 15 yd"), "utf-8")
    at = ("log", trip, "--at", "Trailhead camp", *DAY)
    for words in (
        ("--distance", "20 yd", "--shots", "0.1,3.5; -0.3,2.8; 0.5,3.0"),
        ("--distance", "15 yd", "--shots", "0.1,1.5; -0.3,0.8; 0.5,1.0"),
        ("--distance", "15 yd", "--kind", "bare", "--shots", BARE),
    ):
        assert run(*at, *words).code == 0
    _, data = assessed(run, trip)
    rest = next(cause for cause in data["causes"] if cause["cause"] == "vertical tune")
    assert rest["evidence"].startswith("Bare shaft against its baseline:")


def test_a_close_up_that_failed_stands_in_the_answer_before_any_arrow(run, trip, log, answered):
    """The usual first case: the bare shaft comes before the groups."""
    answered(*STOPS)
    answered("ARR-170", value="fail: a foot off")
    code, data = assessed(run, trip)
    assert code == 1
    assert data["answer"].startswith("The bare shaft failed close up (ARR-170): back to the marks.")
    log("--changed", "20 yd pin moved up")
    answered("ARR-170", value="fail")
    assert assessed(run, trip)[1]["answer"].startswith("The bare shaft failed close up")
    assert "two arrows" in assessed(run, trip, "--arrows", "2", "--longest", "5 yd")[1]["next_why"]


def test_arrows_are_logged_whatever_a_pack_of_the_users_is_like(run, trip, tmp_path):
    (tmp_path / "packs").mkdir()
    (tmp_path / "packs" / "broken.yaml").write_text("pack: [", encoding="utf-8")
    ran = run(
        "log",
        trip,
        "--at",
        "Trailhead camp",
        *DAY,
        "--distance",
        "20 yd",
        "--shots",
        NEAR,
        "--checklists",
        tmp_path / "packs",
    )
    assert ran.code == 0
    assert "Logged at Trailhead camp" in ran.out
