"""What tests of the camp log share: a sound record of each kind, and files of records."""

import pytest

from readiness.arrival.lines import to_line

STAMP = {
    "time": "2027-09-11T17:05:12+00:00",
    "version": "0.1.0",
    "setup": "0123456789abcdef",
    "at": "Marsh hut",
}


@pytest.fixture(scope="session")
def entry():
    """A function: the data of a sound record, with keys exchanged; a key given as None is left out."""

    def of(record="shots", number=1, **keys):
        own = {
            "shots": {
                "distance": "20 yd",
                "kind": "fletched",
                "unit": "in",
                "shots": [{"right": 0.3, "up": -0.4, "arrow": 7}, {"outside": True}],
            },
            "change": {"what": "sight back to 42.5"},
            "step": {"step": "ARR-010", "value": "pass: no crack"},
            "undo": {"undoes": f"{number - 1:012x}"},
        }.get(record, {})
        data = {"record": record, "id": f"{number:012x}", **STAMP, **own, **keys}
        return {key: value for key, value in data.items() if value is not None}

    return of


@pytest.fixture
def a_log(tmp_path):
    """A function: a log file of some records, or of raw bytes."""

    def written(*entries):
        path = tmp_path / "trip.log.jsonl"
        path.write_bytes(b"".join(e if isinstance(e, bytes) else to_line(e).encode() for e in entries))
        return path

    return written
