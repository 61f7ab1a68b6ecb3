"""The wheel is what users get: it is built, compared with the tree, and run where there is no network."""

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
NO_SOCKETS = """
import socket
class Closed(socket.socket):
    def __init__(self, *args, **kwargs):
        raise OSError("no network in this test")
socket.socket = Closed
"""


@pytest.fixture(scope="session")
def wheel(tmp_path_factory):
    """The project's wheel, built from a copy of the tree without isolation, so without network."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    for name in filter(None, listed.split("\0")):
        if (ROOT / name).is_file():
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            (source / name).write_bytes((ROOT / name).read_bytes())
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(folder), str(source)],
        check=True, capture_output=True,
    )  # fmt: skip
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="session")
def installed(wheel, tmp_path_factory):
    """A fresh environment with the wheel, installed from local files only."""
    folder = tmp_path_factory.mktemp("installed")
    wheels = folder / "wheels"
    fetched = subprocess.run(
        [sys.executable, "-m", "pip", "download", "-q", "-d", str(wheels), str(wheel)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if fetched.returncode and not os.environ.get("CI"):
        pytest.skip(f"the package registry cannot be reached: {fetched.stderr.strip().splitlines()[-1:]}")
    assert fetched.returncode == 0, fetched.stderr
    venv.create(folder / "env", with_pip=True)
    python = folder / "env" / "bin" / "python"
    subprocess.run(
        [python, "-m", "pip", "install", "-q", "--no-index", "--find-links", str(wheels), str(wheel)],
        check=True, capture_output=True,
    )  # fmt: skip
    return folder / "env" / "bin"


def test_the_wheel_holds_every_module_pack_and_trip(wheel):
    """The wheel's files are the package, the schemas, the checklists and the sample trips of the tree."""
    names = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        p.relative_to(ROOT).as_posix()
        for p in (ROOT / "readiness").rglob("*")
        if p.suffix in (".py", ".json", ".yaml", ".css", ".js", ".typ", ".ttf", ".txt")
    }
    wanted |= {
        f"readiness/{p.relative_to(ROOT).as_posix()}"
        for d in ("checklists", "sample_trips")
        for p in (ROOT / d).rglob("*.yaml")
    }
    wanted |= {"readiness/checklists/__init__.py", "readiness/sample_trips/__init__.py", "readiness/py.typed"}
    assert {name for name in names if ".dist-info/" not in name} == wanted


@pytest.mark.network
def test_the_installed_wheel_plans_a_trip_from_another_folder_without_network(installed, tmp_path):
    """A plan and its JSON come out in an empty folder, with sockets shut, and equal those of the tree."""
    (tmp_path / "sitecustomize.py").write_text(NO_SOCKETS)
    environment = {"PATH": os.environ["PATH"], "PYTHONPATH": str(tmp_path), "LANG": "C.UTF-8"}
    trip = (ROOT / "sample_trips" / "high-basin.yaml").read_text(encoding="utf-8")
    arguments = ["plan", "-", "--date", "2027-08-25"]
    there = subprocess.run(
        [installed / "readiness", *arguments],
        cwd=tmp_path,
        env=environment,
        input=trip,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (there.returncode, there.stderr) == (0, "")
    here = subprocess.run(
        [sys.executable, "-m", "readiness", *arguments], input=trip, capture_output=True, text=True, check=True
    )
    assert there.stdout == here.stdout


@pytest.mark.network
def test_the_installed_wheel_lints_its_packs(installed, tmp_path):
    """The packs travelled whole."""
    done = subprocess.run([installed / "readiness", "lint"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "11 packs" in done.stdout
