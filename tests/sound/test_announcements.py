"""What is said in each phase, by a real engine; `test_speech_planner` tries where there is room for it."""

from dataclasses import replace

import pytest

from holdtimer.program.timeline import Easy, PlannedRung
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.menu import Choice
from holdtimer.session.words import CALL_FOR_HELP, CHOICE_WORDS
from holdtimer.sound.announcements import Priority, announcements, answers, pieces_ahead
from holdtimer.sound.phrases import EVERY
from tests.invented.timelines import WALL_SIT, timeline_of

HOLD = replace(
    WALL_SIT,
    side="left",
    ladder=(PlannedRung("high", how="Hips high"), PlannedRung("low")),
    rung_index=0,
    band_s=(50, 90),
    exercise_way_out="Hands on the chair.",
    exercise_needs=("a clear wall", "a chair"),
    setup=("Back flat", "Feet out"),
)
OPENS = 12.0  # a tap at 2 s, a count-in of 10 s
EASY = Easy(part=0, title="March on the spot", seconds=60.0, setup=("Hold the counter",))


class Heard:
    """A session as it is heard: what is to be said at any moment, as (seconds, words)."""

    def __init__(self, *parts, last_s=None):
        self.engine = Engine(timeline_of(*(parts or (HOLD,))))
        self.engine.record(ev.Opened, 0.0, session="s", person="Ada", program="hall", script="A")
        self.answered, self.last_s = [], last_s

    def at(self, t, *keys):
        """Let time go to `t` and press keys there."""
        self._took(self.engine.tick(t))
        for key in keys:
            self._took(self.engine.press(key, t))
        self.t = t
        return self

    def _took(self, new):
        self.answered = answers(new, self.engine.part(), self.answered)

    def window(self, *taps):
        """Open the first window and tap at these seconds of it."""
        self.at(2.0, "space").at(OPENS + 0.3)
        for tap in taps:
            self.at(OPENS + tap, "space")
        return self

    def announcements(self):
        found = announcements(
            self.engine.session, self.engine.part(), self.last_s, self.engine.menu, self.answered
        )
        return sorted(found, key=lambda each: (each.at, each.priority))

    def words(self, priority=None, since=0.0):
        """The best wordings from a time on, of one priority or all."""
        return [
            " ".join(each.wordings[0])
            for each in self.announcements()
            if each.at >= since and (priority is None or each.priority is priority)
        ]

    def at_of(self, words):
        return [each.at for each in self.announcements() if " ".join(each.wordings[0]) == words]


def test_ready_tells_all_that_is_needed_and_last_times_seconds():
    heard = Heard(last_s=65.4).at(0.5)
    assert heard.words(Priority.NEXT) == [
        "next Wall sit",
        "left side",
        "high",
        "You need: a clear wall, a chair.",
        "Back flat",
        "Feet out",
        "Hips high",
        "last time sixty five seconds",
    ]
    assert heard.words(Priority.HINT) == ["tap when ready"]


def test_an_exercise_that_cannot_be_named_is_said_by_its_number():
    (first,) = [each for each in Heard().at(0.5).announcements() if each.wordings[0][0] == "next"]
    assert first.wordings[1] == ("next", "set", "one")


def test_a_tap_is_answered_and_what_it_does_next_is_said_when_that_changes():
    heard = Heard().at(2.0, "space")
    assert heard.words(Priority.ANSWER) == ["ready"]
    assert heard.at_of("tap if not ready") == [4.0]
    assert heard.at(6.0, "space").words(Priority.ANSWER) == ["not ready"]


def test_the_window_is_counted_down_to_its_end():
    heard = Heard().window()
    assert heard.at_of("in the band") == [OPENS + 50]
    assert heard.at_of("thirty seconds to the end") == [OPENS + 60]
    assert heard.at_of("ten") == [OPENS + 80]
    counted = [each for each in heard.announcements() if each.priority is Priority.COUNTDOWN]
    words = [" ".join(each.wordings[0]) for each in counted]
    assert words == ["five", "four", "three", "two", "one"]
    assert [each.at for each in counted] == [OPENS + 90 - left for left in (5, 4, 3, 2, 1)]
    assert all(each.until == each.at for each in counted)


def test_a_band_that_begins_with_the_final_stretch_is_not_told_beside_it():
    heard = Heard(replace(HOLD, band_s=(60, 90))).window()
    assert heard.at_of("in the band") == []
    assert heard.at_of("thirty seconds to the end") == [OPENS + 60]


def test_after_a_failure_one_order_is_given_at_a_time():
    heard = Heard().window(69.4)
    since = OPENS + 69.4
    (way_out,) = [each for each in heard.announcements() if each.priority is Priority.WAY_OUT]
    assert heard.at_of("keep pushing three seconds") == [since]
    assert way_out.wordings == (("Hands on the chair.",), ("way out",))
    assert (way_out.at, way_out.interrupts) == (since + 3, True)
    assert heard.words(Priority.ANSWER, since) == [
        "keep pushing three seconds",
        "ease off",
        "breathe",
        "failed at sixty nine",
    ]
    assert heard.at_of("ease off") == [since + 3]
    assert heard.at_of("back in when ready Slide down again.") == [since + 11]
    assert heard.at_of("tap when you are back in") == [since + 11]


@pytest.mark.parametrize(("at", "changes"), [(40.0, {"push_s": 0}), (86.0, {}), (40.0, {"reentry": False})])
def test_the_way_out_is_ordered_first_where_nobody_pushes_or_no_time_is_left_for_it_afterwards(at, changes):
    heard = Heard(replace(HOLD, **changes), HOLD).window(at)
    assert heard.at_of("Hands on the chair.") == [OPENS + at]
    assert not any(each.interrupts for each in heard.announcements() if each.priority is Priority.ANSWER)


