"""Any history led by the engine, handed on as CSV: the same verdicts, rungs and spacing elsewhere."""

import random
import tempfile
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from holdtimer.log.csv_file import csv_text, keep_paper_sessions, read_sheet
from holdtimer.log.folder import new_session_id, session_folder
from holdtimer.log.history import earlier_summaries, read_summaries
from holdtimer.log.lines import encode
from holdtimer.log.reader import read_person
from holdtimer.program.compiling import compile_script
from holdtimer.program.loading import loads
from holdtimer.progression.due import due
from holdtimer.report.due import due_to_json
from holdtimer.session import events as ev
from holdtimer.session.engine import Engine
from holdtimer.session.menu import Choice
from holdtimer.session.paper import plan_import
from holdtimer.session.state import Phase
from tests.invented.programs import HEEL_RAISE, ON_THE_WALL, WALL_SIT, program, script
from tests.profiles import examples

PERSON = "Invented Walker"
TEXT = program(
    WALL_SIT
    + """\
joint = "knee"
ladder = [{rung = "high", load = 0.6}, {rung = "+ a hand", load = 0.64}, {rung = "low", load = 0.7}]
""",
    HEEL_RAISE + 'ladder = ["both hands", "fingertips", "no hands"]\n',
    script(
        "A",
        "Legs",
        '{exercise = "heel-raise"}',
        '{exercise = "wall-sit", window_s = 50, band_s = [30, 50]}',
        ON_THE_WALL,
    ),
    script("B", "Wall", ON_THE_WALL),
    name="invented",
    title="Invented",
    defaults="window_s = 60\nband_s = [40, 55]\nfinal_s = 20\nrest_s = 20\ncount_in_s = 5\n",
)
LOADED = loads(TEXT, "invented.toml")
PROGRAM = LOADED.program
RUNGS = {"wall-sit": ["high", "+ a hand", "low"], "heel-raise": ["both hands", "fingertips", "no hands"]}
WINDOW = [
    "fail",
    "fail",
    "fail",
    "back-in",
    "slip",
    "silent",
    "silent",
    "late",
    "end",
    "menu",
    "gap",
    "left",
    "focus",
    "kill",
]
IN_MENU = [Choice.STOP_SET, Choice.REDO, Choice.SKIP, Choice.SYMPTOM, Choice.END, Choice.GO_ON]
NOTES = ["fine", "=1+1", "'=1", "-", 'a, "b"\r\nand more', "＝x", "\tx"]


@dataclass
class Hand:
    """An invented hand on the key: whatever can happen in a session happens by chance."""

    chance: random.Random
    engine: Engine
    events: list[ev.AnyEvent]
    now: float = 0.0
    killed: bool = False

    def wait(self, seconds):
        self.now = round(self.now + seconds, 4)
        self.events += self.engine.tick(self.now)

    def press(self, key, after=1.0):
        self.wait(after)
        self.events += self.engine.press(key, self.now)

    def choose(self, choice):
        self.press("escape")
        for _ in range(12):
            menu = self.engine.menu
            if menu is None or menu.marked is choice:
                break
            self.press("down")
        self.press("enter")

    def lead(self):
        for _ in range(300):
            if self.engine.is_over(self.now) or self.killed or self.engine.session.phase is Phase.CLOSED:
                return
            if self.engine.session.left:
                self.resume()
            else:
                self.turn()

    def resume(self):
        if self.chance.random() < 0.5:
            self.killed = True
            return
        self.now += self.chance.uniform(1, 600)
        self.events += self.engine.resume(self.now)

    def turn(self):
        session = self.engine.session
        if session.phase is Phase.WINDOW:
            self.window(session.open_set)
        elif session.phase is Phase.COUNT_IN or session.is_ready:
            self.wait(max(0.3, session.until - self.now + 0.3))
        elif session.asking is not None:
            self.answer()
        else:
            self.between()

    def answer(self):
        what = self.chance.choice(["tap", "tap", "deny", "silence"])
        if what == "deny":
            self.wait(2)
            self.choose(Choice.NOT_TO_THE_END)
        elif what == "silence":
            self.wait(1000)
        else:
            self.press("space", 3)

    def between(self):
        if self.chance.random() < 0.06:
            self.press("o", 2)
        if self.chance.random() < 0.06:
            self.wait(2)
            self.choose(self.chance.choice([Choice.SKIP, Choice.SYMPTOM, Choice.SKIP]))
            return
        self.press("space", 3)
        if self.engine.part() is None:
            self.wait(5)

    def window(self, current):
        opened, window = current.opened_t, current.window_s
        what, at = self.chance.choice(WINDOW), self.chance.uniform(1, window - 12)
        for seconds in self.presses(what, window, at):
            self.press("space", max(0.0, opened + seconds - self.now))
        self.trouble(what, at)
        if self.engine.session.open_set is not None and not self.killed:
            self.wait(max(0.0, opened + window - self.now) + 0.3)

    def presses(self, what, window, at):
        """Return when the key is pressed, in seconds of the window."""
        if what == "late":
            return [window + 0.7]
        times = [at] if what in ("fail", "back-in", "slip") else []
        if what == "slip":
            times.append(at + self.chance.uniform(2.1, 4.5))
        if what == "back-in":
            times += [
                at + self.chance.uniform(2.1, 4) + 3 * each for each in range(self.chance.randrange(1, 4))
            ]
        return times

    def trouble(self, what, at):
        if what == "menu":
            self.wait(at / 2)
            self.choose(self.chance.choice(IN_MENU))
        elif what == "gap":
            self.events += self.engine.gap(self.now, self.now + 60, 60.0)
            self.now += 60
        elif what == "left":
            self.wait(at)
            self.events += self.engine.leave("quit", self.now)
        elif what == "focus":
            self.events += self.engine.focus(False, self.now)
        elif what == "kill" and self.chance.random() < 0.5:
            self.wait(at)
            self.killed = True


