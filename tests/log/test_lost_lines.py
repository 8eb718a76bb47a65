"""Lines lost from the middle of a log: what is missing is named, and no result is made of what is left."""

from functools import cache
from itertools import combinations
from pathlib import Path

import pytest

from holdtimer.log import history, session_log
from holdtimer.log.history import read_summaries
from holdtimer.log.lines import encode
from holdtimer.log.reader import read_person
from holdtimer.log.session_log import SessionLog, merge, parse, read_session
from holdtimer.log.writer import LogWriter
from holdtimer.session import events as ev
from holdtimer.session.summary import summarize

pytestmark = pytest.mark.usefixtures("lines_decoded_once")
LOST = "part of its record is lost"
SETS = [("wall-sit", "left"), ("wall-sit", "right"), ("wall-sit", "left")]
SKIPPED = [history._NOT_NEEDED, frozenset()]


def led(session, *, taken_back=False, to_end=False, sets=3):
    """Return the events of three sets: the first fails at 33 s and at 59 s, taken back or in silence."""
    rungs = [{"exercise": exercise, "side": side, "rung": "half way"} for exercise, side in SETS]
    events = [session(rungs=rungs)[0], session()[1], ev.Ready(n=2, t=2)]

    def add(kind, t, **fields):
        events.append(kind(n=len(events), t=t, **fields))

    for number, (exercise, side) in enumerate(SETS[:sets], 1):
        opened, place = 200.0 * number, {"set": number, "exercise": exercise, "side": side}
        add(ev.Rest, opened - 70, part=number, seconds=60)
        add(ev.CountIn, opened - 10, part=number, seconds=10, **place)
        add(ev.WindowOpen, opened, rung="half way", window_s=90, band_s=(60, 90), **place)
        stamps = [] if to_end else [(ev.Failure, 33), (ev.ReEntry, 39.5), (ev.Failure, 59), (ev.ReEntry, 71)]
        if taken_back:
            stamps = [(ev.Failure, 33), (ev.TakenBack, 35), (ev.Failure, 59)]
        marks = [(ev.Band, 60), (ev.FinalStretch, 60.0)]
        for kind, at in sorted([*stamps, *marks], key=lambda each: each[1]):
            more = {"of": len(events) - 1} if kind is ev.TakenBack else {}
            add(kind, opened + at, at=at, **place, **more)
        add(ev.WindowClosed, opened + 90, at=90, **place)
        if to_end:
            add(ev.Confirmed, opened + 92, at=92, **place)
    add(ev.Closed, 900, reason="finished")
    return events


@pytest.fixture(params=["fails", "takes back", "to the end"])
def events(request, session):
    return led(
        session, taken_back=request.param == "takes back", to_end=request.param == "to the end", sets=2
    )


@cache
def added_up(events, lost):
    """Return what a log with these events adds up to; most wrong bits leave out the same line as others."""
    past = summarize(SessionLog("any", events, lost=lost).state())
    return {} if past is None else {each.set: each for each in past.results}


def outcome(result):
    return result.first_failure_s, result.ran_to_end, result.confirmed


def results(content, skip):
    log = merge([parse(Path("a.jsonl"), content, skip)])
    return log, added_up(log.events, log.lost)


def check(content, true, skip):
    """Assert that what counts of a spoilt file is true, and that what is missing is named."""
    log, found = results(content, skip)
    for number, result in found.items():
        assert not result.counted or outcome(result) == outcome(true[number]), result
        assert not result.ran_to_end or true[number].ran_to_end
        first = true[number].first_failure_s
        assert result.first_failure_s is None or first is not None
        if result.has_gaps:
            assert (result.counted, result.ran_to_end) == (False, False)
    was_killed = not log.closed  # nothing tells it from a file cut off at the end of a line
    assert found == true or log.damage or was_killed or log.opened is None
    return log, found


