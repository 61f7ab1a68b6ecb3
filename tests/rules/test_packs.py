"""Rule packs as files: what is broken is named with its line, and everything else is kept."""

import os
from pathlib import Path
from threading import Thread

import pytest
from made_up import STEP_TEXT

from readiness.rules.packs import _read_all, built_in_packs, packs_at, read_pack

ROOT = Path(__file__).resolve().parents[2]
SOUND = "pack: river\nversion: 2\nrules:\n" + STEP_TEXT.format(id="RIV-010")
CAUTION = "cautions:\n  - {id: RIV-900, stages: [arrival], text: Wet., basis: common practice}\n"
LINT, WAY = "readiness lint tells all that is wrong", "check the path and the file"
BAGS = "is not one of body, cabin, checked, vehicle"
ITEM = (
    "{id: RIV-500, item: sponge, need: {count: 1}, air: [cabin], road: [vehicle], never: [body], battery: bank,"
    " why: Dry, basis: common practice}\n"
)


def places(problems):
    """Line, code and message of each problem."""
    return [(p.line, p.code, p.message) for p in problems]


@pytest.mark.parametrize(
    ("old", "new", "detail"),
    [
        ("    title: Sand\n", "", "it has no title"),
        ("    if_not: Rinse again.\n", "", "it has no if_not"),
        ("stage: arrival", "stage: arival", "'arival' is not one of baseline"),
        ("basis: common practice", "basis: rumour", "'rumour' is not one of common practice"),
        ("do: Rinse the cams.", "do: 5", "5 stands where text is wanted"),
        ("expect: No grain left.", "expect: [No, grain]", "stands where text is wanted"),
        ("title: Sand", "title:", "None stands where text is wanted"),
        ("stage: arrival", "stage: [arrival]", "is not one of"),
    ],
)
def test_a_broken_rule_is_named_with_its_line_and_the_others_are_kept(old, new, detail):
    """The second of three rules is broken: the first and the third remain, and the second is told at its place."""
    broken = STEP_TEXT.format(id="RIV-020").replace(old, new)
    pack, problems = read_pack(SOUND + broken + STEP_TEXT.format(id="RIV-030"), "river.yaml")
    assert [rule.id for rule in pack.rules] == ["RIV-010", "RIV-030"]
    ((line, code, message),) = places(problems)
    assert (line, code) == (11, "broken-rule")
    assert message.startswith("RIV-020 is left out: ")
    assert detail in message


@pytest.mark.parametrize("entry", ["just text", "[a, list]", "5", "~", "{stage: arrival}"])
def test_an_entry_that_is_no_rule_at_all_is_left_out_too(entry):
    """Whatever stands in the list, it is a problem at its line and no crash."""
    pack, problems = read_pack(f"{SOUND}  - {entry}\n" + STEP_TEXT.format(id="RIV-030"), "river.yaml")
    assert [rule.id for rule in pack.rules] == ["RIV-010", "RIV-030"]
    assert [(line, code) for line, code, _ in places(problems)] == [(11, "broken-rule")]


def test_a_broken_caution_is_named_and_rules_and_other_cautions_are_kept():
    """Cautions are read like rules."""
    text = SOUND + CAUTION + "  - {id: RIV-910, stages: [arival], text: Dry., basis: common practice}\n"
    pack, problems = read_pack(text, "river.yaml")
    assert ([r.id for r in pack.rules], [c.id for c in pack.cautions]) == (["RIV-010"], ["RIV-900"])
    assert [(line, code) for line, code, _ in places(problems)] == [(13, "broken-rule")]
    assert "RIV-910 is left out" in problems[0].message


@pytest.mark.parametrize("key", ["rules", "cautions"])
def test_entries_that_are_no_list_are_one_problem(key):
    """`rules:` with a block of keys behind it holds no rule."""
    pack, problems = read_pack(f"pack: river\nversion: 1\n{key}: {{id: RIV-010}}\n", "river.yaml")
    assert (pack.rules, pack.cautions) == ((), ())
    assert [(line, code) for line, code, _ in places(problems)] == [(3, "broken-rule")]


