"""Files: read whole or refused with a reason, written whole or not at all."""

import errno
import hashlib
import io
import os
import stat
import sys
from contextlib import suppress
from pathlib import Path
from threading import Thread
from types import SimpleNamespace

import pytest

from readiness import files
from readiness.files import Source, part_of, read_source, replace_parts, sha256_of, write_bytes, write_new
from readiness.problems import Problem, show

LIMIT = 1_000_000


@pytest.fixture
def stdin(monkeypatch):
    """A function that puts bytes on standard input."""
    return lambda data: monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(data)))


def read(path, data):
    """The answer for a file with these bytes."""
    path.write_bytes(data)
    return read_source(str(path))


def test_a_file_is_read_with_its_name_text_and_sum(tmp_path):
    """The sum is of the bytes, by an independent implementation; line ends stay."""
    data = "a: ä\r\nb: 2\n".encode()
    path = tmp_path / "trip.yaml"
    assert read(path, data) == Source(str(path), "a: ä\r\nb: 2\n", hashlib.sha256(data).hexdigest())


def test_a_byte_order_mark_is_taken_off_but_counts_in_the_sum(tmp_path):
    """What an editor put in front is no part of the text."""
    data = b"\xef\xbb\xbfa: 1\n"
    found = read(tmp_path / "t", data)
    assert found.text == "a: 1\n"
    assert found.sha256 == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize("size", [0, 1, 63, 64, 65, 1000])
def test_the_sum_is_sha_256_whatever_module_computes_it(size):
    """Against hashlib, around the block size."""
    assert sha256_of(b"x" * size) == hashlib.sha256(b"x" * size).hexdigest()


def test_a_file_at_the_limit_is_read_and_one_byte_more_is_not(tmp_path):
    """A million bytes, as the message says."""
    assert isinstance(read(tmp_path / "t", b"x" * LIMIT), Source)
    found = read(tmp_path / "t", b"x" * (LIMIT + 1))
    assert (found.code, found.line) == ("too-large", 0)
    assert "1,000,000" in found.message


@pytest.mark.parametrize(
    ("data", "line", "column"),
    [(b"\xff\xfea", 1, 1), (b"a: 1\nb: \xff\n", 2, 4), (b"a: 1\r\nb: 2\r\nc: \xc3", 3, 4), (b"a\n\xed\xa0\x80", 2, 1)],
)
def test_bytes_that_are_not_utf8_are_told_with_their_place(tmp_path, data, line, column):
    """The first wrong byte has a line and a column."""
    found = read(tmp_path / "t", data)
    assert (found.code, found.line, found.column) == ("not-utf8", line, column)
    assert "UTF-8" in found.hint


def test_the_column_of_a_wrong_byte_counts_characters(tmp_path):
    """As an editor counts: the byte behind two umlauts and a blank is the fourth character."""
    assert read(tmp_path / "t", "ää ".encode() + b"\xff").column == 4


def test_a_folder_is_told(tmp_path):
    """It is not tried to be read."""
    found = read_source(str(tmp_path))
    assert found.code == "unreadable"
    assert "folder" in found.message


def test_a_missing_file_is_told_with_the_name_as_given(tmp_path):
    """The name stands first in the message, as the user typed it."""
    found = read_source(str(tmp_path / "nothing.yaml"))
    assert found.code == "unreadable"
    assert found.hint
    assert show(found).startswith(str(tmp_path / "nothing.yaml") + ": error")


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000, ""])
def test_a_name_that_no_file_can_have_is_told(name):
    """A problem, not an exception."""
    assert read_source(name).code == "unreadable"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_named_pipe_is_refused_and_does_not_hang(tmp_path):
    """Opening one would wait for a writer for ever."""
    os.mkfifo(tmp_path / "pipe")
    answers = []
    thread = Thread(target=lambda: answers.append(read_source(str(tmp_path / "pipe"))), daemon=True)
    thread.start()
    thread.join(10)
    assert [answer.code for answer in answers] == ["unreadable"]


