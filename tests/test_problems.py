"""Problems as values and as text: place, source line with a caret, hint, and nothing that drives a terminal."""

import pytest

from readiness.problems import Fault, Problem, has_errors, printable, show, sort_and_dedupe

ERROR = Problem("trip.yaml", 3, 14, "bare-number", "620 has no unit", "write 620 ft", "error", "  elevation: 620")


def caret_target(text):
    """The character of the shown line that stands above the caret."""
    shown, caret = (line for line in text.splitlines() if line.startswith("  | "))
    return shown[caret.index("^")]


def test_a_problem_is_shown_with_place_line_caret_and_hint():
    """The layout that compilers use, so that editors can follow it."""
    assert show(ERROR).splitlines() == [
        "trip.yaml:3:14: error[bare-number]: 620 has no unit",
        "  |   elevation: 620",
        "  |              ^",
        "  hint: write 620 ft",
    ]


def test_a_warning_says_that_it_is_one():
    """Severity stands before the code."""
    assert show(ERROR._replace(severity="warning")).startswith("trip.yaml:3:14: warning[bare-number]: ")


def test_without_hint_or_source_nothing_is_shown_for_them():
    """No empty hint, no caret under nothing."""
    assert show(ERROR._replace(hint="", source="")) == "trip.yaml:3:14: error[bare-number]: 620 has no unit"


def test_a_problem_of_a_whole_file_shows_no_line_number():
    """Line 0 is no place."""
    assert show(Fault("unreadable", "cannot be read", "check the path").at("trip.yaml", 0, 0)) == (
        "trip.yaml: error[unreadable]: cannot be read\n  hint: check the path"
    )


def test_the_caret_stands_under_the_column_when_a_tab_comes_before():
    """A tab is shown as one space, so columns agree."""
    text = show(Problem("t", 1, 5, "c", "m", source="a:\t\tX b"))
    assert text.splitlines()[1:] == ["  | a:  X b", "  |     ^"]


@pytest.mark.parametrize("column", [1, 100, 139, 140, 141, 160, 500, 5_000, 9_999])
def test_a_long_line_is_cut_around_the_caret(column):
    """A line of ten thousand characters shows at most 160 of them, the faulty one among them."""
    source = "." * (column - 1) + "X" + "." * (10_000 - column)
    lines = show(Problem("t", 1, column, "c", "m", source=source)).splitlines()
    assert max(map(len, lines)) <= 164
    assert caret_target("\n".join(lines)) == "X"


@pytest.mark.parametrize(
    ("raw", "visible"),
    [
        ("\x1b[31mred", "\\x1b[31mred"),
        ("a\u202eb", "a\\u202eb"),
        ("a\u2066b\u2069", "a\\u2066b\\u2069"),
        ("a\u200fb", "a\\u200fb"),
        ("bell\x07", "bell\\x07"),
        ("a\rb\nc", "a\\rb\\nc"),
        ("\x9b2J", "\\x9b2J"),
        ("a\ud800", "a\\ud800"),
        ("\ufeffa", "\\ufeffa"),
    ],
)
def test_control_and_direction_characters_are_made_visible(raw, visible):
    """A file cannot move the cursor, colour the screen, or turn text round."""
    assert printable(raw) == visible
    text = show(Problem("t", 1, 1, "c", "m", source=raw))
    assert visible in text
    assert raw not in text


@pytest.mark.parametrize("text", ["plain", "Größe 5′", "日本", "\U0001f600", ""])
def test_letters_of_any_language_stay_as_they_are(text):
    """Only what cannot be printed is replaced."""
    assert printable(text) == text


@pytest.mark.parametrize("field", ["message", "hint", "file"])
def test_no_part_of_a_problem_reaches_the_terminal_raw(field):
    """Messages and hints quote the file: a head or a change may be called by an escape sequence."""
    assert "\x1b" not in show(ERROR._replace(**{field: "\x1b[31mred"}))


@pytest.mark.parametrize("before", ["\x1b", "\u202e"])
def test_the_caret_stands_under_the_column_when_a_hidden_character_comes_before(before):
    """What is made visible moves the caret along."""
    assert caret_target(show(Problem("t", 1, 5, "c", "m", source=f"a: {before}X"))) == "X"


def test_problems_are_sorted_by_file_line_and_column():
    """Lines sort as numbers: 9 before 10."""
    places = [("b", 1, 1), ("a", 10, 1), ("a", 9, 20), ("a", 9, 3)]
    problems = [Problem(*place, "c", "m") for place in places]
    assert [p[:3] for p in sort_and_dedupe(problems)] == [("a", 9, 3), ("a", 9, 20), ("a", 10, 1), ("b", 1, 1)]


def test_the_same_problem_found_twice_is_told_once():
    """Problems that differ in any way are both kept."""
    other = ERROR._replace(message="another")
    assert set(sort_and_dedupe([ERROR, other, ERROR])) == {ERROR, other}
    assert len(sort_and_dedupe([ERROR, other, ERROR])) == 2


def test_only_errors_count_as_errors():
    """Warnings let a file pass."""
    warning = ERROR._replace(severity="warning")
    assert not has_errors([])
    assert not has_errors([warning])
    assert has_errors([warning, ERROR])


def test_a_problem_as_json_has_everything_but_the_source_line():
    """The keys that a program reads."""
    assert ERROR.as_dict() == {
        "severity": "error",
        "code": "bare-number",
        "file": "trip.yaml",
        "line": 3,
        "column": 14,
        "message": "620 has no unit",
        "hint": "write 620 ft",
    }


def test_a_fault_put_in_its_place_keeps_all_it_says():
    """Code, message, hint and severity go over unchanged."""
    fault = Fault("c", "m", "h", "warning")
    assert fault.at("f", 2, 3, "src") == Problem("f", 2, 3, "c", "m", "h", "warning", "src")
