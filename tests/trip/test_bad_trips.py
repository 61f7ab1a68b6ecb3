"""Faulty trip files: every fixture says in comments where it is wrong, and a new file there is a new test."""

import re
from datetime import date
from pathlib import Path

import pytest

import readiness
from readiness.trip.load import load_trip

TODAY = date(2027, 6, 1)
PACKAGE = Path(readiness.__file__).parent
FIXTURES = sorted((Path(__file__).parents[1] / "bad_trips").glob("*.yaml"))
# Codes of the reader that no trip file can show, and why.
WITHOUT_FIXTURE = {"bad-value": "stands for words of JSON Schema that the trip schema does not use"}

every_fixture = pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)


def expected(text):
    """Line and code of every comment `# expect: CODE, CODE`."""
    found = set()
    for number, line in enumerate(text.split("\n"), 1):
        match = re.search(r"# expect: ([a-z, -]+)$", line)
        found |= {(number, code.strip()) for code in match[1].split(",")} if match else set()
    return found


def problems_of(path):
    """What the program says of a fixture."""
    return load_trip(path.read_text(encoding="utf-8"), path.name, TODAY).problems


def codes_in_source():
    """Every code that the modules which read a trip file can give."""
    modules = [PACKAGE / name for name in ("documents.py", "nodes.py", "units.py", "rulings.py", "topics.py")]
    modules += [*PACKAGE.glob("trip/*.py"), *PACKAGE.glob("trip/*.json")]
    text = "\n".join(module.read_text(encoding="utf-8") for module in modules)
    return set(re.findall(r'(?:\bFault\(\s*|"x-code":\s*)"([a-z0-9-]+)"', text))


@every_fixture
def test_a_faulty_file_is_told_all_its_faults_on_their_lines_and_nothing_else(path):
    """The set of lines and codes is that of the comments."""
    wanted = expected(path.read_text(encoding="utf-8"))
    assert wanted, "a fixture without an expectation"
    assert {(p.line, p.code) for p in problems_of(path)} == wanted


@every_fixture
def test_every_error_says_what_to_type_instead(path):
    """A message without a hint leaves a newcomer alone."""
    assert [(p.line, p.code) for p in problems_of(path) if p.severity == "error" and not p.hint.strip()] == []


@every_fixture
def test_every_message_is_short_and_in_words_of_the_file(path):
    """No parser, schema or Python speaks to the user, and no message is a wall of text."""
    for problem in problems_of(path):
        assert len(problem.message) <= 250
        assert not re.search(r"instance|schema|None\b|Traceback|<class|\\n|tag:yaml", problem.message), problem.message


@every_fixture
def test_a_file_with_errors_makes_no_trip_and_one_with_warnings_does(path):
    """Errors stop the program, warnings do not."""
    loaded = load_trip(path.read_text(encoding="utf-8"), path.name, TODAY)
    assert (loaded.trip is None) == any(p.severity == "error" for p in loaded.problems)


def test_every_code_of_the_reader_has_a_fixture():
    """A new check comes with a file that shows it."""
    codes = codes_in_source()
    assert {"syntax", "bare-number", "one-of-two", "out-of-range"} <= codes  # the scan still finds them
    shown = {code for path in FIXTURES for _, code in expected(path.read_text(encoding="utf-8"))}
    assert codes - shown == set(WITHOUT_FIXTURE)


def test_no_fixture_expects_a_code_that_the_reader_does_not_have():
    """A renamed code would otherwise keep its old name here."""
    for path in FIXTURES:
        assert {code for _, code in expected(path.read_text(encoding="utf-8"))} <= codes_in_source()


@pytest.mark.parametrize("name", ["elevation-45000-ft", "arrow-45-gr", "speed-2760-fps", "shaft-0.232-ft"])
def test_the_slips_that_happen_most_have_a_fixture_each(name):
    """A digit too many, a digit lost, a point lost, a unit mistaken."""
    assert name in {path.stem for path in FIXTURES}
