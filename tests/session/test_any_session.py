"""Whatever a person, a clock and a machine do, in any order: what must hold of a session."""

from dataclasses import replace

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from holdtimer.program.timeline import Easy, PlannedRung, PlannedSet, Timeline
from holdtimer.session import events as ev
from holdtimer.session.debounce import Settings
from holdtimer.session.engine import Engine
from holdtimer.session.fold import fold
from holdtimer.session.results import results, tension_s
from holdtimer.session.state import Phase, Session
from holdtimer.session.summary import summarize
from tests.profiles import examples

GUARD_S = 0.8
LADDER = (PlannedRung("low"), PlannedRung("middle"), PlannedRung("high"))
OTHER_LADDER = (PlannedRung("near"), PlannedRung("far"))
CONTROLS = {"escape", "backspace", "question_mark", "up", "down", "enter", "plus", "minus", "o"}
KEYS = [
    "space",
    "space",
    "a",
    "enter",
    "escape",
    "backspace",
    "up",
    "down",
    "plus",
    "minus",
    "o",
    "question_mark",
]
STARTED = (ev.CountIn, ev.EasyBegun, ev.WindowOpen)
BROKEN = (ev.Gap, ev.Resumed, ev.NotReady, ev.Redone, ev.Interrupted)

lengths = st.sampled_from([0.0001, 0.05, 0.1, 0.25, 0.5, 0.8, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0, 30.0, 100.0])
easy_parts = st.builds(
    Easy, st.just(0), st.just("March"), st.sampled_from([5.0, 20.0]), rest_s=st.sampled_from([0.0, 4.0])
)


@st.composite
def set_parts(draw):
    window = draw(st.sampled_from([10.0, 20.0, 33.3]))
    exercise, ladder = draw(st.sampled_from([("sit", LADDER), ("raise", OTHER_LADDER)]))
    return PlannedSet(
        part=0,
        set=0,
        exercise=exercise,
        name=exercise,
        kind="hold",
        side="both",
        ladder=ladder,
        rung_index=draw(st.integers(0, 1)),
        window_s=window,
        band_s=(window * 2 / 3, window),
        final_s=draw(st.sampled_from([3.0, window / 3])),
        count_in_s=draw(st.sampled_from([3.0, 6.0])),
        rest_s=draw(st.sampled_from([0.0, 5.0])),
        push_s=draw(st.sampled_from([0.0, 5.0])),
        reentry=draw(st.booleans()),
        advance=draw(st.sampled_from(["tap", "auto"])),
        failure="f",
        exercise_way_out="w",
    )


@st.composite
def timelines(draw):
    parts, sets = [], 0
    for index, part in enumerate(draw(st.lists(st.one_of(set_parts(), easy_parts), min_size=1, max_size=4))):
        sets += isinstance(part, PlannedSet)
        numbered = {"part": index} | ({"set": sets} if isinstance(part, PlannedSet) else {})
        parts.append(replace(part, **numbered))
    return Timeline("p", "P", "A", "A", tuple(parts))


class Watch:
    """What must hold of the events one by one, each looked at once; and the session they add up to."""

    def __init__(self, timeline, events):
        self.timeline = timeline
        self.session = Session()
        self.count = 0
        self.answered = set()  # sets about which a person said something
        self.opened, self.counted_in = {}, None
        self.tapped, self.broken, self.was_easy = False, True, False
        self.see(events)

    def see(self, events):
        self.session = fold(events, self.session)
        for event in events:
            assert event.n == self.count
            self.count += 1
            self.boundaries_carry_their_due_time(event)
            self.nothing_starts_by_itself(event)
            if isinstance(event, ev.Confirmed | ev.LateTap | ev.Failure):
                self.answered.add(event.set)

    def boundaries_carry_their_due_time(self, event):
        if isinstance(event, ev.WindowOpen):
            assert isinstance(self.counted_in, ev.CountIn)
            assert event.t == pytest.approx(self.counted_in.t + self.counted_in.seconds, abs=1e-4)
            self.opened[event.set] = event
        if isinstance(event, ev.Band | ev.FinalStretch | ev.WindowClosed):
            window = self.opened[event.set]
            assert event.t == pytest.approx(window.t + event.at, abs=1e-4)
            self.check_when(event, window)
        if isinstance(event, ev.CountIn):
            self.counted_in = event

    def check_when(self, event, window):
        if isinstance(event, ev.Band):
            assert event.at == pytest.approx(window.band_s[0], abs=1e-3)
        elif isinstance(event, ev.FinalStretch):
            assert event.at == pytest.approx(window.window_s - window.final_s, abs=1e-3)
        elif window.reentry:
            assert event.at == pytest.approx(window.window_s, abs=1e-3)

    def nothing_starts_by_itself(self, event):
        """A tap before each start, but for easy movement in a row and for `auto` after an answered window."""
        if isinstance(event, ev.Ready):
            self.tapped = True
        elif isinstance(event, BROKEN):
            self.tapped, self.broken = False, True
        elif isinstance(event, ev.EasyBegun):
            assert self.tapped or (self.was_easy and not self.broken)
        elif isinstance(event, ev.CountIn):
            auto = self.timeline.parts[event.part].advance == "auto"
            assert self.tapped or (auto and not self.broken)
        if isinstance(event, STARTED):
            self.tapped, self.broken, self.was_easy = False, False, isinstance(event, ev.EasyBegun)


