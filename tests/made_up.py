"""What several tests make their own files from. Every name in it is invented."""

# A rule pack of one rule, as a user would write it.
RIVER_PACK = """\
pack: river
version: 3
mode: "read, do"
closing: Rinsed and dry
rules:
  - id: RIV-010
    stage: arrival
    title: Sand in the cams
    do: Rinse the cams.
    expect: No grain left.
    if_not: Rinse again.
    basis: common practice
"""

# One step as YAML in a list, its id to be filled in; and as data, without an id.
STEP_TEXT = """\
  - id: {id}
    stage: arrival
    title: Sand
    do: Rinse the cams.
    expect: No grain left.
    if_not: Rinse again.
    basis: common practice
"""
STEP = {
    "stage": "arrival",
    "title": "Sand",
    "do": "Rinse the cams.",
    "expect": "No grain left.",
    "if_not": "Rinse again.",
    "basis": "common practice",
}

# A trip file with nothing in it that may be left out.
BARE_BONES = """
format: 1
trip: {name: Bare bones, starts: 2027-09-11, ends: 2027-09-19, travel: road, target_zone: 8 in}
home: {name: Range, elevation: 620 ft}
destinations: [{name: Camp, elevation: 8750 ft}]
bow: {draw_weight: 66 lb, draw_length: 29 in, peep_height: 4.3 in, sight: {kind: slider, radius: 34 in, pins: [20 yd]}}
arrow: {mass: 445 gr, speed: 276 fps, shaft_diameter: 0.232 in, length: 28.5 in}
heads: [{name: point, kind: field point, mass: 125 gr}]
"""

# Heads that rules are held against.
POINT = {"name": "practice point", "kind": "field point", "mass": "100 gr"}
FIXED = {"name": "head A", "kind": "fixed blade", "mass": "100 gr", "cutting_width": "1.125 in", "blades": 3}
MECHANICAL = {
    "name": "head B",
    "kind": "mechanical",
    "mass": "100 gr",
    "cutting_width": "1.5 in",
    "cutting_width_closed": "0.75 in",
    "blades": 2,
}


def exchanged(text, changes):
    """A text with pieces of it exchanged, each of which must be in it."""
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text