@pytest.mark.parametrize("text", ["[1, 2]", "just text", "format: 1\ntrip: {name: x}", "pack: 5\nversion: 1", "{}"])
def test_a_file_that_is_no_pack_says_so(text):
    """A trip file or any other YAML is refused as a pack."""
    pack, problems = read_pack(text, "river.yaml")
    assert pack is None
    assert [p.code for p in problems] == ["not-a-pack"]


@pytest.mark.parametrize("text", ["", "# only a comment\n", "\n\n"])
def test_an_empty_file_says_that_it_is_empty(text):
    """A pack of nothing is no pack."""
    pack, problems = read_pack(text, "river.yaml")
    assert pack is None
    assert [p.code for p in problems] == ["empty"]


def test_yaml_mistakes_come_with_their_line_and_no_pack():
    """A repeated key in a pack is told like one in a trip file."""
    pack, problems = read_pack(SOUND.replace("    title: Sand\n", "    title: Sand\n    title: Salt\n"), "river.yaml")
    assert pack is None
    assert [(line, code) for line, code, _ in places(problems)] == [(7, "repeated-key")]


def test_text_over_several_lines_becomes_one_line():
    """A folded text has no line breaks in the plan."""
    pack, _ = read_pack(SOUND.replace("Rinse the cams.", ">\n      Rinse\n      the   cams."), "river.yaml")
    assert pack.rules[0].do == "Rinse the cams."


def test_a_folder_gives_its_packs_by_file_name_and_nothing_else(tmp_path):
    """Only .yaml and .yml files count, in the order of their names."""
    for name, pack in (("b.yaml", "second"), ("a.yml", "first"), ("note.txt", "no")):
        (tmp_path / name).write_text(SOUND.replace("river", pack), encoding="utf-8")
    (tmp_path / "folder.yaml").mkdir()
    packs, problems = packs_at(tmp_path)
    assert [pack.name for pack in packs] == ["first", "second"]
    assert problems == ()


def test_one_file_is_one_pack_and_a_byte_order_mark_is_no_text(tmp_path):
    """A pack can be named by its file; a mark that an editor put at the head is skipped."""
    path = tmp_path / "river.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.encode())
    packs, problems = packs_at(path)
    assert [(pack.name, pack.version) for pack in packs] == [("river", "2")]
    assert problems == ()


def test_files_that_cannot_be_read_are_named_and_the_others_are_kept(tmp_path):
    """Over 1 MB, not UTF-8: each is one problem with its file, and the sound pack beside them is there."""
    (tmp_path / "big.yaml").write_text(SOUND + "#" * 1_000_001, encoding="utf-8")
    (tmp_path / "latin.yaml").write_bytes(SOUND.replace("Sand", "Kälte").encode("latin-1"))
    (tmp_path / "sound.yaml").write_text(SOUND, encoding="utf-8")
    packs, problems = packs_at(tmp_path)
    assert [pack.name for pack in packs] == ["river"]
    assert {(Path(p.file).name, p.code) for p in problems} == {("big.yaml", "too-large"), ("latin.yaml", "not-utf8")}
    assert "1,000,000" in next(p.message for p in problems if "big" in p.file)


def test_a_pack_of_just_one_megabyte_is_read(tmp_path):
    """The limit itself is inside."""
    path = tmp_path / "river.yaml"
    path.write_text(SOUND + "#" * (1_000_000 - len(SOUND)), encoding="utf-8")
    assert [pack.name for pack in packs_at(path)[0]] == ["river"]


def test_an_empty_folder_says_that_no_pack_is_there(tmp_path):
    """A mistyped folder does not pass in silence."""
    packs, problems = packs_at(tmp_path)
    assert packs == ()
    assert [(p.code, p.file) for p in problems] == [("no-packs", str(tmp_path))]