class AnySession(RuleBasedStateMachine):
    """A session with anything happening to it."""

    @initialize(timeline=timelines())
    def open(self, timeline):
        self.timeline, self.now, self.events, self.heard = timeline, 0.0, [], []
        self.watch = Watch(timeline, [])
        self.engine = Engine(timeline, Settings(guard_s=GUARD_S))
        self.took(self.engine.record(ev.Opened, 0.0, session="s", person="Ada", program="p", script="A"))

    def took(self, new):
        self.events += new
        self.watch.see(new)
        return new

    # -- what happens

    @rule(seconds=lengths)
    def wait(self, seconds):
        self.now += seconds
        self.tick()

    @rule(seconds=st.sampled_from([-0.8, -0.0001, 0.0, 0.0001, 0.2, 0.3, 0.9, 1.9, 2.5]))
    def wait_for_the_clock(self, seconds):
        self.now = max(self.now, self.engine.session.until + seconds)

    @rule(read=st.sampled_from([None, None, 0.0, 0.1, 1.0]))
    def tick(self, read=None):
        """Tick; every key pressed until `read` seconds ago was handed in, or so it was believed."""
        read_until = None if read is None else self.now - read
        self.took(self.engine.tick(self.now, read_until))
        if self.engine.is_over(self.now):
            self.took(self.engine.close(self.now, "finished"))

    @rule(key=st.sampled_from(KEYS), late=st.sampled_from([0.0, 0.0, 0.0, 0.1, 0.24, 0.3, 0.6, 1.0]))
    def press(self, key, late):
        at, known = max(0.0, round(self.now - late, 4)), len(self.events)
        was_live = self.engine.session.phase is not Phase.CLOSED and not self.engine.session.left
        was_scanning = self.engine.is_scanning
        self.took(self.engine.press(key, at, self.now))
        is_alone = all(abs(at - other) >= GUARD_S + 1e-6 for other in self.heard)
        self.heard = [*self.heard[-20:], at]
        scans = was_scanning or self.engine.is_scanning
        if was_live and not self.engine.session.stopped and is_alone and not scans and key not in CONTROLS:
            self.check_that_it_left_something(at, self.events[known:])

    def check_that_it_left_something(self, at, new):
        kinds = (ev.Failure, ev.ReEntry, ev.LateTap, ev.Ready, ev.NotReady, ev.Confirmed, ev.Left)
        dropped = self.engine.dropped
        is_told = any(isinstance(event, kinds) for event in new)
        assert is_told or (dropped is not None and dropped.last >= at)

    @rule(key=st.sampled_from(["space", "enter", "backspace", "a"]), seconds=st.sampled_from([0.4, 1.5, 4.0]))
    def hold(self, key, seconds):
        self.press(key, 0.0)
        end, self.now = self.now + seconds, self.now + 0.5
        while self.now < end:
            self.press(key, 0.0)
            self.now += 0.03

    @rule(times=st.integers(1, 3))
    def tap_like_a_person(self, times):
        """Tap once all is quiet: what moves a session on."""
        for _ in range(times):
            self.now += 2.1
            self.tick()
            self.press("space", 0.0)

    @precondition(lambda self: self.engine.session.open_set is None)
    @rule(into=st.sampled_from([0.0, 0.3, 4.0]))
    def go_on_to_the_next_window(self, into):
        """Tap and wait as a person does until a window is open."""
        for _ in range(12):
            session = self.engine.session
            self.now = max(self.now + 2.1, session.until + 0.3)
            self.tick()
            if self.engine.session.open_set is not None or session.phase is Phase.CLOSED:
                break
            if self.engine.session.phase in (Phase.READY, Phase.REST):
                self.press("space", 0.0)
        self.now += into

    @rule(down=st.sampled_from([0, 1, 1, 2, 2, 3, 4]), wait=st.sampled_from([0.0, 0.9, 3.0]))
    def choose_from_the_menu(self, down, wait):
        for key in ["escape", *["down"] * down, "enter"]:
            self.press(key, 0.0)
            self.now += wait

    @rule(apart=st.sampled_from([0.05, 0.2, 1.0, 2.9, 3.1]), then=st.sampled_from([0.0, 0.1, 0.2]))
    def take_back(self, apart, then):
        self.press("backspace", 0.0)
        self.now += apart
        self.press("backspace", 0.0)
        self.now += then
        self.tick()

    @rule(has=st.booleans())
    def focus(self, has):
        self.took(self.engine.focus(has, self.now))

    def is_undisturbed(self):
        """Whether enough has happened since the last break: breaks are easy to come by, windows are not."""
        return not any(isinstance(event, BROKEN) for event in self.events[-7:])

    @precondition(is_undisturbed)
    @rule(seconds=lengths, alive=st.sampled_from([0.0, 0.1, 1.0]))
    def gap(self, seconds, alive):
        alive_at = max(0.0, self.now - alive)
        self.now += seconds
        self.took(self.engine.gap(alive_at, self.now, seconds))

    @precondition(is_undisturbed)
    @rule(seconds=lengths)
    def leave_and_resume(self, seconds):
        self.took(self.engine.leave("quit", self.now))
        self.resume(seconds)

    @precondition(is_undisturbed)
    @rule(lost=st.integers(0, 3), seconds=lengths)
    def be_killed_and_resume(self, lost, seconds):
        self.events = self.events[: max(1, len(self.events) - lost)]
        self.resume(seconds)

    def resume(self, seconds):
        self.watch = Watch(self.timeline, self.events)
        self.engine = Engine(self.timeline, Settings(guard_s=GUARD_S), fold(self.events))
        self.now = max(self.now, self.engine.session.t) + seconds
        self.took(self.engine.resume(self.now))

    # -- what must hold

    @invariant()
    def events_add_up_to_the_session(self):
        if self.events:
            assert self.watch.session == self.engine.session

    @invariant()
    def no_number_repeats(self):
        assert self.watch.count == len(self.events)

    @invariant()
    def stamps_alternate_inside_their_window(self):
        for each in self.engine.session.sets:
            kinds = [stamp.kind for stamp in each.stamps]
            assert kinds == ["failure", "re-entry"] * (len(kinds) // 2) + ["failure"] * (len(kinds) % 2)
            end = each.window_s if each.ended_at is None else each.ended_at
            assert end <= each.window_s + 1e-4
            times = [0.0, *(stamp.at for stamp in each.stamps), end + 1e-4]
            assert times == sorted(times)

    @invariant()
    def tension_and_time_off_make_the_elapsed_window(self):
        for each in self.engine.session.sets:
            if each.ended_at is not None:
                times = [stamp.at for stamp in each.stamps] + [each.ended_at] * (len(each.stamps) % 2)
                off = sum(back - out for out, back in zip(times[::2], times[1::2], strict=True))
                assert tension_s(each) + off == pytest.approx(each.ended_at, abs=1e-6)

    @invariant()
    def silence_is_not_success(self):
        for result in results(self.engine.session):
            assert not result.counted or result.set in self.watch.answered
            assert not (result.ran_to_end and result.first_failure_s is not None)

    def teardown(self):
        if not getattr(self, "events", None):
            return
        written = [event.model_dump_json() for event in self.events]
        assert fold(ev.event_from_json(line) for line in written) == self.engine.session
        summarize(self.engine.session)
        for cut in {1, len(self.events) // 3 + 1, 2 * len(self.events) // 3 + 1, len(self.events)}:
            finish_by_taps(self.timeline, self.events[:cut])


def finish_by_taps(timeline, past):
    """Resume a session and bring it to its end by taps alone."""
    engine = Engine(timeline, None, fold(past))
    now = engine.session.t + 1
    engine.resume(now)
    for _ in range(60):
        if engine.session.phase is Phase.CLOSED:
            return
        now = max(now + 2.5, engine.session.until + 0.3)
        engine.tick(now)
        if engine.is_over(now):
            engine.close(now, "finished")
        elif engine.session.phase in (Phase.READY, Phase.REST):
            engine.press("space", now)
    raise AssertionError("taps do not bring it to its end")


AnySession.TestCase.settings = examples(100, stateful_step_count=30)
TestAnySession = AnySession.TestCase
