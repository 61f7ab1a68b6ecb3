"""Files that clients sent back: whose they are, what is refused and why, and what the overview makes of them."""

import os
from pathlib import Path

import pytest

from readiness.arrival import storage
from readiness.arrival.lines import to_line
from readiness.arrival.log import log_path, read_log_file, setup_hash
from readiness.arrival.storage import MAX_LOG_BYTES
from readiness.camp.clients import clients_of, document_of, id_of
from readiness.camp.collect import collect
from readiness.camp.making import Setting
from readiness.camp.merge import load_client
from readiness.camp.returned import returned_of
from readiness.locking import locked

IDS = {"asa": "lf01", "birte": "lf02"}


class Desk:
    """A camp on a disk with an inbox."""

    def __init__(self, folder, camp, day, texts):
        self.folder, self.inbox = folder, folder / "inbox"
        (folder / "clients").mkdir()
        self.inbox.mkdir()
        for name, text in texts.items():
            (folder / "clients" / f"{name}.yaml").write_text(text, encoding="utf-8")
        self.setting = Setting(camp, (), (), day)
        self.clients = clients_of(camp, folder).clients
        self.ids = [id_of(document_of(client)[0]) for client in self.clients]

    def trip(self, name):
        client = next(client for client in self.clients if client.stem == name)
        return load_client(document_of(client)[0], self.setting.camp.document, (), self.setting.today).trip

    def form(self, name="asa", number=1, **keys):
        """A sound return form of a client, with keys exchanged; a key given as None is left out."""
        trip = self.trip(name)
        data = {
            "record": "form",
            "id": f"{number:012x}",
            "time": "2027-09-02T18:00:00-06:00",
            "version": "0.1.0",
            "setup": setup_hash(trip),
            "at": trip.destinations[0].name,
            "client": trip.hunter_id,
            "values": {"verified_distance": "50 yd"},
            **keys,
        }
        return {key: value for key, value in data.items() if value is not None}

    def put(self, name, *records):
        (self.inbox / name).write_text("".join(map(to_line, records)), encoding="utf-8")

    def collect(self):
        before = {p.name: p.read_bytes() for p in self.inbox.iterdir() if p.is_file() and not p.is_symlink()}
        found = collect(self.inbox, self.setting, self.clients, self.ids)
        assert {p.name: p.read_bytes() for p in self.inbox.iterdir() if p.is_file() and not p.is_symlink()} == before
        return found

    def log(self, name):
        return read_log_file(log_path(self.folder / "clients" / f"{name}.yaml"))

    def told(self):
        """What is refused: (file, line, code)."""
        found = self.collect()
        assert not found.taken
        assert not list((self.folder / "clients").glob("*.jsonl"))
        return [(Path(p.file).name, p.line, p.code) for p in found.problems]


@pytest.fixture
def desk(tmp_path, a_camp, client_text, day):
    """The sample camp with two of its clients, and an empty inbox."""
    return Desk(tmp_path, a_camp(), day, {name: client_text(name) for name in IDS})


def test_a_form_goes_to_the_client_that_it_names_whatever_its_file_is_called(desk):
    """By its id; taken again, nothing is new and no byte of the log changes."""
    desk.put("camp.log (3).jsonl", desk.form("birte"))
    found = desk.collect()
    assert [tuple(one) for one in found.taken] == [("camp.log (3).jsonl", IDS["birte"], 1, 0)]
    assert found.problems == ()
    path = log_path(desk.folder / "clients" / "birte.yaml")
    before = path.read_bytes()
    assert [tuple(one)[2:] for one in desk.collect().taken] == [(0, 1)]
    assert path.read_bytes() == before
    assert not log_path(desk.folder / "clients" / "asa.yaml").exists()


@pytest.mark.parametrize("name", ["lf01.jsonl", "lf01.log.jsonl", "LF01.JSONL"])
def test_a_file_without_a_form_goes_by_its_name(desk, name):
    """A log of arrows alone names nobody."""
    change = {**desk.form("asa"), "record": "change", "what": "peep back to its threads"}
    desk.put(name, {key: value for key, value in change.items() if key not in ("client", "values")})
    assert [one.client for one in desk.collect().taken] == ["lf01"]
    assert len(desk.log("asa").entries) == 1