def test_standard_input_is_read_for_a_dash(stdin):
    """It has a name of its own for messages."""
    stdin(b"a: 1\n")
    assert read_source("-")[:2] == ("<stdin>", "a: 1\n")


@pytest.mark.parametrize(("data", "code"), [(b"x" * (LIMIT + 1), "too-large"), (b"\xff", "not-utf8")])
def test_standard_input_has_the_same_limits(stdin, data, code):
    """Too much or not text is refused."""
    stdin(data)
    found = read_source("-")
    assert (found.file, found.code) == ("<stdin>", code)


def test_a_new_file_is_written_as_given_and_readable_by_others(tmp_path):
    """UTF-8, line ends as they are, an ordinary file."""
    assert write_new(tmp_path / "t.yaml", "a: ä\nb: 2\n") is None
    assert (tmp_path / "t.yaml").read_bytes() == "a: ä\nb: 2\n".encode()
    assert stat.S_IMODE((tmp_path / "t.yaml").stat().st_mode) == 0o644
    assert [p.name for p in tmp_path.iterdir()] == ["t.yaml"]


def test_a_bare_name_is_written_into_the_folder_one_is_in(tmp_path, monkeypatch):
    """Without a folder in the name."""
    monkeypatch.chdir(tmp_path)
    assert write_new(Path("t.yaml"), "a") is None
    assert (tmp_path / "t.yaml").read_text(encoding="utf-8") == "a"


def test_a_file_that_is_there_is_not_replaced(tmp_path):
    """Its text stays; the hint names the way out."""
    path = tmp_path / "t.yaml"
    path.write_text("old", encoding="utf-8")
    problem = write_new(path, "new")
    assert problem.code == "exists"
    assert "--force" in problem.hint
    assert path.read_text(encoding="utf-8") == "old"


