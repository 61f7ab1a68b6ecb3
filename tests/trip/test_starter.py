"""The first trip file: it loads as it is, with any fitting answer, and with any comment switched on."""

import re
from datetime import date

import pytest

from readiness.trip.load import load_trip
from readiness.trip.starter import QUESTIONS, answer_fault, default_answers, starter_text

TODAY = date(2027, 6, 1)
QUESTION = {question.field: question for question in QUESTIONS}
WRONG = {
    "name": "",
    "starts": "11 Sep 2027",
    "ends": "2027-02-30",
    "travel": "boat",
    "target_zone": "8",
    "hand": "both",
    "home_name": "",
    "home_elevation": "620",
    "home_temperature": "70 F to 74 F",
    "camp_name": "n" * 201,
    "camp_elevation": "87500 ft",
    "camp_temperature": "61 F to 22 F",
    "draw_weight": "66 gr",
    "draw_length": "29",
    "peep_height": "43 in",
    "sight_kind": "pins",
    "radius": "34 inchs",
    "pins": "20 yd, 30",
    "arrow_mass": "45 gr",
    "speed": "2760 fps",
    "shaft_diameter": "0.232 ft",
    "arrow_length": "28,5 in",
    "head_mass": "heavy",
    "head_kind": "broadhead",
}
NAMES = [
    *('Uncle\'s "Red" range', "Ridge: second try", "Camp #2", "{braces}", "[list]", "- dash", "yes", "null", "2027"),
    *(
        "Größe 日本 \U0001f3f9",
        "back\\slash",
        "%d {name}",
        "tab\there",
        "  spaces  ",
        "@home",
        "*star",
        "&and",
        "!bang",
    ),
]
# A commented-out key: indent, #, then a key, or an entry of a list in braces.
SWITCH = re.compile(r"^(?P<indent> *)# (?P<key>(?: *- )?\{?[a-z_]+: .*|[a-z_]+:.*|  .*)$")


def text_with(**answers):
    """The file with the default answers, some of them exchanged."""
    return starter_text(default_answers(TODAY) | answers, "trip.yaml")


def problems_of(text):
    """What is said of a file."""
    return load_trip(text, "trip.yaml", TODAY).problems


def switches(text):
    """Groups of line numbers to switch on together: one key each, or a block with all that is indented below it."""
    groups = []
    for number, line in enumerate(text.splitlines()):
        match = SWITCH.match(line)
        if match and match["key"].startswith(" ") and groups:
            groups[-1].append(number)
        elif match:
            groups.append([number])
    return groups


def switched_on(text, numbers):
    """The text with these lines made keys."""
    lines = text.splitlines()
    for number in numbers:
        match = SWITCH.match(lines[number])
        lines[number] = match["indent"] + match["key"]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    "today", [date(2024, 2, 29), date(2026, 11, 25), date(2027, 1, 1), date(2027, 12, 31), date(2099, 6, 30)]
)
def test_the_file_with_default_answers_is_right_on_any_day(today):
    """Neither an error nor a warning, and the trip is still to come."""
    loaded = load_trip(starter_text(default_answers(today), "trip.yaml"), "trip.yaml", today)
    assert loaded.problems == ()
    assert today < loaded.trip.starts < loaded.trip.ends


def test_every_question_has_a_default_that_passes():
    """An answer left empty at the prompt is a good one."""
    answers = default_answers(TODAY)
    assert answers.pop("today") == str(TODAY)
    assert set(answers) == set(QUESTION)
    assert {field: answer_fault(QUESTION[field], answer) for field, answer in answers.items()} == dict.fromkeys(answers)


@pytest.mark.parametrize("field", QUESTION)
def test_a_wrong_answer_is_refused_with_a_hint(field):
    """Asked again, the user knows what to type."""
    fault = answer_fault(QUESTION[field], WRONG[field])
    assert fault.message
    assert fault.hint


