"""Folder names: any text, any system, no two alike, nothing outside."""

import unicodedata
from pathlib import PurePosixPath, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.camp.folders import folder_names
from readiness.filenames import LONGEST, folder_key, safe_name

# Microsoft, "Naming Files, Paths, and Namespaces" (read 2026): reserved characters and device names.
FORBIDDEN = set('<>:"/\\|?*') | {chr(code) for code in range(32)}
DEVICES = ["CON", "PRN", "AUX", "NUL", *(f"{d}{n}" for d in ("COM", "LPT") for n in range(10))]
NASTY = ["../../x", "..", ".", "", " ", "/", "\\", "C:\\x", "a/b", "~", "con", "CON.txt", "nul.", "x. ", " x", "-rf",
         "a\x00b", "a\nb", "\u202eexe.txt", "x" * 300, "\U0001f3f9", "Stra\u00dfe", "\u0130", "e\u0301", "manifest.jsonl",
         "COM\u00b9", "overview.html"]  # fmt: skip
ANY_TEXT = st.one_of(st.text(max_size=80), st.sampled_from(NASTY), st.sampled_from(DEVICES))


@given(ANY_TEXT)
def test_a_name_is_safe_on_every_system(text):
    """By the published rules of Windows and POSIX, whatever the text."""
    name = safe_name(text)
    assert 0 < len(name) <= LONGEST + 2
    assert len(name.encode("utf-8")) <= 255
    assert not FORBIDDEN & set(name)
    assert name[-1] not in " ."
    assert name[0] not in " .-"
    assert name.split(".")[0].upper() not in DEVICES
    assert PurePosixPath("out", name).parts == ("out", name)
    assert PureWindowsPath("out", name).parts == ("out", name)
    assert name.isprintable()


@given(ANY_TEXT)
def test_a_safe_name_stays_as_it_is(text):
    """Doing it twice changes nothing, so a name in a manifest can be checked."""
    assert safe_name(safe_name(text)) == safe_name(text)


@given(st.lists(st.tuples(st.one_of(st.none(), ANY_TEXT), ANY_TEXT), max_size=12))
def test_every_client_has_a_folder_of_its_own(clients):
    """Also where a system does not tell case or composed accents apart."""
    names = folder_names(clients, taken=["manifest.jsonl", "overview.html"])
    lowered = [unicodedata.normalize("NFC", name.casefold()) for name in names]
    assert len(set(lowered)) == len(clients)
    assert not {"manifest.jsonl", "overview.html"} & set(lowered)
    assert all(safe_name(name) == name for name in names)


@pytest.mark.parametrize("name", ["../../x", "/etc/passwd", "..\\..\\x", "....//x"])
def test_a_name_that_climbs_stays_inside(tmp_path, name):
    """The resolved folder is a child of the output folder."""
    assert (tmp_path / safe_name(name)).resolve().parent == tmp_path.resolve()


def test_two_clients_of_one_name_both_survive():
    """Same id twice: the files' names; same file name twice (in other cases): a number."""
    assert folder_names([("a", "one"), ("A", "two"), (None, "Two")]) == ("one", "two", "Two-2")


def test_an_id_keeps_its_name_against_a_file_that_is_called_so():
    """The id c07 is folder c07, whoever comes first."""
    assert folder_names([(None, "c07"), ("c07", "anna")]) == ("c07-2", "c07")


def test_names_that_one_system_takes_for_one_are_one():
    """Case folding by Unicode, not by ASCII."""
    assert folder_key("STRASSE") == folder_key("stra\u00dfe")
    assert folder_key("e\u0301") == folder_key("\u00e9")
