"""Each client's papers carry what the camp says, and their own plan."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from readiness.camp.papers import PAPERS, paper_data_of

if TYPE_CHECKING:
    from readiness.plan import Plan

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", sorted(PAPERS))
def test_every_paper_is_made_with_the_camps_words_on_it(name, a_plan):
    """In the packing list, and in the handout under a heading of their own."""
    plan: Plan = a_plan("high-basin")[0]._replace(camp_words=("The butt stands <behind> the woodshed.",))
    data = PAPERS[name](paper_data_of(plan))
    assert data == PAPERS[name](paper_data_of(plan))
    if name.endswith((".txt", ".html")):
        text = data.decode()
        assert "From the camp" in text
        assert ("The butt stands <behind> the woodshed." in text) or ("&lt;behind&gt;" in text)
    assert plan.today == date(2027, 8, 25)
