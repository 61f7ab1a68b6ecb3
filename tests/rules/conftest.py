"""What tests of rule packs share: a pack of some steps, linted."""

import pytest
import yaml
from made_up import STEP

from readiness.rules.lint import lint_packs


@pytest.fixture
def found(a_pack):
    """A function: code and entry of everything that is found in a pack of some steps, in order."""

    def lint(*steps, **head):
        rules = [{"id": f"RIV-{n:03}", **STEP, **step} for n, step in enumerate(steps, 1)]
        data = {"pack": "river", "version": 1, "mode": "read, do", "closing": "Rinsed and dry", **head, "rules": rules}
        data = {key: value for key, value in data.items() if value is not None}
        text = yaml.safe_dump(data, sort_keys=False)
        starts = [number for number, line in enumerate(text.splitlines(), 1) if line.startswith("- id:")]
        problems = lint_packs([a_pack(text)])
        return [(p.code, sum(start <= p.line for start in starts)) for p in problems]

    return lint
