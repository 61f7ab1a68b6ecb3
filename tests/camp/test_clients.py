"""Which files are clients, and which are refused unread."""

import os

import pytest

from readiness.camp.clients import clients_of, document_of, fingerprint_of, id_of, name_of
from readiness.documents import MAX_BYTES


@pytest.fixture
def folder(tmp_path, client_text):
    """A camp's folder with one good client."""
    (tmp_path / "clients").mkdir()
    (tmp_path / "clients" / "asa.yaml").write_text(client_text(), encoding="utf-8")
    return tmp_path


def test_the_yaml_files_of_the_folder_are_the_clients(folder, a_camp):
    """By name; hidden files, other files and deeper folders are none."""
    for name in ("bert.yml", ".hidden.yaml", "notes.txt"):
        (folder / "clients" / name).write_text("format: 1\n")
    (folder / "clients" / "older").mkdir()
    found = clients_of(a_camp(), folder)
    assert [client.stem for client in found.clients] == ["asa", "bert"]
    assert found.problems == ()


def test_a_link_is_refused_with_a_reason(folder, a_camp):
    """Also one that stays inside: nobody sees where it will lead tomorrow."""
    (folder / "clients" / "link.yaml").symlink_to(folder / "clients" / "asa.yaml")
    (folder / "clients" / "out.yaml").symlink_to("/etc/passwd")
    for client in clients_of(a_camp(), folder).clients[1:]:
        document, (problem,), fingerprint = document_of(client)
        assert (document, fingerprint, problem.code) == (None, "", "unreadable")
        assert "link" in problem.message


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_refused_and_not_waited_for(folder, a_camp):
    """Opening a pipe without a writer would hang."""
    os.mkfifo(folder / "clients" / "pipe.yaml")
    client = clients_of(a_camp(), folder).clients[1]
    assert fingerprint_of(client) == ""
    assert "no regular file" in document_of(client)[1][0].message


def test_a_folder_called_like_a_client_is_refused(folder, a_camp):
    """x.yaml that is a folder."""
    (folder / "clients" / "dir.yaml").mkdir()
    assert document_of(clients_of(a_camp(), folder).clients[1])[1][0].severity == "error"


@pytest.mark.parametrize(
    ("data", "code"),
    [(b"x" * (MAX_BYTES + 1), "too-large"), (b"\xff\xfe\x00", "not-utf8"), (b"", "empty"), (b"a: [", "syntax")],
)
def test_a_file_that_is_no_text_is_told(folder, a_camp, data, code):
    """Size, encoding and syntax, each with the file's name."""
    (folder / "clients" / "bad.yaml").write_bytes(data)
    document, problems, _ = document_of(clients_of(a_camp(), folder).clients[1])
    assert document is None
    assert problems[0].code == code
    assert problems[0].file.endswith("bad.yaml")


@pytest.mark.parametrize("target", ["clients", "table.csv"])
def test_clients_that_lead_out_by_a_link_are_refused(folder, a_camp, target, tmp_path_factory):
    """The camp file is a stranger's: a link beside it must not open another folder."""
    away = tmp_path_factory.mktemp("away") / "table.csv"
    away.write_text("hunter.name\nAnna\n")
    camp = a_camp(("clients: clients", "clients: door"))
    (folder / "door").symlink_to(away if target == "table.csv" else away.parent)
    found = clients_of(camp, folder)
    assert found.clients == ()
    (problem,) = found.problems
    assert (problem.file, problem.code) == ("camp.yaml", "outside-folder")


@pytest.mark.parametrize(
    ("written", "made", "code"),
    [("nowhere", None, "unreadable"), ("empty", "folder", "no-clients"), ("notes.md", "file", "not-csv"),
     ("none.csv", "file", "no-clients")],
)  # fmt: skip
def test_a_camp_without_clients_is_told_at_its_key(folder, a_camp, written, made, code):
    """Wrong name, empty folder, no table, table without rows."""
    if made == "folder":
        (folder / written).mkdir()
    elif made:
        (folder / written).write_text("hunter.name\n")
    camp = a_camp(("clients: clients", f"clients: {written}"))
    (problem,) = clients_of(camp, folder).problems
    assert problem.code == code
    assert camp.document.line(problem.line).startswith("clients:")


@pytest.mark.parametrize("text", ["[]", "hunter: 5", "hunter: {id: 7}", "hunter: {id: ' '}", "hunter: {name: [a]}"])
def test_an_id_is_text_or_none(a_document, text):
    """Whatever stands there, the question has an answer."""
    document = a_document(text)
    assert id_of(document) is None
    assert name_of(document) is None