def test_a_path_that_is_not_there_is_named(tmp_path):
    """So does a mistyped file."""
    packs, problems = packs_at(tmp_path / "nowhere")
    assert packs == ()
    assert [(p.code, Path(p.file).name) for p in problems] == [("unreadable", "nowhere")]


def test_a_folder_that_may_not_be_read_is_named(tmp_path, monkeypatch):
    """The system's refusal becomes a problem, not a crash."""

    def refuse(_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "iterdir", refuse)
    packs, problems = packs_at(tmp_path)
    assert packs == ()
    told = [(p.code, p.message, p.file, p.line, p.column, p.hint) for p in problems]
    assert told == [("unreadable", "cannot be read: Permission denied", str(tmp_path), 0, 0, WAY)]


def test_a_refusal_without_a_word_of_the_system_is_told_as_it_stands(tmp_path, monkeypatch):
    """Some errors carry a text and no number."""

    def refuse(_):
        raise OSError("the disk is gone")

    monkeypatch.setattr(Path, "iterdir", refuse)
    assert [p.message for p in packs_at(tmp_path)[1]] == ["cannot be read: the disk is gone"]


def test_a_broken_pack_of_a_folder_is_told_beside_the_sound_ones(tmp_path):
    (tmp_path / "broken.yaml").write_text("pack: [", encoding="utf-8")
    (tmp_path / "sound.yaml").write_text(SOUND, encoding="utf-8")
    packs, problems = packs_at(tmp_path)
    assert [pack.name for pack in packs] == ["river"]
    assert {Path(p.file).name for p in problems} == {"broken.yaml"}


class _Resource:
    """A pack that is no file, as in a zipped package: it gives its text in the encoding that it is asked for."""

    def __init__(self, text):
        self.data = text.encode("utf-8")

    def read_text(self, encoding="latin-1"):
        return self.data.decode(encoding)


def test_a_pack_inside_a_package_is_read_as_utf_8():
    packs, problems = _read_all([(_Resource(SOUND.replace("Sand", "Kälte")), "river.yaml")])
    assert ([rule.title for rule in packs[0].rules], problems) == (["Kälte"], ())


def test_a_file_is_told_by_the_name_it_goes_by(tmp_path):
    """That of a built-in pack is shorter than its path."""
    _, (problem,) = _read_all([(tmp_path / "gone.yaml", "checklists/gone.yaml")])
    assert problem.file == "checklists/gone.yaml"


def test_the_built_in_packs_are_the_files_of_the_checklists_folder():
    """Every file there is one pack, read without a problem, under a name that leads back to it."""
    packs, problems = built_in_packs()
    files = sorted(path.name for path in (ROOT / "checklists").glob("*.yaml"))
    assert problems == ()
    assert [pack.document.name for pack in packs] == [f"built-in checklists/{name}" for name in files]
    assert all(any(isinstance(part, tuple) and part for part in pack) for pack in packs)


WHOLE = """\
pack: river
version: 2
mode: read, do
closing: Rinsed and dry
rules:
  - id: RIV-010
    stage: arrival
    block: Sand
    title: Cams
    at: top cam
    when: {travel: {const: air}}
    do: Rinse the cams.
    expect: No grain left.
    if_not: Rinse again.
    stop: true
    basis: paper
    source: A paper
cautions:
  - id: RIV-900
    stages: [arrival, morning]
    before: [RIV-010]
    when: {travel: {const: road}}
    text: Wet.
    basis: regulation
    source: A rule
items:
  - id: RIV-500
    item: sponge
    aliases: [dry cloth, rag]
    when: {trip_days: {minimum: 3}}
    need: {count: 1, per: trip_days}
    air: [cabin, checked]
    road: [vehicle]
    never: [body]
    apart: true
    flies: false
    battery: spare
    why: Dries the limbs
    basis: standard
    source: A norm
causes:
  sight: [RIV-010, RIV-010]
marks: [RIV-010]
"""
BARE = """\
pack: river
rules:
  - {id: RIV-010, stage: arrival, title: Cams, do: Rinse., expect: None., if_not: Again., basis: common practice}
cautions:
  - {id: RIV-900, stages: [arrival], text: Wet., basis: common practice}
items:
  - {id: RIV-500, item: sponge, need: {count: 1}, air: [cabin], road: [vehicle], why: Dry, basis: common practice}
"""