@dataclass
class History:
    """Sessions of some weeks, each a file; what is said later in files of their own."""

    chance: random.Random
    data: Path
    now: datetime = datetime(2024, 3, 20, 18, 0, 0, tzinfo=UTC)
    released: list[datetime] = field(default_factory=list)
    begun: bool = True  # every session began a set
    handed_on: list[str] = field(default_factory=list)  # what there was before each session was answered to

    def write(self, sessions):
        for _ in range(sessions):
            self.now += timedelta(hours=self.chance.choice([3, 26, 49, 50, 72, 90, 200, 600, 1100]))
            events = self.session()
            self.put(events)
            sessions = read_summaries(self.data, PERSON).sessions
            past = next(each for each in sessions if each.session == events[0].session)
            self.begun &= bool(past.results)
            self.handed_on.append(csv_text(sessions))
            said = list(self.said(past, events))
            if past.symptom:
                self.released.append(past.started)
                said.append({"field": "released", "value": True})
            self.put(self.answers(events[0], said))
            self.now += timedelta(seconds=events[-1].t)

    def session(self):
        script = self.chance.choice(["A", "B"])
        rungs = {
            (exercise, side): self.chance.choice(names)
            for exercise, names in RUNGS.items()
            for side in ("both", "left", "right")
        }
        timeline = compile_script(PROGRAM, script, rungs)
        hand = Hand(self.chance, Engine(timeline), [])
        opened = {
            "session": new_session_id(self.now), "person": PERSON, "program": PROGRAM.id, "script": script,
            "program_text": TEXT, "off_day": self.chance.random() < 0.1,
            "rungs": [{"exercise": s.exercise, "side": s.side, "rung": s.rung.name} for s in timeline.sets],
        }  # fmt: skip
        hand.events += hand.engine.record(ev.Opened, 0.0, **opened)
        hand.events += hand.engine.record(ev.Anchor, 0.0, why="opening", **self.clock())
        hand.lead()
        if not hand.killed or self.chance.random() < 0.5:
            hand.events += hand.engine.close(hand.now + 1, "closed-later" if hand.killed else "finished")
        return hand.events

    def clock(self):
        wall = self.now + timedelta(milliseconds=self.chance.randrange(1000))
        return {
            "mono_ns": 0,
            "wall": wall.isoformat(),
            "offset_s": self.chance.choice([0, 3600, 7200, -18000]),
        }

    def said(self, past, events):
        stamps = [each for each in events if isinstance(each, ev.Failure)]
        for result in past.results:
            if self.chance.random() < 0.5:
                field_, values = self.chance.choice([
                    ("effort", [3.0, 10.0]), ("form_broke", [True, False]), ("pain", [True, False, True]),
                    ("note", NOTES), ("off_day", [True, False]), ("ran_to_end", [True, False]),
                    ("failed_about", [5.0, 28.0, 52.0]), ("slip", [True, False]),
                ])  # fmt: skip
                yield {"field": field_, "value": self.chance.choice(values), "set": result.set}
        if stamps and self.chance.random() < 0.5:
            stamp = self.chance.choice(stamps)
            yield {"field": "moved", "value": stamp.at + self.chance.uniform(-5, 5), "of": stamp.n}

    def answers(self, opened, said):
        name = new_session_id(self.now)
        about = {"about": opened.session, "person": PERSON, "program": PROGRAM.id}
        events = [ev.Opened(n=0, t=0, kind="answers", session=name, **about)]
        for n, fields in enumerate(said, start=1):
            events.append(ev.Answer(n=n, t=0, id=f"{name}:{n}", session=opened.session, **fields))
        if said and self.chance.random() < 0.1 and said[-1]["field"] != "released":
            events.append(
                ev.Answer(
                    n=len(events),
                    t=0,
                    id=f"{name}:u",
                    session=opened.session,
                    field="undo",
                    value=f"{name}:1",
                )
            )
        return [*events, ev.Closed(n=len(events), t=0, reason="finished")]

    def put(self, events):
        put(self.data, events)


