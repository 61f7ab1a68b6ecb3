"""What tests of pages share: the calendar file of the invented trip."""

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