@pytest.mark.parametrize(
    ("keys", "line", "code"),
    [
        ({"client": "lf99"}, 2, "unknown-id"),
        ({"client": "../../x"}, 2, "unknown-id"),
        ({"client": "lf02"}, 1, "other-setup"),
        ({"setup": "0123456789abcdef"}, 1, "other-setup"),
        ({"at": "Elsewhere"}, 2, "unknown-name"),
        ({"values": {"draw_weight": "660 lb"}}, 2, "out-of-range"),
        ({"values": {"draw_weight": "66"}}, 2, "bare-number"),
        ({"values": {"verified_distance": "400 yd"}}, 2, "out-of-range"),
        ({"values": {"far_group": {"arrows": 1, "size": "2 in", "distance": "40 yd"}}}, 2, "out-of-range"),
        ({"values": {"technician_checked_on": "2027-09-03"}}, 2, "bad-date"),
        ({"values": {"blood pressure": "120"}}, 2, "unknown-key"),
        ({"time": "2027-12-24T18:00:00-06:00"}, 2, "future-date"),
    ],
    ids=str,
)
def test_what_cannot_be_is_refused_whole_with_its_line_and_the_others_go_on(desk, keys, line, code):
    """The sound record on the line before is not taken either; the file of another client is."""
    sound = desk.form(
        "asa", 1, client=keys.get("client", "lf01"), setup=keys.get("setup", setup_hash(desk.trip("asa")))
    )
    desk.put("a.jsonl", sound, desk.form("asa", 2, **keys))
    desk.put("b.jsonl", desk.form("birte", 3))
    found = desk.collect()
    assert [one.client for one in found.taken] == ["lf02"]
    assert {(p.line, p.code) for p in found.problems if p.code != "other-client"} == {(line, code)}
    assert all(p.file.endswith("a.jsonl") and p.message for p in found.problems)
    assert desk.log("asa").entries == ()


def test_a_file_of_an_unknown_id_is_laid_to_no_one_by_its_spelling(desk):
    """What its set-up says is told; where no client has that set-up, nobody is named, however alike the ids are."""
    desk.put("a.jsonl", desk.form("asa", client="lf02x"))
    desk.put("b.jsonl", desk.form("asa", 2, client="lf01x", setup="0123456789abcdef"))
    desk.put("lf03.jsonl", desk.form("birte", 3, client=None))
    hints = {Path(problem.file).name: problem.hint for problem in desk.collect().problems}
    assert hints == {
        "a.jsonl": "its set-up is that of lf01: ask whether they sent it",
        "b.jsonl": "ask who sent it",
        "lf03.jsonl": "its set-up is that of lf02: ask whether they sent it",
    }


def test_every_client_of_a_set_up_is_named(tmp_path, a_camp, client_text, day):
    """Six who filled in one bow: three names, and how many more."""
    texts = {f"c{n}": client_text("asa", ("id: lf01", f"id: c{n}")) for n in range(5)}
    desk = Desk(tmp_path, a_camp(), day, {"asa": client_text("asa"), **texts})
    desk.put("a.jsonl", desk.form("asa", client="x"))
    (problem,) = desk.collect().problems
    assert problem.hint == "its set-up is that of lf01, c0, c1 and 3 more: ask whether they sent it"


def test_two_clients_in_one_file_or_of_one_id_are_refused(tmp_path, a_camp, client_text, day):
    """Nobody guesses whose it is."""
    texts = {"asa": client_text("asa"), "birte": client_text("birte"), "twin": client_text("asa")}
    desk = Desk(tmp_path, a_camp(), day, texts)
    desk.put("both.jsonl", desk.form("asa"), desk.form("birte", 2))
    desk.put("one.jsonl", desk.form("asa"))
    assert desk.told() == [("both.jsonl", 2, "two-clients"), ("one.jsonl", 1, "repeated-id")]