@pytest.mark.parametrize("skip", SKIPPED, ids=["as for results", "whole"])
def test_a_line_or_two_deleted_anywhere_make_no_other_result_count(events, skip):
    lines = [encode(event) for event in events]
    _, true = results(b"".join(lines), skip)
    for gone in [*combinations(range(len(lines)), 1), *combinations(range(len(lines)), 2)]:
        log, _ = check(b"".join(line for n, line in enumerate(lines) if n not in gone), true, skip)
        last = len(lines) - 1
        if gone[0] > 0 and last not in gone:
            assert {n for each in log.lost for n in each} == set(gone)
            assert "missing" in log.damage[-1].reason


@pytest.mark.parametrize("skip", SKIPPED, ids=["as for results", "whole"])
def test_a_wrong_bit_anywhere_makes_no_other_result_count(events, skip):
    content = b"".join(map(encode, events))
    _, true = results(content, skip)
    for place in range(content.index(b"\n"), content.rindex(b'"set":1')):
        wrong = bytearray(content)
        wrong[place] ^= 1 << place % 8
        check(bytes(wrong), true, skip)


def test_a_deleted_failure_is_named_and_the_next_one_is_the_latest_it_can_have_been(put, session, data):
    events = led(session)
    gone = next(event for event in events if event.ev == "failure")
    put([event for event in events if event is not gone])
    past = read_summaries(data, "Ada")
    assert [fault.reason for fault in past.damage] == [f"event {gone.n} is missing"]
    first, second, third = past.sessions[0].results
    assert (first.first_failure_s, first.counted, first.counted_because) == (59, False, LOST)
    assert (second.first_failure_s, second.counted) == (33, True)
    assert third.counted_because == "only the first set of an exercise and side counts"


def test_a_line_end_lost_after_a_line_that_is_passed_over_hides_no_failure(put, session, data):
    events = led(session)
    content = b"".join(map(encode, events))
    place = content.index(b'"ev":"band"')
    at = content.rindex(b"\n", 0, place)
    put(content[:at] + content[at + 1 :])
    past = read_summaries(data, "Ada")
    assert past.damage[0].reason == "the line does not match its checksum"
    assert past.sessions[0].results[0].counted_because == LOST


def test_several_missing_events_are_named_together(put, session, data):
    put([event for event in led(session) if event.n not in (3, 6, 7, 8)])
    (log,) = read_person(data, "Ada")
    assert [fault.reason for fault in log.damage] == ["events 3 and 6 to 8 are missing"]


def test_very_many_missing_events_are_not_all_named(put, session, data):
    put([session()[0], *(ev.Ready(n=n, t=n) for n in range(2, 100, 2))])
    (log,) = read_person(data, "Ada")
    assert log.damage[-1].reason == "events 1, 3, 5, 7, 9, 11, 13, 15, 17, 19 and others are missing"


def test_a_lost_set_leaves_no_later_one_of_its_kind_to_count(put, session, data):
    put([event for event in led(session) if getattr(event, "set", None) != 1])
    right, left = read_summaries(data, "Ada").sessions[0].results
    assert right.counted
    assert left.counted_because == "only the first set of an exercise and side counts"


def test_a_session_with_lost_lines_was_hard_in_doubt(put, session, data):
    rungs = led(session)[0].rungs
    events = [session()[0].model_copy(update={"rungs": rungs}), session()[1], *session()[9:]]
    put(events)
    assert read_summaries(data, "Ada").sessions[0].is_hard


def test_a_session_stopped_for_a_reason_that_is_lost_was_stopped_for_a_symptom(put, session, data):
    stopped = ev.Stopped(n=10, t=112, reason="choice", scope="session")
    closed = ev.Closed(n=11, t=120, reason="stopped")
    put([*session()[:10], stopped, closed])
    assert not read_summaries(data, "Ada").sessions[0].symptom
    put([*session()[:10], closed])
    assert read_summaries(data, "Ada").sessions[0].symptom


# -- two timelines


def other_course(events, n):
    """Return the events as another machine would have written them from number n on."""
    changed = [event.model_copy(update={"t": event.t + 0.25}) for event in events[n:]]
    return [
        *events[:n],
        *(e.model_copy(update={"at": e.at + 0.25}) if hasattr(e, "at") else e for e in changed),
    ]


