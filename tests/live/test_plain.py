"""The plain session on a faked one: which lines come when."""

import pytest

from holdtimer.live import debrief as debrief_lines
from holdtimer.live import plain
from holdtimer.live.answers import Debrief
from holdtimer.live.debrief import PlainDebrief
from holdtimer.live.keys import Key
from holdtimer.live.plain import PlainSession, ask_page, say
from holdtimer.live.terminal import Leave
from holdtimer.report.pages import TAP, PageText, cautions_page
from holdtimer.session.debounce import NEW_SCREEN_S
from holdtimer.sound.patterns import PATTERNS, Sound
from holdtimer.sound.player import steady


class HandKeys:
    """A source that gives what a test has put in, and lets time go on while it is waited for."""

    def __init__(self, faked):
        self.faked = faked
        self.coming = []  # (seconds of the session, key name or Leave)
        self.until = 60.0

    def read_until(self):
        return self.faked.clock.time

    def take(self, wait_s):
        if self.faked.t >= self.until:
            return [Leave("quit")]
        self.faked.clock.time += wait_s
        self.faked.heartbeat.beat()
        due = [each for each in self.coming if each[0] <= self.faked.t]
        self.coming = [each for each in self.coming if each[0] > self.faked.t]
        return [what if isinstance(what, Leave) else Key(what, self.faked.start + at) for at, what in due]


@pytest.fixture
def led(faked, capsys):
    """Lead a session with these keys at these seconds and return the lines that were printed."""

    def led(*keys, until=60.0, before=None):
        source = HandKeys(faked)
        source.coming, source.until = list(keys), until
        if before:
            before(faked)
        begin = {"session": "s", "person": "Ada", "program": "hall", "script": "A"}
        PlainSession(faked.driver, source, {}).run(lambda: faked.driver.begin(begin))
        return capsys.readouterr().out.splitlines()

    return led


def first_words(lines):
    return [line.split()[1] for line in lines if line[:1].isdigit()]


def test_a_session_is_told_from_its_opening_to_its_close(led):
    lines = led((2, "space"), (8, "space"), (12, "space"))
    assert first_words(lines) == [
        "opened",
        "anchor",
        "ready",
        "count-in",
        "window-open",
        "failure",
        "band",
        "final-stretch",
        "re-entry",
        "window-closed",
        "anchor",
        "closed",
    ]


def test_what_a_tap_does_is_told_whenever_it_changes_and_only_then(led):
    lines = [line for line in led((2, "space"), (8, "space"), (12, "space")) if line.startswith("tap:")]
    assert lines == [
        "tap: ready",
        "tap: nothing now",
        "tap: not ready",
        "tap: I have failed",
        "tap: nothing yet",
        "tap: I am back in",
        "tap: I have failed",
        "tap: nothing now",
    ]


def test_a_boundary_is_printed_when_it_is_reached_not_later(led):
    late = {}

    def watch(faked):
        faked.driver.listen(lambda new: late.update({each.ev: faked.t - each.t for each in new}))

    led((2, "space"), until=17, before=watch)
    assert set(late) >= {"window-open", "band", "final-stretch", "window-closed"}
    assert max(late[name] for name in ("window-open", "band", "final-stretch", "window-closed")) < 0.002


def test_where_nobody_pushes_the_way_out_follows_a_failure_at_once(led):
    lines = led((2, "space"), (8, "space"), until=9)
    index = next(n for n, line in enumerate(lines) if " failure " in line)
    assert lines[index + 1] == "way out: Hands on the chair, stand up."


def test_the_menu_is_told_line_by_line(led):
    lines = led((2, "space"), (7, "escape"), (7.5, "down"), (8, "up"), (9, "escape"), until=10)
    assert [line for line in lines if line.startswith("menu")] == [
        "menu 1 of 6: something feels wrong",
        "menu 2 of 6: stop this set",
        "menu 1 of 6: something feels wrong",
        "menu closed",
    ]