def test_every_key_of_a_pack_arrives_where_it_belongs():
    """A pack in which each key has a value of its own; each stands where the format says."""
    pack, problems = read_pack(WHOLE, "river.yaml")
    assert problems == ()
    assert (pack.name, pack.version) == ("river", "2")
    assert pack.causes == (("sight", ("RIV-010", "RIV-010")),)
    assert pack.marks == ("RIV-010",)
    assert [entry._asdict() for entry in pack.rules] == [
        {
            "id": "RIV-010",
            "stage": "arrival",
            "block": "Sand",
            "title": "Cams",
            "at": "top cam",
            "when": {"travel": {"const": "air"}},
            "do": "Rinse the cams.",
            "expect": "No grain left.",
            "if_not": "Rinse again.",
            "stop": True,
            "basis": "paper",
            "source": "A paper",
            "position": 0,
            "mode": "read, do",
            "closing": "Rinsed and dry",
            "pack": "river",
        }
    ]
    assert [entry._asdict() for entry in pack.cautions] == [
        {
            "id": "RIV-900",
            "stages": ("arrival", "morning"),
            "before": ("RIV-010",),
            "when": {"travel": {"const": "road"}},
            "text": "Wet.",
            "basis": "regulation",
            "source": "A rule",
            "position": 0,
        }
    ]
    assert [entry._asdict() for entry in pack.items] == [
        {
            "id": "RIV-500",
            "item": "sponge",
            "aliases": ("dry cloth", "rag"),
            "when": {"trip_days": {"minimum": 3}},
            "need": {"count": 1, "per": "trip_days"},
            "air": ("cabin", "checked"),
            "road": ("vehicle",),
            "never": ("body",),
            "apart": True,
            "flies": False,
            "battery": "spare",
            "why": "Dries the limbs",
            "basis": "standard",
            "source": "A norm",
            "position": 0,
        }
    ]


def test_what_a_pack_leaves_out_is_empty():
    """No block, place, condition, stop, source; an item flies, in company, without lithium; the version is unknown."""
    pack, problems = read_pack(BARE, "river.yaml")
    assert problems == ()
    (rule,), (caution,), (item,) = pack.rules, pack.cautions, pack.items
    assert (pack.version, pack.causes, pack.marks) == ("?", (), ())
    assert (rule.block, rule.at, rule.when, rule.stop, rule.source, rule.mode, rule.closing) == (
        *("", "", None, False, "", "", ""),
    )
    assert (caution.before, caution.when, caution.source) == ((), None, "")
    assert (item.aliases, item.when, item.never, item.apart, item.flies) == ((), None, (), False, True)
    assert (item.battery, item.source) == ("", "")


def test_a_built_in_rule_names_no_pack_of_its_own():
    """Only steps of others' packs say which one they come from."""
    pack, _ = read_pack(WHOLE, "built-in checklists/river.yaml")
    assert [rule.pack for rule in pack.rules] == [""]
    assert {rule.pack for shipped in built_in_packs()[0] for rule in shipped.rules} == {""}


def test_each_entry_knows_its_own_place_in_the_pack():
    """Problems are told at that place, also behind an entry that was left out."""
    text = SOUND + "  - {}\n" + STEP_TEXT.format(id="RIV-030")
    assert [rule.position for rule in read_pack(text, "river.yaml")[0].rules] == [0, 2]


