"""What the tests of camps share: the sample camp, its clients, and made-up variants of both."""

from datetime import date
from pathlib import Path

import pytest
import yaml
from made_up import exchanged

from readiness.camp.load import load_camp
from readiness.documents import read_document

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_trips" / "larkspur-forks"
DAY = date(2027, 9, 4)


@pytest.fixture(scope="session")
def day():
    """The day that stands for today in the tests of the sample camp."""
    return DAY


@pytest.fixture(scope="session")
def camp_text():
    """A function: the text of the sample camp, with pieces of it exchanged."""

    def text_of(*changes):
        return exchanged((SAMPLE / "camp.yaml").read_text(encoding="utf-8"), changes)

    return text_of


@pytest.fixture(scope="session")
def a_camp(camp_text):
    """A function: the sample camp as the program reads it, with pieces of its text exchanged."""

    def camp_of(*changes):
        loaded = load_camp(camp_text(*changes), "camp.yaml", DAY)
        assert loaded.camp is not None, loaded.problems
        return loaded.camp

    return camp_of


@pytest.fixture(scope="session")
def client_text():
    """A function: the text of a client of the sample camp, with pieces of it exchanged."""

    def text_of(name="asa", *changes):
        return exchanged((SAMPLE / "clients" / f"{name}.yaml").read_text(encoding="utf-8"), changes)

    return text_of


@pytest.fixture(scope="session")
def client_data(client_text):
    """A function: a client of the sample camp as plain data."""
    return lambda name="asa": yaml.load(client_text(name), yaml.BaseLoader)


@pytest.fixture(scope="session")
def a_document():
    """A function: a text as a document, which must be readable."""

    def document_of(text, name="client.yaml"):
        document, problems = read_document(text, name)
        assert document is not None, problems
        return document

    return document_of
