"""The same keys, a while later: all that follows is the same, a while later.

Times are binary fractions, so that a sum compares otherwise than on paper at some moments and not at others.
"""

from hypothesis import given
from hypothesis import strategies as st

from holdtimer.session import events as ev
from holdtimer.session.debounce import Settings
from holdtimer.session.engine import Engine
from holdtimer.session.events import round_time
from tests.profiles import examples
from tests.session.test_any_session import KEYS, timelines

MOMENTS = ("t", "since")  # fields that tell a moment of the session
LEAVES_AFTER_S = 900.0
REPEATS_S = (0.25, 0.033)

gaps = st.sampled_from(
    [0.0001, 0.1, 0.3, 0.7999, 0.8, 0.8001, 1.0, 1.5, 2.0, 2.5, 3.0, 5.0, 10.0, 20.0, 33.3]
)
starts = st.integers(20_000, 600_000).map(lambda n: n / 10_000)
holds = st.sampled_from([0.0, 0.0, 0.0, 1.3, 3.2, 3.5, 6.0])
deeds = st.lists(st.tuples(gaps, st.sampled_from([*KEYS, "space", "space", None]), holds), max_size=30)


def presses(doings):
    """Yield when each key is pressed, from the first on, a held one again and again; None lets time pass."""
    now = 0.0
    for gap, key, held_s in doings:
        yield now, key
        first, every = REPEATS_S
        for n in range(max(0, int((held_s - first) / every)) if key else 0):
            yield now + first + n * every, key
        now += held_s + gap
    yield now, None


def played(timeline, doings, start):
    """Return what came of it, each moment told from the start."""
    engine = Engine(timeline, Settings())
    events = engine.record(ev.Opened, 0.0, session="s", person="Ada", program="p", script="A")
    for after, key in presses(doings):
        now = round_time(start + after)
        events += engine.tick(now) if key is None else engine.press(key, now)
    return [told(event, start) for event in events[1:]]


def told(event, start):
    fields = event.model_dump()
    return fields | {name: round_time(fields[name] - start) for name in MOMENTS if name in fields}


@examples(200)
@given(timelines(), deeds, starts, starts)
def test_when_a_session_is_begun_changes_nothing_of_it(timeline, doings, one, other):
    length = sum(gap + held_s for gap, _, held_s in doings)
    if length + max(one, other) < LEAVES_AFTER_S:
        assert played(timeline, doings, one) == played(timeline, doings, other)