def test_where_nobody_pushes_on_nobody_is_asked_to():
    words = Heard(replace(HOLD, push_s=0)).window(40.0).words(since=OPENS + 40)
    assert "keep pushing" not in words
    assert "ease off" not in words
    assert "breathe" in words


def test_a_failure_that_ends_the_set_tells_nobody_to_come_back():
    heard = Heard(replace(HOLD, reentry=False), HOLD).window(40.0)
    assert "this set is over" in heard.words()
    assert not [words for words in heard.words() if "back in" in words]
    assert heard.at_of("five") == []
    heard.at(OPENS + 43.4)
    assert "Hands on the chair." in heard.words()  # still to be said, if it was not
    assert "failed at forty" in heard.words()


def test_a_re_entry_takes_the_way_out_back():
    heard = Heard().window(40.0, 52.0)
    assert "Hands on the chair." not in heard.words()
    assert heard.at_of("back in") == [OPENS + 52]


def test_a_stamp_taken_back_leaves_nothing_of_it():
    heard = Heard().window(40.0)
    heard.at(OPENS + 41, "backspace").at(OPENS + 42.2, "backspace").at(OPENS + 42.5)
    assert heard.words(Priority.ANSWER) == ["taken back"]
    assert "Hands on the chair." not in heard.words()


def test_silence_is_asked_about_and_the_answer_is_said():
    heard = Heard(HOLD, HOLD).window().at(OPENS + 95)
    asked = "set one left side tap if you worked to the end back space if not or hold a key"
    assert len(heard.at_of(asked)) == 3
    heard.at(OPENS + 96, "space")
    assert heard.words(Priority.ANSWER) == ["I worked to the end"]
    assert heard.at_of(asked) == []


def test_a_no_is_said_back():
    heard = Heard(HOLD, HOLD).window().at(OPENS + 96, "backspace")
    assert heard.words(Priority.ANSWER) == ["I did not work to the end"]


def test_a_late_tap_is_said():
    heard = Heard(HOLD, HOLD).window().at(OPENS + 90.7, "space")
    assert "noted, after the end" in heard.words(Priority.ANSWER)


def test_a_rest_tells_the_next_set_and_when_it_is_nearly_over():
    heard = Heard(HOLD, replace(HOLD, side="right"), last_s=61.0).window(60.0).at(OPENS + 95)
    assert heard.words(Priority.NEXT)[:2] == ["next Wall sit", "right side"]
    assert heard.at_of("rest nearly over") == [OPENS + 90 + 80]
    assert OPENS + 90 + 90 in heard.at_of("tap when ready")


def test_easy_movement_is_named():
    heard = Heard(EASY, HOLD).at(0.5)
    assert heard.words(Priority.NEXT)[:2] == ["next March on the spot", "sixty seconds"]
    heard.at(2.0, "space").at(3.0)
    assert "March on the spot" in heard.words(Priority.ANSWER)
    assert heard.at_of("ten seconds") == [2.0 + 50]


def test_lost_keys_are_told_again_and_again():
    heard = Heard().window()
    heard.engine.focus(False, OPENS + 5)
    assert len(heard.at_of("your keys do not reach me")) >= 5


def test_something_wrong_tells_when_to_call_for_help_and_nothing_else():
    heard = Heard().window()
    for key in ("escape", *["up"] * 8):
        heard.at(heard.t + 0.1, key)
        if heard.engine.menu.marked is Choice.SYMPTOM:
            break
    heard.at(heard.t + 0.1, "enter")
    assert heard.engine.session.stopped == "symptom"
    assert heard.words() == ["stopped", *CALL_FOR_HELP]


def test_a_menu_for_a_single_switch_reads_itself_out():
    heard = Heard()
    for tap in range(5):
        heard.at(2 + 1.5 * tap, "space")
    since = heard.engine.menu.scanned_since
    lines = heard.engine.menu.lines
    words = heard.words()
    assert words[: len(lines)] == [CHOICE_WORDS[line] for line in lines]
    assert words[0] == "something feels wrong"
    spoken = heard.announcements()
    assert [each.at - since for each in spoken[:3]] == pytest.approx([0, 3, 6])


def test_something_feels_wrong_is_said_back_before_it_is_asked_again():
    heard = Heard()
    for tap in range(5):
        heard.at(2 + 1.5 * tap, "space")
    chosen = heard.engine.menu.scanned_since + 1
    heard.at(chosen, "space")
    assert heard.words() == ["something feels wrong", "something feels wrong", "go on"]
    assert [each.at - chosen for each in heard.announcements()] == pytest.approx([0, 2.5, 5.5])


def test_nothing_is_said_once_the_session_is_left():
    heard = Heard().at(2.0, "space")
    heard.engine.leave("quit", 3.0)
    assert heard.words() == []


def test_what_is_fixed_in_any_announcement_is_recorded():
    own = set(pieces_ahead([HOLD, EASY])) - set(EVERY)
    every = []
    heard = Heard(HOLD, EASY, HOLD, last_s=61.0)
    for t in range(1, 400):
        heard.at(float(t), *(["space"] if t in (2, 60, 75, 80, 110, 190, 300) else []))
        every += [piece for each in heard.announcements() for way in each.wordings for piece in way]
    assert {"failed at", "back in", "rest nearly over", "five", "easy movement"} <= set(every)
    assert set(every) - own - set(EVERY) == set()


def test_the_pieces_of_the_first_part_are_made_ready_first():
    pieces = list(pieces_ahead([EASY, HOLD]))
    assert pieces[1] == "March on the spot"
    assert pieces.index("Hold the counter") < pieces.index("five") < pieces.index("Hands on the chair.")
    assert list(pieces_ahead([])) == list(EVERY)