def test_a_file_is_replaced_when_told_so(tmp_path):
    """Nothing but the new text is left."""
    path = tmp_path / "t.yaml"
    path.write_text("old and longer", encoding="utf-8")
    assert write_new(path, "new", replace=True) is None
    assert path.read_text(encoding="utf-8") == "new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_full_disk_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    """The last step fails: the old text is whole, the temporary file is gone."""
    path = tmp_path / "t.yaml"
    path.write_text("old", encoding="utf-8")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    problem = write_new(path, "new", replace=True)
    assert problem.code == "unwritable"
    assert "No space left" in problem.message
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_of_that_name_is_not_replaced(tmp_path):
    """Even when told to replace."""
    (tmp_path / "t").mkdir()
    assert isinstance(write_new(tmp_path / "t", "new", replace=True), Problem)
    assert [p.name for p in tmp_path.iterdir()] == ["t"]
    assert (tmp_path / "t").is_dir()


def test_a_folder_that_is_not_there_is_told(tmp_path):
    """It is not made."""
    problem = write_new(tmp_path / "no" / "t.yaml", "new")
    assert problem.code == "unwritable"
    assert list(tmp_path.iterdir()) == []


def test_text_that_no_file_can_hold_is_a_problem(tmp_path):
    """Half a character, as a terminal gives for bytes that are not UTF-8."""
    problem = write_new(tmp_path / "t.yaml", "name: \udcff")
    assert isinstance(problem, Problem)


def test_text_that_no_file_can_hold_leaves_no_file(tmp_path):
    """Neither half a file nor a temporary one, however it ends."""
    with suppress(ValueError):
        write_new(tmp_path / "t.yaml", "name: \udcff")
    assert list(tmp_path.iterdir()) == []


def test_a_name_too_long_to_write_is_a_problem(tmp_path):
    """As it is for reading."""
    assert isinstance(write_new(tmp_path / ("x" * 5000), "new"), Problem)


def test_a_replaced_file_is_whole_and_written_through_no_link(tmp_path):
    """Parts become one file; a link that lies where the temporary file goes is taken away, not followed."""
    other = tmp_path / "other.txt"
    other.write_text("mine")
    target = tmp_path / "paper.pdf"
    part_of(target).symlink_to(other)
    replace_parts(target, (b"%PDF", b"-1.7"))
    replace_parts(target, iter([b"new"]))
    assert (target.read_bytes(), other.read_text()) == (b"new", "mine")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["other.txt", "paper.pdf"]


def test_a_file_that_fails_half_way_leaves_the_old_one(tmp_path):
    """What was there stays until the new one is whole."""
    target = tmp_path / "overview.html"
    target.write_bytes(b"old")

    def parts():
        yield b"half"
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        replace_parts(target, parts())
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_ctrl_c_in_the_middle_of_a_file_leaves_the_old_one_and_nothing_else(tmp_path):
    """An interrupt is no OSError, and leaves no temporary file either."""
    target = tmp_path / "card.pdf"
    target.write_bytes(b"old")

    def parts():
        yield b"half"
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        replace_parts(target, parts())
    with pytest.raises(KeyboardInterrupt):
        write_bytes(target, *parts())
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("make", [os.mkfifo, Path.mkdir, lambda path: path.symlink_to("/dev/null")])
def test_what_is_no_file_is_never_replaced_by_one(tmp_path, make):
    """`-o /dev/null` by root would have put a file in the place of the device."""
    make(tmp_path / "out")
    before = (tmp_path / "out").lstat()
    for problem in (write_bytes(tmp_path / "out", b"x"), write_new(tmp_path / "out", "x", replace=True)):
        assert (problem.code, problem.hint != "") == ("unwritable", True)
    assert (tmp_path / "out").lstat() == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.parametrize("there", [True, False])
def test_a_link_stays_a_link_and_what_it_names_is_written(tmp_path, there):
    """Into the folder where the file itself stands, which is not that of the link."""
    (tmp_path / "papers").mkdir()
    paper, link = tmp_path / "papers" / "card.pdf", tmp_path / "card.pdf"
    if there:
        paper.write_bytes(b"old")
    link.symlink_to(paper)
    assert write_bytes(link, b"new") is None
    assert (link.is_symlink(), paper.read_bytes()) == (True, b"new")
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["card.pdf", "card.pdf", "papers"]


def test_a_link_to_itself_is_told(tmp_path):
    """It leads nowhere, and stays."""
    (tmp_path / "x").symlink_to("x")
    assert write_bytes(tmp_path / "x", b"new").code == "unwritable"
    assert (tmp_path / "x").is_symlink()


@pytest.mark.parametrize("links", [True, False], ids=["with hard links", "a disk without"])
def test_a_file_that_another_process_made_meanwhile_stays(tmp_path, monkeypatch, links):
    """Between the look and the writing, a second `new` of the same name may have written its own."""
    path = tmp_path / "trip.yaml"

    def free_still(_):
        path.write_text("theirs", encoding="utf-8")

    if not links:
        monkeypatch.setattr(files.os, "link", _no_links)
    monkeypatch.setattr(files, "taken_problem", free_still)
    problem = write_new(path, "ours")
    assert (problem.code, problem.hint) == ("exists", "choose another name, or add --force")
    assert path.read_text(encoding="utf-8") == "theirs"
    assert list(tmp_path.iterdir()) == [path]


def test_a_new_file_is_written_on_a_disk_without_hard_links(tmp_path, monkeypatch):
    """Memory cards and some network drives have none."""
    monkeypatch.setattr(files.os, "link", _no_links)
    assert write_new(tmp_path / "trip.yaml", "ours") is None
    assert (tmp_path / "trip.yaml").read_text(encoding="utf-8") == "ours"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_new_file_that_is_cut_off_on_a_disk_without_hard_links_leaves_its_name_free(tmp_path, monkeypatch):
    """The name is taken by an empty file first; Ctrl-C takes that away, too."""

    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "link", _no_links)
    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_new(tmp_path / "trip.yaml", "ours")
    assert list(tmp_path.iterdir()) == []


def _no_links(*_, **__):
    raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))
