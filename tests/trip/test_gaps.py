"""What a trip file leaves out is told with what it costs; a file that leaves nothing out is told nothing."""

from datetime import date
from pathlib import Path

import pytest
import yaml

from readiness.documents import read_document
from readiness.trip.gaps import gaps_of
from readiness.trip.load import load_trip

TODAY = date(2027, 6, 1)
FULL = Path(__file__).parent / "every-key.yaml"
METRIC = Path(__file__).parents[2] / "sample_trips" / "terraces-metric.yaml"
# What of the full trip is taken out -> what is told as missing.
TAKEN_OUT = {
    "reference.bare_shaft": "reference.bare_shaft",
    "reference.bare_shaft.pairs": "reference.bare_shaft.pairs",
    "reference.broadheads": "reference.broadheads for wide head",
    "reference.cold_first": "reference.cold_first",
    "reference.groups": "reference.groups",
    "reference.marks": "reference.marks",
    "reference.shot_on": "reference.shot_on",
    "arrow.balance_point": "arrow.balance_point",
    "bow.brace_height": "bow.brace_height",
    "bow.axle_to_axle": "bow.axle_to_axle",
    "hunter.hand": "hunter.hand",
    "hunter": "hunter.hand",
    "home.temperature": "temperature of Orchard range",
    "home.latitude": "latitude of Orchard range",
    "trip.hazards": "trip.hazards",
    "trip.nearest_shop": "trip.nearest_shop",
}


def full_data():
    """The trip with every key; the second camp, which has few, gets what the first has."""
    data = read_document(FULL.read_text(encoding="utf-8"), "t")[0].data
    data["destinations"][1] |= {"temperature": "20 F", "latitude": "43 deg"}
    return data


def missing_from(data):
    """What is told as missing."""
    loaded = load_trip(yaml.safe_dump(data, sort_keys=False), "t", TODAY)
    assert loaded.trip is not None, loaded.problems
    gaps = gaps_of(loaded.trip)
    assert all(gap.costs for gap in gaps)
    return [gap.missing for gap in gaps]


def test_a_file_that_leaves_nothing_out_has_no_gaps():
    """Every key is there."""
    assert missing_from(full_data()) == []


def test_the_metric_sample_is_whole_for_bow_reference_and_places():
    """It is the sample that shows what a full record allows; what is packed and required is another matter."""
    trip = load_trip(METRIC.read_text(encoding="utf-8"), "t", date(2027, 9, 10)).trip
    assert {gap.missing for gap in gaps_of(trip)} <= {"gear", "requirements"}


@pytest.mark.parametrize(("path", "missing"), TAKEN_OUT.items())
def test_what_is_taken_out_is_told_and_nothing_else(path, missing):
    """One key at a time."""
    data = full_data()
    *blocks, key = path.split(".")
    inner = data
    for block in blocks:
        inner = inner[block]
    del inner[key]
    assert missing_from(data) == [missing]


def test_the_drag_of_the_arrow_may_come_from_either_record():
    """Speed readings or a coefficient; without both the published band stands in."""
    data = full_data()
    del data["arrow"]["speed_readings"]
    assert missing_from(data) == []
    del data["arrow"]["drag_coefficient"], data["arrow"]["drag_uncertainty"]
    assert missing_from(data) == ["arrow.speed_readings"]


def test_a_trip_without_hunting_heads_or_without_practice_points_is_told():
    """Either is needed to say anything about the other."""
    data = full_data()
    head = data["heads"].pop()
    data["reference"].pop("broadheads")
    assert missing_from(data) == ["a hunting head in heads"]
    data["heads"] = [head]
    assert set(missing_from(data)) == {"a field point in heads", "reference.broadheads for wide head"}


def test_groups_that_end_before_the_farthest_pin_are_told():
    """Beyond them there is no advice."""
    data = full_data()
    data["bow"]["sight"]["pins"].append("60 yd")
    assert missing_from(data) == ["reference.groups at the farthest pin"]