def test_backspace_asks_for_another_one(led):
    lines = led((2, "space"), (7, "space"), (8, "backspace"), (8.6, "backspace"), until=10)
    assert lines.count("Backspace once more takes the last stamp back") == 1
    assert "taken-back" in first_words(lines)


def test_a_question_mark_tells_where_one_is(led):
    lines = led((1, "question_mark"), (2, "space"), (3.5, "question_mark"), (8, "question_mark"), until=9)
    here = [line for line in lines if line.startswith("here: ")]
    assert here[0] == "here: ready"
    assert here[1].startswith("here: count-in, 2 s left")
    assert here[2].startswith("here: in work, 3 s gone, 7 s to the end")


def test_focus_is_noted_and_is_no_tap(led):
    lines = led((2, "space"), (7, "focus-out"), (8, "focus-in"), until=9)
    assert [line.split(maxsplit=2)[2] for line in lines if " focus " in line] == ["has=no", "has=yes"]
    assert "failure" not in first_words(lines)


def ended(faked, *keys, until=60.0):
    """Lead a session to its end, hear it out with these keys, and return when it ended and when that did."""
    source = HandKeys(faked)
    source.coming, source.until = [(2, "space"), (8, "space"), *keys], until
    begin = {"session": "s", "person": "Ada", "program": "hall", "script": "A"}
    session = PlainSession(faked.driver, source, {})
    session.run(lambda: faked.driver.begin(begin))
    over = faked.t
    session.hear_out()
    return over, faked.t


def test_the_end_of_a_session_is_heard_in_full(faked):
    over, heard = ended(faked)
    assert heard - over == pytest.approx(PATTERNS[Sound.SESSION_OVER].length_s, abs=0.11)


def test_a_tap_cuts_the_end_of_a_session_short(faked, monkeypatch):
    monkeypatch.setattr(plain, "steady", lambda: faked.clock.time - NEW_SCREEN_S)
    over, heard = ended(faked, (17.9, "space"))
    assert over < 17.9 < heard < 18.1


@pytest.mark.parametrize(("name", "until"), [("off", 60.0), ("recording", 10.0)])
def test_nothing_is_waited_for_without_sound_or_when_a_session_was_left(faked, name, until):
    faked.player.name = name
    over, heard = ended(faked, until=until)
    assert over == heard


def test_leaving_is_told_and_ends_it(led):
    lines = led((2, "space"), (7, Leave("terminated")))
    assert lines[-1].endswith("left reason=terminated")


def test_what_is_not_yet_written_is_said_before_its_line_and_again_once_it_is(led):
    def hang_until_the_window(faked):
        faked.log.hangs = True
        faked.driver.listen(lambda new: faked.log.recover() if new[-1].ev == "window-open" else None)

    lines = led((2, "space"), (8, "space"), until=9, before=hang_until_the_window)
    noted, written = lines.index("noted, not yet saved"), lines.index("all of it is written")
    opened = next(n for n, line in enumerate(lines) if " opened " in line)
    window = next(n for n, line in enumerate(lines) if " window-open " in line)
    assert noted < opened < written < window
    assert (lines.count("noted, not yet saved"), lines.count("all of it is written")) == (1, 1)


def test_a_reader_that_is_gone_stops_no_session(monkeypatch):
    class Gone:
        def write(self, text):
            raise BrokenPipeError

        def flush(self):
            raise OSError(5, "the terminal is gone")

    monkeypatch.setattr("sys.stdout", Gone())
    say("a line")


def test_no_line_steers_a_terminal(capsys):
    say("a\x1b[31mb\x9bc\nd")
    assert capsys.readouterr().out == "a?[31mb?c?d\n"


class Answers:
    """A source of answers to a page: each is given `after_s` seconds after it was asked for."""

    def __init__(self, *answers):
        self.answers = list(answers)

    def take(self, wait_s):
        what, after_s = self.answers.pop(0)
        return [what if isinstance(what, Leave) else Key(what, steady() + after_s)]


