"""The next group: what would tell most, within what may be shot and what the archer allows."""

from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.arrival.causes import diagnose
from readiness.arrival.checks import at_place
from readiness.arrival.evening import evening_of
from readiness.arrival.judging import judge
from readiness.arrival.nextgroup import Allowed, next_group
from readiness.arrival.records import Log, Shot, ShotSet, Stamp

YARD = 0.9144
BARE = (-0.27, -0.48)


def following(camp, allowed=None, *, close="done"):
    """The next group of an evening."""
    there, evening = camp.camp, camp.evening
    return next_group(there, evening, judge(there, evening), camp.causes(), allowed or Allowed(), close=close)


def test_near_comes_before_far(at_camp):
    """Whatever else is shot, the near zero is the first group."""
    for camp in (at_camp(), at_camp().shot(20, [(0, 0)], "bare")):
        found = following(camp)
        assert (found.kind, round(found.distance_m / YARD), found.arrows) == ("fletched", 20, 3)


def test_the_first_bare_shaft_after_travel_is_shot_from_close_up(at_camp, ring):
    """5 to 10 yd, one; then the reference distance."""
    camp = at_camp().shot(20, ring(0.1, 0.5))
    allowed = Allowed(12, 20 * YARD)
    close = following(camp, allowed, close="open")
    assert close.kind == "bare"
    assert 5 <= close.distance_m / YARD <= 10
    assert close.arrows == 1
    assert close.about == "close"
    done = following(camp, allowed)
    assert (done.kind, round(done.distance_m / YARD)) == ("bare", 20)


def test_an_open_question_between_sight_and_speed_is_settled_far_out(at_camp, ring):
    """Near groups are high; only distance parts the two."""
    camp = at_camp().shot(20, ring(0.1, 1.3)).shot(20, ring(-0.27, 0.82), "bare")
    found = following(camp)
    assert found.kind == "fletched"
    assert found.distance_m > 35 * YARD


def test_heads_wait_for_the_bare_shaft(at_camp, ring):
    """No head before it passes, however much it would tell."""
    camp = at_camp().shot(20, ring(0.1, 0.0)).shot(20, ring(2.5, 2.5), "bare")
    assert following(camp).kind != "broadhead"


def test_once_the_bow_is_known_to_be_unchanged_the_pins_are_asked(at_camp, ring):
    """The group that takes most off the pins' doubt."""
    camp = at_camp().shot(20, ring(0.1, 0.0)).shot(20, ring(*BARE), "bare").shot(60, ring(0, 0.4, 2.0, 6))
    camp.shot(40, ring(0.1, 0.3, 1.0)).shot(40, ring(0.4, -0.2, 1.0), "broadhead", "hunting head")
    assert camp.causes().leading.probability >= 0.9
    assert following(camp).about == "pins"


def test_a_cause_that_is_settled_is_proven_mended_by_the_nearest_group_of_its_kind(at_camp, ring):
    """A bare shaft for a tune, fletched arrows for a sight."""
    tune = at_camp().shot(20, ring(0.1, 0.0)).shot(20, ring(3.0, -0.48), "bare").shot(60, ring(0, 0.4, 2.0, 6))
    assert tune.causes().leading.probability >= 0.9
    assert (following(tune).about, following(tune).kind) == ("again", "bare")


def test_after_a_bare_shaft_that_failed_close_up_nothing_is_shot_from_farther_off(at_camp, ring):
    """Back to the marks, then one more from as close."""
    camp = at_camp().shot(20, ring(0.1, 0.5))
    again = following(camp, Allowed(12, 20 * YARD), close="failed")
    assert (again.kind, again.arrows) == ("bare", 1)
    assert 5 <= again.distance_m / YARD <= 10
    assert following(camp, Allowed(1, 20 * YARD), close="failed") is None
    assert following(camp, Allowed(12, 5 * YARD), close="failed") is None


def test_what_grows_sideways_as_wind_does_is_shot_again_at_the_farthest(at_camp, ring):
    """0.6 in to the right at 20 yd, 5.4 in at 60: nine times, with the square of the distance."""
    camp = at_camp().shot(20, ring(0.6, 0.0)).shot(20, ring(0.6 + BARE[0] - 0.1, BARE[1]), "bare")
    camp.shot(40, ring(2.4, 0.2, 0.8, 6)).shot(60, ring(5.4, 0.5, 1.6, 12))
    assert camp.causes().leading.name == "other"
    again = following(camp, Allowed(12, 60 * YARD))
    assert (again.about, round(again.distance_m / YARD)) == ("again", 60)


def test_no_group_goes_where_the_arrows_may_leave_the_butt(at_camp, ring):
    """Twelve inches high at 20 yd is a yard high at 60; nothing farther is advised, nor the same again."""
    assert following(at_camp().shot(20, ring(0.1, 12.5))) is None
    assert following(at_camp().shot(20, ring(0.1, 5.0))).distance_m < 50 * YARD


def test_after_a_lost_arrow_only_nearer_distances_are_left(at_camp, ring):
    """Nearer than where it missed the butt."""
    camp = at_camp().shot(20, ring(0.1, 0.0)).shot(40, [*ring(0.1, 0.2), None])
    assert following(camp).distance_m < 40 * YARD
    assert following(at_camp().shot(20, [*ring(0.1, 0.0), None])) is None


def test_where_nothing_may_be_shot_there_is_no_next_group(at_camp, ring):
    """Too few arrows, or too short a distance."""
    camp = at_camp().shot(20, ring(0.1, 0.0))
    assert following(camp, Allowed(2)) is None
    assert following(camp, Allowed(12, 10 * YARD)) is None


@settings(max_examples=40, deadline=None)
@given(
    up=st.floats(-4, 4).map(lambda x: round(x, 2)),
    far=st.floats(-9, 9).map(lambda x: round(x, 2)),
    arrows=st.integers(2, 30),
    longest=st.integers(5, 90),
)
def test_no_group_goes_beyond_what_is_recorded_or_allowed(a_trip, up, far, arrows, longest):
    """Fletched to 60 yd, bare to 20 yd, heads at their recorded distances; never more arrows than there are."""
    trip, stamp, inch = a_trip(), Stamp("0", "t", "v", "s", "Trailhead camp"), 0.0254

    def shots(yards, height, kind="fletched"):
        placed = tuple(Shot(x * inch, (height + y) * inch) for x, y in ((0.3, 0.2), (-0.3, 0.1), (0.0, -0.3)))
        return ShotSet(stamp, yards * YARD, kind, placed)

    evening = evening_of(Log((shots(20, up), shots(20, up - 0.5, "bare"), shots(60, far))), "Trailhead camp")
    camp = at_place(trip, evening)
    found = next_group(
        camp, evening, judge(camp, evening), diagnose(camp, evening), Allowed(arrows, longest * YARD), close="done"
    )
    if found is None:
        return
    assert found.distance_m <= longest * YARD + 1e-6
    assert found.distance_m <= {"fletched": 60, "bare": 20, "broadhead": 40}[found.kind] * YARD + 1e-6
    assert found.arrows * (1 if found.kind == "fletched" else 2) <= arrows
