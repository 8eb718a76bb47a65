"""The table of verdicts by a second hand: written from the design alone, on plain days, with no shared code.

Random histories are judged by both. What the forecast may overrule is known to the package alone: there the
second hand accepts `forecast` where the design allows it: at least 4 counted results and a move that a first
time, a hold, pain, a long break or a failure far too early did not make.
"""

import random
from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from holdtimer.progression.due import due

HISTORIES = 1200
LADDER = ["high", "middle", "low", "lower", "thighs level"]
START, LOW, HIGH = 1, 60, 90


@dataclass
class Day:
    """One session with one wall sit, `ago` days before now."""

    ago: float
    rung: int
    failed: float | None = None
    to_end: bool = False
    late: bool = False
    window: float = 90.0
    form: bool = False
    pain: bool = False
    counts: bool = True
    rehearsal: bool = False
    program: str = "chair-and-wall"
    stop: str | None = None  # led | paper
    released: bool = False
    date_only: bool = False


def expected(days):
    """(hold, paused, word, rung it is counted from, may the forecast overrule it)."""
    days = sorted(days, key=lambda day: -place(day))
    own = [
        day for day in days if not day.rehearsal and day.program == "chair-and-wall" and not is_stop_only(day)
    ]
    held = any(day.stop and not lifted(day, days) for day in days)
    good = [day for day in own if counts(day)]
    paused = is_paused(own)
    word, rung, free = table(days, own, good)
    if paused and not held:
        word, rung, free = "same", 0, False
    if held:
        word, rung, free = "easier", (good[-1].rung if good else START), False
    if word == "harder" and rung == len(LADDER) - 1:
        word = "same"
    if word == "easier" and rung == 0:
        word = "same"
    return held, paused, word, rung, free and word != "same" and len(good) >= 4


def place(day):
    return int(day.ago) if day.date_only else day.ago  # whole days ago is the midnight that ends the day


def is_stop_only(day):
    return day.failed is None and not day.to_end and not day.pain


def counts(day):
    return day.counts and (day.failed is not None or day.to_end)


def lifted(stop, days):
    if stop.released:
        return True
    if stop.stop != "paper":
        return False
    return any(
        place(day) < place(stop) and int(day.ago) < int(stop.ago)
        and not (day.rehearsal or day.stop == "paper" or day.date_only)
        for day in days
    )  # fmt: skip


def is_paused(own):
    paused, present = False, None
    for day in own:
        if counts(day):
            present = day.rung
        at_bottom = day.rung == 0 or (present == 0)
        if day.pain and at_bottom:
            paused = not day.released or day.stop is not None  # a stop that is released leaves the pain
    return paused


def table(days, own, good):
    last = good[-1] if good else None
    since = [day for day in days if day.stop and (last is None or place(day) <= place(last))]
    if since:
        return "easier", (last.rung if last else START), False
    hurt = [day for day in own if day.pain]
    if hurt and (last is None or place(hurt[-1]) <= place(last)):
        return "easier", min(hurt[-1].rung, last.rung) if last else hurt[-1].rung, False
    if last is None:
        return "same", START, False
    return by_results(good, hurt, last)


def by_results(good, hurt, last):
    ago = max(place(last), 0)
    previous = good[-2] if len(good) > 1 and good[-2].rung == last.rung else None
    beyond = (last.to_end and last.window >= HIGH) or (last.failed is not None and last.failed > HIGH)
    if ago >= 42:
        return "easier", last.rung, False
    if last.failed is not None and last.failed < LOW:
        again = previous is not None and previous.failed is not None and previous.failed < LOW
        far = last.failed < LOW / 2
        return ("easier" if far or again else "same"), last.rung, again and not far
    if ago >= 21 or last.form or last.late or not beyond:
        return "same", last.rung, False
    if hurt and sum(place(day) < place(hurt[-1]) for day in good) < 2:
        return "same", last.rung, False
    if undone(good) and not (last.to_end and previous is not None and previous.to_end):
        return "same", last.rung, False
    return "harder", last.rung, True