@pytest.mark.parametrize(
    ("text", "line", "message", "hint"),
    [
        ("[1]", 1, "this is no rule pack", "a pack begins with pack: and version:"),
        ("pack: river\nrules: {a: b}\n", 2, "rules is not a list", "begin each entry with -"),
        ("pack: river\nitems: 5\n", 2, "items is not a list", "begin each entry with -"),
        (SOUND + "  - {}\n", 11, "? is left out: it has no id", LINT),
        (SOUND + "  - [a]\n", 11, "? is left out: ['a'] stands where a block of keys is wanted", LINT),
        (SOUND + "causes: [a]\n", 11, "causes is left out: ['a'] stands where a block of keys is wanted", LINT),
        (SOUND + "causes: {a: 5}\n", 11, "causes is left out: 5 stands where a list is wanted", LINT),
        (SOUND + "causes: {a: [5]}\n", 11, "causes is left out: 5 stands where text is wanted", LINT),
        (SOUND + "marks: RIV-010\n", 11, "marks is left out: 'RIV-010' stands where a list is wanted", LINT),
        (SOUND + CAUTION.replace("[arrival]", "arrival"), 12, "RIV-900 is left out: 'arrival' stands where a list is wanted", LINT),
        (SOUND + "items:\n  - " + ITEM.replace("why", "aliases: rag, why"), 12, "RIV-500 is left out: 'rag' stands where a list is wanted", LINT),
        (SOUND + "marks: [5]\n", 11, "marks is left out: 5 stands where text is wanted", LINT),
        (SOUND + "items:\n  - " + ITEM.replace("{count: 1}", "5"), 12, "RIV-500 is left out: 5 stands where a block of keys is wanted", LINT),
        (SOUND + "items:\n  - " + ITEM.replace("[cabin]", "[bin]"), 12, f"RIV-500 is left out: 'bin' {BAGS}", LINT),
        (SOUND + "items:\n  - " + ITEM.replace("[vehicle]", "[bin]"), 12, f"RIV-500 is left out: 'bin' {BAGS}", LINT),
        (SOUND + "items:\n  - " + ITEM.replace("[body]", "[bin]"), 12, f"RIV-500 is left out: 'bin' {BAGS}", LINT),
        (
            SOUND + "items:\n  - " + ITEM.replace("bank", "big"),
            12,
            "RIV-500 is left out: 'big' is not one of , spare, bank",
            LINT,
        ),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_pack_is_told_in_these_words(text, line, message, hint):
    """One problem at its line, with what to do."""
    _, problems = read_pack(text, "river.yaml")
    assert [(p.line, p.message, p.hint) for p in problems] == [(line, message, hint)]
    assert {p.code for p in problems} <= {"broken-rule", "not-a-pack"}


def test_files_that_cannot_be_read_say_why_and_what_to_do(tmp_path):
    """Too large, no text, not there, an empty folder: message and hint."""
    big, latin, empty = tmp_path / "big.yaml", tmp_path / "latin.yaml", tmp_path / "empty"
    big.write_text("#" * 1_000_001, encoding="utf-8")
    latin.write_bytes(b"pack: \xe4\n")
    empty.mkdir()
    told = {path: packs_at(path)[1] for path in (big, latin, empty, tmp_path / "gone.yaml")}
    assert [(p.message, p.hint, p.line, p.column, p.file) for found in told.values() for p in found] == [
        ("over 1,000,000 bytes, so it was not read", "a file of this kind is a few pages", 0, 0, str(big)),
        ("this is not UTF-8 text from here on", "save the file as UTF-8", 1, 7, str(latin)),
        ("no .yaml file here", "a rule pack is a .yaml file", 0, 0, str(empty)),
        ("cannot be read: No such file or directory", WAY, 0, 0, str(tmp_path / "gone.yaml")),
    ]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_or_an_endless_device_in_the_place_of_a_pack_is_not_read(tmp_path):
    """Either would be waited for, or read, for ever."""
    os.mkfifo(tmp_path / "pipe.yaml")
    (tmp_path / "zeros.yaml").symlink_to("/dev/zero")
    told = []
    read = Thread(target=lambda: told.extend(packs_at(tmp_path / "pipe.yaml")[1]), daemon=True)
    read.start()
    read.join(10)
    told += packs_at(tmp_path / "zeros.yaml")[1] if told else ()
    assert [(problem.code, problem.message) for problem in told] == [("unreadable", "this is no regular file")] * 2