def test_a_client_whose_own_file_is_bad_gets_nothing(tmp_path, a_camp, client_text, day):
    """There is no trip to check it against."""
    desk = Desk(tmp_path, a_camp(), day, {"asa": client_text("asa")})
    form = desk.form("asa")
    bad = client_text("asa", ("draw_weight: 64 lb", "draw_weight: 64"))
    (tmp_path / "clients" / "asa.yaml").write_text(bad, encoding="utf-8")
    desk.put("a.jsonl", form)
    assert desk.told() == [("a.jsonl", 1, "bad-client")]


def test_hostile_files_are_refused_or_passed_over_and_harm_nothing(desk):
    """A link, a pipe, a huge file, bytes that are no text, an empty file; folders and other names are nobody's business."""
    secret = desk.folder / "outside.jsonl"
    secret.write_text(to_line(desk.form("asa")), encoding="utf-8")
    (desk.inbox / "link.jsonl").symlink_to(secret)
    os.mkfifo(desk.inbox / "pipe.jsonl")
    (desk.inbox / "lf01.jsonl").mkdir()
    (desk.inbox / "notes.txt").write_text("hello", encoding="utf-8")
    (desk.inbox / ".hidden.jsonl").write_text("x", encoding="utf-8")
    with (desk.inbox / "huge.jsonl").open("wb") as file:
        file.truncate(MAX_LOG_BYTES + 1)
    (desk.inbox / "binary.jsonl").write_bytes(bytes(range(256)) * 400)
    (desk.inbox / "empty.jsonl").write_bytes(b"")
    (desk.inbox / "..%2f..%2fx.jsonl").write_bytes(b"")  # begins with a dot
    (desk.inbox / "x%2f..%2f..jsonl").write_bytes(b"")
    told = desk.told()
    codes = {name: {code for n, _, code in told if n == name} for name, _, _ in told}
    assert codes.pop("binary.jsonl") >= {"not-utf8", "bad-log"}
    assert codes == {
        "link.jsonl": {"unreadable"},
        "pipe.jsonl": {"unreadable"},
        "huge.jsonl": {"too-large"},
        "empty.jsonl": {"unknown-id"},
        "x%2f..%2f..jsonl": {"unknown-id"},
    }
    assert len(told) < 25
    assert not os.path.lexists(desk.folder.parent / "x.log.jsonl")


def test_half_a_file_is_no_file(desk):
    """A last line that was cut off on its way takes the sound ones before it along."""
    desk.put("a.jsonl", desk.form("asa"))
    with (desk.inbox / "a.jsonl").open("a", encoding="utf-8") as file:
        file.write('{"record": "form", "id')
    assert desk.told() == [("a.jsonl", 2, "torn-line")]


def test_a_log_that_is_a_link_is_not_followed(desk):
    """Nothing is ever written outside of the clients' folder."""
    outside = desk.folder / "outside"
    log_path(desk.folder / "clients" / "asa.yaml").symlink_to(outside)
    desk.put("a.jsonl", desk.form("asa"))
    assert [p.code for p in desk.collect().problems] == ["unreadable"]
    assert not outside.exists()


def test_the_newest_form_counts_by_its_own_time(desk):
    """Not by the order in which files are read: 18:00 six hours west of Greenwich is later than 20:00 two hours east."""
    desk.put("a.jsonl", desk.form("asa", 1, values={"verified_distance": "40 yd"}))
    early = {"values": {"verified_distance": "30 yd"}, "time": "2027-09-02T20:00:00+02:00"}
    desk.put("b.jsonl", desk.form("asa", 2, **early))
    desk.collect()
    found = returned_of(desk.trip("asa"), desk.log("asa").log)
    assert (found.on, found.verified) == ("2027-09-02", "40 yd")


@pytest.mark.parametrize(
    ("values", "call"),
    [
        ({"draw_weight": "65 lb"}, None),
        ({"draw_weight": "65.2 lb"}, "draw weight 65.2 lb in the return form, 64 lb as you have it"),
        ({"draw_weight": "62.9 lb"}, "draw weight 62.9 lb in the return form, 64 lb as you have it"),
        ({"verified_distance": "49 yd"}, "verified to 49 yd, and the farthest pin is 50 yd"),
        ({"verified_distance": "50 yd"}, None),
        ({"second_release": "no"}, "no second release"),
        ({"second_release": "yes", "education_number_seen": "no"}, "education number not seen"),
    ],
    ids=str,
)
def test_a_difference_is_worth_a_call_and_no_more(desk, values, call):
    """More than a pound off, short of the farthest pin, or a no: told, and taken all the same."""
    assert desk.trip("asa").entered["bow.draw_weight"] == "64 lb"
    desk.put("a.jsonl", desk.form("asa", values=values))
    assert len(desk.collect().taken) == 1
    assert returned_of(desk.trip("asa"), desk.log("asa").log).calls == ((call,) if call else ())


