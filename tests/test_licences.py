"""Licences of what is needed to run: permissive, and as DEVELOPERS.md says."""

import importlib.util
from pathlib import Path

import pytest

spec = importlib.util.spec_from_file_location("licences", Path(__file__).with_name("licences.py"))
licences = importlib.util.module_from_spec(spec)
spec.loader.exec_module(licences)


def test_every_package_at_run_time_is_permissive_and_written_down():
    """By the packages' own metadata, transitively."""
    installed = licences.packages()
    assert {"click", "jsonschema", "attrs", "typst"} <= {one.name for one in installed}
    assert licences.mistakes(installed, licences.written()) == []


@pytest.mark.parametrize(
    ("licence", "said", "words"),
    [
        ("GPL-3.0-only", {"x": "GPL-3.0-only"}, "x: GPL-3.0-only is not among"),
        ("MIT", {}, "x: DEVELOPERS.md says nothing"),
        ("MIT", {"x": "ISC"}, "x: DEVELOPERS.md says ISC, the package MIT"),
        ("MIT", {"x": "MIT", "y": "MIT"}, "y: in DEVELOPERS.md, and nothing needs it"),
    ],
)
def test_a_licence_that_asks_for_more_or_is_not_written_down_is_told(licence, said, words):
    """The check can fail, in each of its ways."""
    (found,) = licences.mistakes([licences.Package("x", "1", licence, "readiness")], said)
    assert found.startswith(words)