def put(data, events):
    folder = session_folder(data, PERSON)
    folder.mkdir(parents=True, exist_ok=True)
    Path(folder, f"{events[0].session}.jsonl").write_bytes(b"".join(map(encode, events)))


def take_in(data, text):
    """Take a file in, and return what was made of its rows."""
    sheet = read_sheet(text.encode(), "out.csv", UTC)
    assert not sheet.faults
    past, now = read_summaries(data, PERSON).sessions, datetime.now(UTC)
    found = plan_import(sheet.rows, past, PROGRAM, now, earlier_summaries(data, PERSON))
    assert not found.faults
    keep_paper_sessions(data, PERSON, LOADED, found.sessions, read_person(data, PERSON))
    return sheet.rows, found


def told(sessions, now, script=None):
    """Return what is due, but for what names a session or a result that does not count."""
    document = due_to_json(due(PROGRAM, sessions, now, script))
    for each in document["sets"]:
        each["evidence"] = [
            (result["first_failure_s"], result["ran_to_end"])
            for result in each["evidence"]
            if result["counted"]
        ]
    return document


@examples(30, quick=8)
@given(st.integers(0, 2**32), st.integers(1, 9))
def test_the_same_verdicts_rungs_and_spacing_elsewhere(seed, sessions):
    with tempfile.TemporaryDirectory() as here, tempfile.TemporaryDirectory() as there:
        here, there = Path(here), Path(there)
        history = History(random.Random(seed), here)
        history.write(sessions)
        led = read_summaries(here, PERSON).sessions
        text = csv_text(led)
        rows, found = take_in(there, text)
        assert sum(len(each.results) for each in found.sessions) == len(rows)
        for past in read_summaries(there, PERSON).sessions:  # that it has settled is no part of the file
            if past.started in history.released:
                opened = ev.Opened(n=0, t=0, session=past.session, person=PERSON, program=PROGRAM.id)
                put(there, history.answers(opened, [{"field": "released", "value": True}]))
        taken_in = read_summaries(there, PERSON).sessions
        for hours in (1, 40, 80, 24 * 25, 24 * 45):
            at = history.now + timedelta(hours=hours)
            for script in ("A", "B", *([None] if history.begun else [])):
                assert told(taken_in, at, script) | {"week": 0} == told(led, at, script) | {"week": 0}
        if history.begun:  # a set that was never begun tells less than one that was taken in
            assert csv_text(taken_in) == text


@examples(10)
@given(st.integers(0, 2**32), st.integers(1, 5))
def test_a_file_taken_in_twice_or_of_ones_own_adds_nothing(seed, sessions):
    with tempfile.TemporaryDirectory() as here, tempfile.TemporaryDirectory() as there:
        here, there = Path(here), Path(there)
        history = History(random.Random(seed), here)
        history.write(sessions)
        text = csv_text(read_summaries(here, PERSON).sessions)
        take_in(there, text)
        for data, led in ((here, True), (there, False)):
            rows, found = take_in(data, text)
            assert (found.sessions, found.known, found.warnings) == ([], len(rows), [])
            assert found.run == (len(rows) if led else 0)
        for text in history.handed_on:  # before answers and corrections that are in force now
            _, found = take_in(here, text)
            assert (found.sessions, found.warnings) == ([], [])
