"""How a stroke will look later, when it has finished, and when nobody can tell yet."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from inkhorn.colour.difference import ciede2000
from inkhorn.errors import EstimateError
from inkhorn.estimate import later
from inkhorn.estimate.posterior import sample_posterior
from inkhorn.handbook.load import value
from inkhorn.replay.fold import make_plan
from inkhorn.report.later import moment
from support.daybooks import recorded, standard_ink

HOUR, DAY = 3600.0, 86400.0
MARK = {
    "at": "1936-01-03T09:00", "kind": "mark", "vessel": "jar", "trial": "t1", "support": "goat-parchment",
    "method": "pen", "pen": "reed",
}  # fmt: skip


def seen(at: str, density: float, sd: float = 0.02) -> dict[str, object]:
    """Return the density of the trial read at a moment."""
    return {
        "at": f"1936-01-03T{at}", "kind": "reading", "of": "trial:t1", "what": "optical_density",
        "value": dict.fromkeys("RGB", density), "sd": sd,
    }  # fmt: skip


def posterior(*more: dict[str, object], particles: int = 512):
    """Return the posterior of the standard ink, marked once, with some readings."""
    return sample_posterior(make_plan(recorded([*standard_ink(), MARK, *more])), particles=particles)


@pytest.fixture(scope="module")
def unread():
    """Return the posterior of a mark that was never looked at."""
    return posterior()


@pytest.fixture(scope="module")
def early():
    """Return the posterior of a mark that was looked at twice, in its first minute."""
    return posterior(seen("09:01", 0.30), seen("09:01", 0.31))


def test_a_fresh_stroke_has_not_finished_and_an_old_one_has(unread) -> None:
    """The chance that no visible change is left is nought at first and one after years."""
    at_once = later.of_trial(unread, "t1", (), moment("1936-01-03T09:00:01"))
    old = later.of_trial(unread, "t1", (), moment("1941-01-03T09:00:00"))
    assert at_once.course.finished < 0.02
    assert old.course.finished == pytest.approx(1.0, abs=0.01)
    assert old.course.state == "finished"
    assert old.course.look_again is None


def test_a_stroke_darkens_towards_dry(unread) -> None:
    """Density rises from moment to moment to the dry one; lightness and what is left fall."""
    told = later.of_vessel(unread, "jar", (60.0, HOUR, DAY, None))
    assert [m.after for m in told.moments] == [60.0, HOUR, DAY, None]
    for channel in "RGB":
        medians = [m.optical_density[channel].median for m in told.moments]
        assert medians == sorted(medians)
    left = [m.left.median for m in told.moments]
    assert left == sorted(left, reverse=True)
    assert left[-1] == 0.0


def test_what_is_left_is_the_difference_of_the_two_colours(unread) -> None:
    """With one draw that stands for all, what is left is CIEDE2000 between the colour then and the dry one."""
    told = later.of_vessel(unread, "jar", (HOUR, None))
    then, dry = (np.array([[m.lab[c].median for c in "Lab"]]) for m in told.moments)
    assert told.moments[0].left.median == pytest.approx(float(ciede2000(then, dry)[0]), rel=0.25)


def test_the_first_time_is_found() -> None:
    """What holds from a moment on is found to one in a hundred; what never holds has no time."""
    assert later.first_time(lambda t: t >= 5000.0, 10.0) == pytest.approx(5000.0, rel=0.02)
    assert later.first_time(lambda _: True, 10.0) == 10.0
    assert later.first_time(lambda _: False, 10.0) is None


def test_looking_again_is_when_it_will_have_finished(unread) -> None:
    """At the moment named the chance to have finished reaches the row, and not well before."""
    course = later.of_trial(unread, "t1", (), moment("1936-01-03T09:30:00")).course
    sure = value("knowing.sure")
    assert course.look_again > 1800.0
    # What is left may be asked of the same draws at any time: just before and just after.
    for factor, reached in ((0.7, False), (1.05, True)):
        then = course.made + timedelta(seconds=factor * course.look_again)
        finished = later.of_trial(unread, "t1", (), then).course.finished
        assert (finished >= sure) is reached


def test_early_readings_do_not_say_where_it_ends(early) -> None:
    """Looked at within a minute only, the dry colour is open, and a time is named at which a look would tell."""
    course = later.of_trial(early, "t1", (), moment("1936-01-03T09:02:00")).course
    assert course.state == "not identifiable"
    assert course.look_again > 120.0


def test_a_late_reading_says_where_it_ends() -> None:
    """Looked at again a month on, the dry colour is known: narrow, and no longer open."""
    post = posterior(seen("09:01", 0.30), {**seen("09:00", 0.62), "at": "1936-02-03T09:00"})
    told = later.of_trial(post, "t1", (), moment("1936-01-03T09:02:00"))
    assert told.course.state == "darkening"
    dry = told.moments[-1].optical_density["G"]
    assert dry.p95 - dry.p05 < value("knowing.close.dry_optical_density")
    assert dry.median == pytest.approx(0.62, abs=0.06)


def test_one_reading_narrows_as_linear_regression_says() -> None:
    """For jointly normal densities the band left after a reading is that of the closed form."""
    rng = np.random.default_rng(1)
    dry = rng.normal(0.8, 0.1, 200_000)
    then = 0.5 * dry + rng.normal(0, 0.02, 200_000)
    stroke = later.Stroke(
        density=lambda t: np.repeat((dry if t is None else then)[:, None], 3, axis=1), bare_rgb=np.ones(3)
    )
    noise = 0.02**2 + value("readings.density") ** 2 + value("misfit.channel") ** 2
    exact = np.sqrt(1 / (1 / 0.1**2 + 0.5**2 / noise))
    assert later.band_after(stroke, HOUR) == pytest.approx(2 * 1.6449 * exact, rel=0.01)


def test_what_cannot_be_asked_is_refused(unread) -> None:
    """No such vessel or trial, or a moment before it was made: each is said."""
    with pytest.raises(EstimateError, match="nothing that could be written"):
        later.of_vessel(unread, "tub", (None,))
    with pytest.raises(EstimateError, match="no mark of trial"):
        later.of_trial(unread, "t9", (), None)
    with pytest.raises(EstimateError, match="made after"):
        later.of_trial(unread, "t1", (), moment("1936-01-02T00:00:00"))