PAGE = PageText("Go on?", ("A session was left.", "", "  It is kept."), "go on", (("c", "close it"),))


def test_a_page_is_printed_with_its_keys(capsys):
    ask_page(Answers(("space", 5)), PAGE)
    assert capsys.readouterr().out.splitlines() == [
        "Go on?",
        "A session was left.",
        "It is kept.",
        "c: close it",
        "tap: go on",
    ]


@pytest.mark.parametrize(
    ("answers", "answer"),
    [
        ([("space", 5)], "tap"),
        ([("x", 5)], "tap"),
        ([("c", 5)], "c"),
        ([("C", 5)], "c"),  # with Caps Lock
        ([("c", 0.5), ("x", 5)], "tap"),
        ([("escape", 5), ("backspace", 5), ("question_mark", 5), ("focus-in", 5), ("c", 5)], "c"),
        ([(Leave("quit"), 0)], Leave("quit")),
    ],
)
def test_a_page_takes_a_tap_or_one_of_its_keys_once_it_could_be_read(answers, answer):
    assert ask_page(Answers(*answers), PAGE) == answer


def test_all_cautions_are_printed_and_then_one_tap_accepts_them(capsys):
    page = cautions_page()
    assert ask_page(Answers(("space", 0.5), ("pagedown", 5)), page) == TAP
    printed = capsys.readouterr().out.splitlines()
    assert printed == [page.headline, *(line.strip() for line in page.lines if line), "tap: I have read this"]


# -- the question after a silent window, and those after the session


def test_a_silent_window_asks_by_the_name_of_its_set_and_says_how_to_answer_no(led):
    lines = led((2, "space"), (20, "backspace"), until=25)
    index = lines.index("question: Wall sit: did you work to the end?")
    assert lines[index + 1 : index + 4] == [
        "Backspace: I did not work to the end",
        "one switch: hold it for 3 s, then choose your answer",
        "tap: I worked to the end",
    ]
    (answer,) = [line for line in lines if " answer " in line]
    assert answer.endswith(" answer set=1 field=ran_to_end value=no")


def test_what_the_session_needs_and_how_long_it_takes_is_printed_at_its_opening(led):
    lines = led(until=1)
    assert "today: 1 set, 1 minute or more" in lines
    assert "needed today: a clear wall, water, something cool, a phone within reach" in lines


class Typed:
    """Keys typed one after the other, each so many seconds after the one before; then nobody is there."""

    def __init__(self, clock, keys, apart_s):
        self.clock, self.keys, self.apart_s = clock, list(keys), apart_s

    def take(self, wait_s):
        self.clock.now += self.apart_s
        return [Key(self.keys.pop(0), self.clock.now)] if self.keys else []


class Steady:
    now = 100.0


@pytest.fixture
def answered(faked, capsys, monkeypatch, tmp_path, hall_text):
    """Close a session with these keys in it, type the others at the questions; the lines and the answers."""

    def answered(*keys, typed, apart_s=2.0):
        source = HandKeys(faked)
        source.coming = list(keys)
        begin = {"session": "s", "person": "Ada", "program": "hall", "script": "A", "program_text": hall_text}
        PlainSession(faked.driver, source, {}).run(lambda: faked.driver.begin(begin))
        capsys.readouterr()
        clock = Steady()
        for module in (plain, debrief_lines):
            monkeypatch.setattr(module, "steady", lambda: clock.now)
        debrief = Debrief(tmp_path, faked.driver.engine.session)
        PlainDebrief(Typed(clock, typed, apart_s), debrief).run()
        debrief.book.close()
        given = [(each.field, each.value) for each in debrief.book.answers]
        return capsys.readouterr().out.splitlines(), given

    return answered