@pytest.mark.parametrize(
    ("field", "answer"),
    [
        ("home_elevation", "7,200 ft"),
        ("home_elevation", "-12 m"),
        ("home_elevation", "620 '"),
        ("home_temperature", "−5 C"),
        ("camp_temperature", "-5 to 16 C"),
        ("camp_temperature", "40 F"),
        ("peep_height", "4 5/16 in"),
        ("radius", '34 "'),
        ("draw_weight", "290 N"),
        ("pins", "20 m"),
        ("pins", "20 yd,30 yd ,  40 yd"),
        ("speed", "276 ft/s"),
        ("travel", "road"),
        ("sight_kind", "slider"),
        ("head_kind", "mechanical"),
    ],
)
def test_an_answer_that_passes_makes_a_file_that_loads(field, answer):
    """The prompt and the file judge alike."""
    assert answer_fault(QUESTION[field], answer) is None
    assert problems_of(text_with(**{field: answer})) == ()


def test_a_sign_for_pounds_is_refused_because_it_begins_a_comment():
    """Behind a blank, # begins a comment in YAML: the prompt names the unit instead."""
    assert answer_fault(QUESTION["draw_weight"], "66 #").hint == "write it in lb or N or kgf"


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("field", ["name", "home_name", "camp_name"])
def test_any_name_survives(field, name):
    """Quotes, colons, signs that mean something in YAML or in a template, and other scripts."""
    assert answer_fault(QUESTION[field], name) is None
    trip = load_trip(text_with(**{field: name}), "trip.yaml", TODAY).trip
    assert {"name": trip.name, "home_name": trip.home.name, "camp_name": trip.destinations[0].name}[field] == name


@pytest.mark.parametrize("name", ["a\x7fb", "a\x85b", "a\x9bb", "a\ufffeb", "a\udcffb"])
def test_a_name_with_a_character_that_yaml_refuses_is_refused_or_survives(name):
    """A control character, or a byte of the terminal that is not UTF-8."""
    fault = answer_fault(QUESTION["name"], name)
    assert fault is not None or load_trip(text_with(name=name), "trip.yaml", TODAY).trip.name == name


def test_the_file_says_how_to_check_it():
    """Under the name it is written to."""
    first = starter_text(default_answers(TODAY), "hunts/ridge.yaml").splitlines()[0]
    assert "readiness check hunts/ridge.yaml" in first


def test_the_switches_found_are_those_in_the_file():
    """So that the tests below try every one."""
    text = text_with()
    names = [text.splitlines()[group[0]].strip(" #").split(":")[0] for group in switches(text)]
    assert len(names) >= 12
    assert {"nearest_shop", "hazards", "station_pressure", "let_off", "speed_readings", "reference"} <= set(names)
    commented = [line for line in text.splitlines() if re.match(r" *#", line) and ":" in line]
    assert [line for line in commented if not SWITCH.match(line)] == commented[:1]  # the sentence on the first line


@pytest.mark.parametrize("index", range(len(switches(text_with()))))
def test_every_key_in_a_comment_is_right_when_switched_on(index):
    """Delete the # in front of a key to use it, as the file says."""
    text = text_with()
    on = switched_on(text, switches(text)[index])
    assert on != text
    assert [p for p in problems_of(on) if p.severity == "error"] == []


def test_all_keys_in_comments_are_right_together():
    """And each line that is switched on is read: the trip has what it says."""
    text = text_with()
    loaded = load_trip(switched_on(text, [n for group in switches(text) for n in group]), "trip.yaml", TODAY)
    assert [p for p in loaded.problems if p.severity == "error"] == []
    trip = loaded.trip
    assert trip.hazards == ("bears", "tree stand", "riding")
    assert trip.nearest_shop_s == 5 * 3600
    assert (len(trip.arrow.speed_readings), len(trip.reference.groups), len(trip.changes)) == (2, 2, 1)
    assert trip.reference.bare_shaft.clock == "7:15"


def test_the_reference_switched_on_gives_no_warning():
    """A newcomer who deletes the # should not be told of a date that the file itself proposed."""
    text = text_with()
    on = switched_on(text, [n for group in switches(text) for n in group])
    assert "future-date" not in [p.code for p in problems_of(on)]
