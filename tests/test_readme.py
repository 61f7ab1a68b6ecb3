"""What the README says is what happens: its commands are run, its outputs compared."""

import re
import shlex
import shutil
import subprocess
import sys
import sysconfig
from datetime import date
from importlib import import_module
from pathlib import Path

import pytest

from readiness.cli import COMMANDS
from readiness.rules.lint import lint_packs
from readiness.rules.packs import read_pack
from readiness.trip.load import load_trip

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
READINESS = str(Path(sysconfig.get_path("scripts")) / "readiness")


def _blocks(language):
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def _commands():
    for block in _blocks("sh"):
        for line in block.splitlines():
            words, _, comment = line.partition("#")
            command = words.strip().split("&&")[-1].strip()
            if "readiness" in command.split()[0]:
                yield command, int((re.search(r"ends with (\d)", comment) or [0, 0])[1])


def _run(command, folder, stdin=""):
    words = shlex.split(command)
    return subprocess.run([READINESS, *words[1:]], cwd=folder, capture_output=True, text=True, input=stdin, check=False)


def test_the_job_stands_at_the_very_top_in_one_paragraph():
    """The first paragraph under the title tells the whole job."""
    title, first, second = README.split("\n\n")[:3]
    assert title == "# readiness"
    assert "does this bow still shoot as it did" in first.replace("\n", " ")
    assert second.startswith("## ")


def test_every_command_in_the_readme_runs(tmp_path):
    """Each `readiness` line of the shell blocks ends as it says, or with 0, in the order of a reader's typing."""
    shutil.copytree(ROOT / "sample_trips", tmp_path / "sample_trips")
    commands = list(_commands())
    assert len(commands) >= 5
    for command, code in commands:
        done = _run(command, tmp_path, stdin="\n" * 40)
        assert done.returncode == code, f"{command}\n{done.stderr}"
        assert done.stdout


def test_the_shown_answer_is_what_the_main_job_prints(tmp_path):
    """The answer quoted in the README is part of the plan it belongs to."""
    shutil.copytree(ROOT / "sample_trips", tmp_path / "sample_trips")
    command = next(command for command, _ in _commands() if "plan sample_trips" in command)
    quoted = next(block for block in _blocks("text") if block.startswith("Trailhead"))
    assert quoted in _run(command, tmp_path).stdout


def test_the_shown_evening_gives_the_shown_answer(tmp_path):
    """The commands of the evening up to the first assessment, typed as they stand."""
    shutil.copytree(ROOT / "sample_trips", tmp_path / "sample_trips")
    quoted = next(block for block in _blocks("text") if block.startswith("Most likely"))
    for command, _ in _commands():
        if command.split()[1] in ("log", "assess"):
            out = _run(command, tmp_path).stdout
        if command.split()[1] == "assess":
            break
    assert quoted in out


def test_the_shown_mistake_is_told_as_shown():
    """The error message quoted in the README is the one that its line gives."""
    text = (ROOT / "sample_trips" / "high-basin.yaml").read_text(encoding="utf-8")
    text = text.replace("shaft_diameter: 0.232 in", "shaft_diameter: 0.232 ft")
    line = next(n for n, row in enumerate(text.splitlines(), 1) if "shaft_diameter" in row)
    from readiness.problems import show

    (problem,) = load_trip(text, "trip.yaml", date(2027, 8, 25)).problems
    quoted = next(block for block in _blocks("text") if "out-of-range" in block)
    assert show(problem).replace(f":{line}:", ":45:") == quoted.rstrip()


def test_the_shown_pack_is_a_sound_pack():
    """The rule pack in the README passes lint, examples included."""
    text = next(block for block in _blocks("yaml") if block.startswith("pack:"))
    pack, problems = read_pack(text, "readme.yaml")
    assert problems == ()
    assert lint_packs([pack]) == ()


def test_every_command_is_in_the_table_and_has_help():
    """Nothing the program can do is left out of the README's table."""
    listed = subprocess.run([READINESS, "--help"], capture_output=True, text=True, check=True).stdout
    commands = re.findall(r"^  ([a-z-]+)  ", listed.split("Commands:")[1], re.MULTILINE)
    assert len(commands) >= 6
    for command in commands:
        assert f"`readiness {command}" in README
        help_text = subprocess.run([READINESS, command, "--help"], capture_output=True, text=True, check=True).stdout
        assert len(help_text.split("Usage:")[1].split("\n\n")[1].strip()) > 20


@pytest.mark.parametrize(
    ("told", "option"),
    [("--units imperial", "--units"), ("--arrows 20", "--arrows"), ("--checklists DIR", "--checklists")],
)
def test_an_option_of_some_commands_is_told_of_all_that_have_it(told, option):
    """The sentence that names the option lists the commands whose help has it, and no other."""
    prose = README.split("Each takes `--format`")[1].split("| exit code |")[0]
    sentence = next(part for part in prose.replace("\n", " ").split(". ") if f"`{told}`" in part)
    listed = re.findall(r"`([a-z-]+)`", sentence.split(" take ")[0])
    commands = {
        name: getattr(import_module(f"readiness.commands.{name.replace('-', '_')}"), name.replace("-", "_"))
        for name in COMMANDS
    }
    assert sorted(listed) == sorted(
        name for name, command in commands.items() if any(option in parameter.opts for parameter in command.params)
    )


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md"])
def test_links_between_files_lead_somewhere(document):
    """Every relative link names a file or folder that is there."""
    words = (ROOT / document).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#:]+)\)", words):
        assert (ROOT / target).exists(), target


def test_the_module_form_of_the_command_works():
    """`python -m readiness` is the command."""
    done = subprocess.run([sys.executable, "-m", "readiness", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("readiness, version ")