FAILED = (2, "space"), (12, "space")
SILENT = (2, "space"), (20, "backspace")


def test_when_a_window_failed_is_asked_where_it_is_not_known(answered):
    lines, given = answered(*SILENT, typed=["7", "enter", "space"])
    assert "question: about when did you fail? (s)" in lines
    assert "noted: 7" in lines
    assert given == [("failed_about", 7.0)]


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [(["6", "full_stop", "5"], 6.5), (["6", "comma", "5"], 6.5), (["0", "colon", "0", "7"], 7.0)],
)
def test_when_a_window_failed_is_typed_with_a_decimal_or_in_minutes(answered, typed, seconds):
    _, given = answered(*SILENT, typed=[*typed, "enter", "space"])
    assert given == [("failed_about", seconds)]


def test_a_tap_skips_each_question(answered):
    lines, given = answered(*SILENT, typed=["space", "space", "space"])
    assert given == []
    assert "skipped" in lines


def test_a_clicker_steps_to_an_answer_and_a_tap_keeps_it(answered):
    lines, given = answered(*SILENT, typed=["pageup", "pageup", "pagedown", "space", "space", "space"])
    middle = round((5 * 9) ** 0.5)
    assert given == [("failed_about", middle)]
    assert f"so far: {middle}" in lines
    assert f"noted: {middle}" in lines


def test_one_key_of_a_clicker_alone_skips_yes_or_no_in_the_end(answered):
    confirmed = (2, "space"), (20, "pagedown")
    lines, given = answered(*confirmed, typed=["y", *["pagedown"] * 7, *["pagedown"] * 6, "space"])
    assert lines.count("skipped") == 4  # effort, form, pain, note
    assert given == []


def test_effort_form_pain_and_a_note_are_asked_where_somebody_wants_it(answered):
    keys = ["y", "1", "0", "enter", "n", "y", "s", "space", "comma", "enter"]
    lines, given = answered(*FAILED, typed=keys)
    assert given == [("effort", 10.0), ("form_broke", False), ("pain", True), ("note", "s ,")]
    assert "How were the sets?" in lines


def test_one_tap_ends_the_questions_where_nothing_is_in_doubt(answered):
    lines, given = answered(*FAILED, typed=["space"])
    assert given == []
    assert not [line for line in lines if line.startswith("question")]


def test_escape_skips_all_that_are_left(answered):
    _, given = answered(*FAILED, typed=["y", "4", "enter", "escape"])
    assert given == [("effort", 4.0)]


def test_a_number_that_cannot_be_is_asked_for_again(answered):
    _, given = answered(*FAILED, typed=["y", "1", "2", "enter", "3", "enter", "escape"])
    assert given == [("effort", 3.0)]


def test_where_nobody_is_there_the_questions_end_by_themselves(answered):
    lines, given = answered(*SILENT, typed=[])
    assert given == []
    assert lines.count("question: about when did you fail? (s)") == 1


def test_after_a_failure_each_order_is_printed_when_its_turn_comes(faked_at, hall_text, capsys):
    text = hall_text.replace("window_s = 10", "window_s = 30").replace("band_s = [5, 9]", "band_s = [15, 25]")
    faked = faked_at(text=text.replace("push_s = 0", "push_s = 3"))
    source = HandKeys(faked)
    source.coming, source.until = [(2, "space"), (9, "space")], 36
    begin = {"session": "s", "person": "Ada", "program": "hall", "script": "A"}
    PlainSession(faked.driver, source, {}).run(lambda: faked.driver.begin(begin))
    lines = capsys.readouterr().out.splitlines()
    orders = [line for line in lines if line.startswith(("keep", "way", "back", "stay"))]
    assert orders == [
        "way out: Hands on the chair, stand up.",  # before the set
        "keep pushing: 3 s",
        "way out: Hands on the chair, stand up.",
        "back in when ready: Slide down again.",
        "stay out: the window ends soon",
    ]
