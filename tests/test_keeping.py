"""What no product is written over: the trip that was read, camp logs, and what people write by hand as YAML."""

import os
from importlib import import_module

import click
import pytest

from readiness import cli
from readiness.files import kept_problem

DAY = ("--date", "2027-10-05")
OLD = b"kept\n"
# Every command that writes a file which the user names, and for each the endings that it writes.
PRODUCTS = {
    "plan": ("txt", "md", "pdf", "svg", "png"),
    "card": ("pdf", "png", "svg", "json"),
    "handout": ("html",),
    "calendar": ("ics",),
}


@pytest.fixture
def trip(tmp_path, invented_text):
    """The invented trip as a file."""
    path = tmp_path / "week.yaml"
    path.write_text(invented_text(), encoding="utf-8")
    return path


def named(command, path):
    """The options that let a command write to a file whatever its name."""
    return ("-o", path, *(("--format", "pdf") if command == "card" else ()))


def test_the_commands_here_are_all_that_write_a_file_of_the_users_naming():
    """A new command with -o comes in here; roster's is a folder, with a refusal of its own."""
    commands = {
        name: getattr(import_module(f"readiness.commands.{name.replace('-', '_')}"), name.replace("-", "_"))
        for name in cli.COMMANDS
    }
    with_output = {
        name
        for name, command in commands.items()
        if any(isinstance(p, click.Option) and "--output" in p.opts for p in command.params)
    }
    assert with_output == {*PRODUCTS, "roster"}


@pytest.mark.parametrize("command", PRODUCTS)
@pytest.mark.parametrize("way", ["its name", "another spelling", "symlink", "hard link", "its log", "link to its log"])
def test_no_product_is_written_over_the_trip_that_was_read_or_over_its_log(run, trip, tmp_path, command, way):
    """By whatever name the file is reached: refused with 2 and what to type, and not a byte is changed."""
    log = trip.with_name("week.log.jsonl")
    log.write_bytes(OLD)
    before = trip.read_bytes()
    output = tmp_path / "product.pdf"
    if way == "its name":
        output = trip
    elif way == "another spelling":
        (tmp_path / "sub").mkdir()
        output = tmp_path / "sub" / ".." / "week.yaml"
    elif way == "its log":
        output = log
    elif way == "hard link":
        os.link(trip, output)
    else:
        output.symlink_to(log if "log" in way else trip)
    ran = run(command, trip, *DAY, *named(command, output))
    assert ran.code == 2
    assert f"{output}: error[kept]: this is " in ran.err
    assert "hint: name another file" in ran.err
    assert (trip.read_bytes(), log.read_bytes()) == (before, OLD)
    assert ran.out == ""


@pytest.mark.parametrize("command", PRODUCTS)
@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("other.log.jsonl", "a camp log"),
        ("OTHER.LOG.JSONL", "a camp log"),
        ("other.log.torn", "a camp log"),
        ("other.yaml", "a file written by hand"),
        ("pack.yml", "a file written by hand"),
    ],
)
def test_no_product_is_written_over_another_log_or_yaml_file(run, trip, tmp_path, command, name, what):
    """Another trip's file is worth as much as this one's."""
    output = tmp_path / name
    output.write_bytes(OLD)
    ran = run(command, trip, *DAY, *named(command, output))
    assert ran.code == 2
    assert f"error[kept]: this is {what}" in ran.err
    assert output.read_bytes() == OLD
    output.unlink()
    assert run(command, trip, *DAY, *named(command, output)).code == 0  # a name that is free is anyone's to choose


def test_a_trip_of_any_name_is_kept(run, trip, tmp_path):
    """Not the ending protects the trip that was read, but that it was read."""
    other = tmp_path / "week.txt"
    other.write_bytes(trip.read_bytes())
    ran = run("plan", other, *DAY, "-o", other)
    assert ran.code == 2
    assert "this is the trip file" in ran.err
    assert other.read_bytes() == trip.read_bytes()


def test_a_trip_on_standard_input_is_kept_where_it_is_a_file(trip, tmp_path, monkeypatch):
    """`readiness plan - -o week.txt < week.txt` reads and writes one file."""
    other = tmp_path / "week.txt"
    other.write_bytes(trip.read_bytes())
    with other.open("rb") as file:
        monkeypatch.setattr("sys.stdin", file)
        assert kept_problem(other, "-").code == "kept"
        assert kept_problem(tmp_path / "new.txt", "-") is None


def test_several_pages_are_refused_before_the_first_is_written(run, trip, tmp_path):
    """Two faces as pages -1 and -2: where the second may not be written, there is no first either."""
    (tmp_path / "card-2.yaml").write_bytes(OLD)
    ran = run("card", trip, *DAY, "-o", tmp_path / "card.yaml", "--format", "png")
    assert ran.code == 2
    assert not (tmp_path / "card-1.yaml").exists()


@pytest.mark.parametrize(("command", "ending"), [(c, e) for c, endings in PRODUCTS.items() for e in endings])
def test_an_old_product_is_replaced_as_before(run, trip, tmp_path, command, ending):
    """The plan of last week gives way to that of today."""
    pages = ["old-1", "old-2"] if (command, ending) in (("card", "png"), ("card", "svg")) else ["old"]
    old = next(tmp_path / f"{name}.{ending}" for name in pages)
    old.write_bytes(OLD)
    ran = run(command, trip, *DAY, "-o", tmp_path / f"old.{ending}")
    assert ran.code == 0, ran.err
    written = old if old.read_bytes() != OLD else next(tmp_path.glob(f"old-*1.{ending}"))
    assert written.stat().st_size > len(OLD)