def test_a_form_of_a_set_up_since_changed_is_told(desk, client_text):
    """Whoever changes the bow after sending the form is asked again."""
    desk.put("a.jsonl", desk.form("asa"))
    desk.collect()
    changed = client_text("asa", ("draw_weight: 64 lb", "draw_weight: 64.5 lb"))
    (desk.folder / "clients" / "asa.yaml").write_text(changed, encoding="utf-8")
    found = returned_of(desk.trip("asa"), desk.log("asa").log)
    assert (found.verified, found.verified_otherwise) == ("", "50 yd")
    (call,) = found.calls
    assert "another set-up" in call


def test_a_distance_short_of_the_pins_is_no_second_call_where_it_does_not_count(desk, client_text):
    """With another set-up nothing is verified, so nothing is verified short."""
    desk.put("a.jsonl", desk.form("asa", values={"verified_distance": "30 yd", "second_release": "no"}))
    desk.collect()
    changed = client_text("asa", ("draw_weight: 64 lb", "draw_weight: 64.5 lb"))
    (desk.folder / "clients" / "asa.yaml").write_text(changed, encoding="utf-8")
    found = returned_of(desk.trip("asa"), desk.log("asa").log)
    assert [call.partition(" was ")[0] for call in found.calls] == [
        "the return form",
        "no second release",
    ]


def test_what_is_no_log_by_its_name_is_named(desk):
    """A phone may add an ending: whoever sent it must not seem to have sent nothing."""
    desk.put("lf01.jsonl", desk.form("asa"))
    desk.put("lf02.jsonl.txt", desk.form("birte"))
    (desk.inbox / "photo.jpg").write_bytes(b"x")
    (desk.inbox / "older").mkdir()
    (desk.inbox / ".lf03.jsonl").write_text("", encoding="utf-8")
    found = desk.collect()
    assert [one.file for one in found.taken] == ["lf01.jsonl"]
    assert found.passed_over == (".lf03.jsonl", "lf02.jsonl.txt", "older/", "photo.jpg")


def test_rows_of_a_table_have_logs_beside_it_named_by_their_ids(tmp_path, a_camp):
    """A row moves when a spreadsheet is sorted, so one without an id of its own has no log."""
    from readiness.camp.returned import logs_of

    header = "hunter.id,hunter.name\n"
    (tmp_path / "clients.csv").write_text(header + "../../x,Anna\n,Bert\nc 7,Cora\nD,Dora\nd,Dirk\n", encoding="utf-8")
    clients = clients_of(a_camp(("clients: clients", "clients: clients.csv")), tmp_path).clients
    ids = [id_of(document_of(client)[0]) for client in clients]
    logs = logs_of(clients, ids)
    names = [path and path.relative_to(tmp_path).as_posix() for path in logs]
    assert names == ["clients.x.log.jsonl", None, "clients.c 7.log.jsonl", None, None]


def test_two_collects_of_one_inbox_at_once_take_each_file_in_once(desk, monkeypatch):
    """Into two folders of papers, say: neither knows of the other but by the clients' logs."""
    desk.put("a.jsonl", desk.form(), desk.form(number=2))

    def locked_after(handle, patience_s):
        monkeypatch.undo()
        log_path(desk.folder / "clients" / "asa.yaml").write_bytes((desk.inbox / "a.jsonl").read_bytes())
        return locked(handle, patience_s)

    monkeypatch.setattr(storage, "locked", locked_after)
    (taken,) = desk.collect().taken
    assert (taken.new, taken.known) == (0, 2)
    assert len(desk.log("asa").entries) == 2
    assert desk.log("asa").problems == ()