def undone(good):
    for i in range(max(1, len(good) - 3), len(good)):
        fell = good[i].rung < good[i - 1].rung
        climbed = any(day.rung < good[i - 1].rung for day in good[: i - 1])
        if fell and climbed and place(good[i - 1]) - place(good[i]) < 42:
            return True
    return False


def invented(chance):
    days, ago = [], chance.choice([0.3, 1.3, 2.3, 20.3, 21.3, 41.3, 42.3])
    rung = chance.choice([0, 1, 1, 2, 3, 4])
    for _ in range(chance.randrange(0, 9)):
        day = Day(ago, rung)
        kind = chance.random()
        if kind < 0.6:
            day.failed = round(
                chance.choice([chance.uniform(5, 59), chance.uniform(40, 90), 60.0, 90.0, 30.0]), 1
            )
        elif kind < 0.92:
            day.to_end, day.late = True, chance.random() < 0.1
        if chance.random() < 0.1:
            day.window, day.failed = 120.0, round(chance.uniform(61, 119), 1)
            day.to_end = day.late = False
        elif chance.random() < 0.06 and day.to_end:
            day.window = 60.0
        day.form = chance.random() < 0.07
        day.pain = chance.random() < 0.07
        day.counts = chance.random() < 0.88
        day.rehearsal = chance.random() < 0.05
        if day.rehearsal:
            day.counts = False
        day.program = "floor" if chance.random() < 0.05 else "chair-and-wall"
        if chance.random() < 0.08:
            day.stop = chance.choice(["led", "paper"]) if not day.rehearsal else "led"
            day.date_only = day.stop == "paper" and chance.random() < 0.5
        day.released = chance.random() < 0.5
        days.append(day)
        ago += chance.choice([0.2, 1, 2, 3, 3, 3, 9, 22, 43])
        rung = min(max(rung + chance.choice([-1, 0, 0, 0, 1]), 0), len(LADDER) - 1)
    return days


def sessions(days, diary, now):
    """The same days as the package sees them; `now` ends its day, so whole days ago are midnights."""
    midnight = now.replace(hour=0)
    found = []
    for number, day in enumerate(days):
        started = midnight + timedelta(days=1) - timedelta(days=day.ago)
        if day.date_only:
            started = started.replace(hour=0, minute=0, second=0, microsecond=0)
        done = replace(
            diary.result("low:silent"), rung=LADDER[day.rung], window_s=day.window,
            first_failure_s=day.failed,
            ran_to_end=day.to_end, confirmed=day.to_end, late_tap_s=0.6 if day.late else None,
            form_broke=day.form or None, pain=day.pain or None, counted=counts(day),
            skipped=is_stop_only(day),
        )  # fmt: skip
        found.append(
            diary.session(
                0, done, session=f"s{number:03d}", started=started, ended=started + timedelta(minutes=20),
                rehearsal=day.rehearsal, program=day.program, symptom=day.stop is not None,
                released=day.released, on_paper=day.stop == "paper", date_only=day.date_only,
            )
        )  # fmt: skip
    return found


@pytest.mark.parametrize("part", range(4))
def test_a_second_hand_judges_random_histories_alike(program, diary, now, part):
    chance = random.Random(f"second hand {part}")
    now = now.replace(hour=23, minute=59, second=59, microsecond=999_999)  # so that days ago are whole there
    seen = set()
    for number in range(HISTORIES // 4):
        days = invented(chance)
        past = sessions(days, diary, now)
        chance.shuffle(past)
        found = due(program, past, now)
        verdict = next(each for each in found.sets if each.exercise == "wall-sit").outlook.verdict
        held, paused, word, rung, may_be_overruled = expected(days)
        said = (found.hold is not None, verdict.paused, verdict.word, verdict.rung)
        if may_be_overruled and verdict.reason == "forecast":
            word = "same"
        assert said == (held, paused, word, rung), f"history {number}: {days}"
        seen.add(verdict.reason)
    assert len(seen) >= 13
