"""What tests of pages share: the calendar file of the invented trip."""

import importlib.util
from pathlib import Path

import pytest


@pytest.fixture
def calendar(run, invented_text):
    """A function: the calendar file of the invented trip, with keys of its blocks exchanged."""

    def made(*, today="2027-09-06", **blocks):
        ran = run("calendar", "-", "--date", today, stdin=invented_text(**blocks))
        assert ran.code == 0
        assert "error" not in ran.err
        return ran.out

    return made


@pytest.fixture(scope="session")
def paper():
    """The module paper.py beside this file: what a PDF holds."""
    spec = importlib.util.spec_from_file_location("paper", Path(__file__).with_name("paper.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