@pytest.mark.parametrize("skip", SKIPPED, ids=["as for results", "whole"])
@pytest.mark.parametrize("in_one_file", [True, False])
def test_no_gap_is_filled_from_another_course_of_the_session(in_one_file, skip, session):
    events = led(session)
    lines = list(map(encode, events))
    for parted in range(6, 12):
        other = other_course(events, parted)
        other_lines = list(map(encode, other))
        for gone in range(parted, 14):
            believed = b"".join(lines[:gone] + lines[gone + 1 :])
            for length in range(gone + 1, len(events), 4):
                contents = [believed, b"".join(other_lines[:length])]
                if in_one_file:
                    contents = [b"".join(contents)]
                log = merge([parse(Path(f"{n}.jsonl"), each, skip) for n, each in enumerate(contents)])
                theirs = {event.n for event in log.events if event == other[event.n]} - {*range(parted)}
                ours = {event.n for event in log.events if event == events[event.n]} - {*range(parted)}
                assert not (theirs and ours)
                assert log.lost
                assert log.damage


def test_a_copy_that_agrees_before_and_after_a_gap_fills_it(put, session):
    events = led(session)
    torn = read_session(put([event for event in events if event.n not in (6, 7)], "a.jsonl"))
    log = merge([torn, read_session(put(events[:12], "b.jsonl"))])
    assert (log.events, log.damage, log.others) == (tuple(events), (), ())


def test_what_may_be_of_another_course_is_named_and_kept(put, session, data):
    events = led(session)
    put([event for event in events if event.n not in (6, 7)])
    put(events[:8], "copy.jsonl")
    (log,) = read_person(data, "Ada")
    assert log.others == tuple(events[6:8])
    assert [fault.reason for fault in log.damage] == [
        "event 6 (failure) may belong to another course of this session and is not used",
        "event 7 (re-entry) may belong to another course of this session and is not used",
        "events 6 to 7 are missing",
    ]


def test_a_session_goes_on_in_a_file_of_its_own_after_one_that_holds_two_courses(put, session, data):
    events = led(session)[:10]
    put([*events, *other_course(events, 7)])
    (log,) = read_person(data, "Ada")
    assert log.whole_file is None
    writer = LogWriter.resume(log)
    writer.append(ev.Closed(n=10, t=1000, reason="closed-later"))
    assert writer.close(30)
    (log,) = read_person(data, "Ada")
    assert (log.events[:-1], log.closed) == (tuple(events), True)


# -- the end


def test_a_damaged_last_line_is_lost_too_and_its_number_not_given_again(put, session):
    events = led(session)[:8]
    content = bytearray(b"".join(map(encode, events)))
    content[-30] ^= 1
    log = read_session(put(bytes(content)))
    assert log.lost == (range(7, 8),)
    assert log.state().n == 7
    assert log.state().sets[0].has_gaps


def test_a_last_line_cut_off_was_never_acknowledged_and_is_not_missed(put, session):
    events = led(session)[:8]
    log = read_session(put(b"".join(map(encode, events))[:-5]))
    assert log.lost == ()
    assert log.state().n == 6
    assert not log.state().sets[0].has_gaps


def test_more_events_than_a_session_can_have_are_named_and_not_read(put, session, monkeypatch, data):
    monkeypatch.setattr(session_log, "MAX_EVENTS", 8)
    put(led(session))
    (log,) = read_person(data, "Ada")
    assert len(log.events) == 9
    assert "the rest of the file is not read" in log.damage[0].reason
    assert log.state().sets[0].has_gaps


def test_files_of_one_session_hold_no_more_together(put, session, monkeypatch, data):
    monkeypatch.setattr(session_log, "MAX_EVENTS", 8)
    events = led(session)
    put(events[:8])
    put([events[0], *events[8:14]], "more.jsonl")
    (log,) = read_person(data, "Ada")
    assert log.events == tuple(events[:8])
    assert "this file is not used" in log.damage[0].reason
