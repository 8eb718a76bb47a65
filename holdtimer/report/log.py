"""The sessions of a person, newest first, as a table and as the JSON document of `log --json`."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from itertools import takewhile
from typing import Any

from holdtimer.report.table import Block, Column, Row, Table, Words
from holdtimer.report.text import Titles, iso
from holdtimer.session.summary import SessionSummary
from holdtimer.text import counted

_LEAST_ID = len("20261122T1721")


def newest_first(past: Sequence[SessionSummary]) -> list[SessionSummary]:
    """Return sessions by their start, the newest first; those with no time of day last."""
    first = datetime.min.replace(tzinfo=UTC)
    return sorted(past, key=lambda each: (each.started or first, each.session), reverse=True)


def names_to_type(past: Sequence[SessionSummary]) -> dict[str, str]:
    """Return by its id what names each session: its day where it is alone on it, else how its id begins.

    No other id begins so, and none is shorter than to the minute.
    """
    days = Counter(map(_day, past))
    ids = sorted(each.session for each in past)
    beginnings = {}
    for before, own, after in zip(["", *ids], ids, [*ids[1:], ""], strict=False):
        shared = max(_shared(own, before), _shared(own, after))
        beginnings[own] = own[: max(_LEAST_ID, shared + 1)]
    return {each.session: _alone_on(each, days) or beginnings[each.session] for each in past}


def _shared(one: str, other: str) -> int:
    """Return how many characters two ids begin with alike."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def _alone_on(session: SessionSummary, days: Mapping[str | None, int]) -> str | None:
    day = _day(session)
    return day if days[day] == 1 else None


def _day(session: SessionSummary) -> str | None:
    return None if session.started is None else session.started.date().isoformat()


def log_blocks(
    past: Sequence[SessionSummary], shown: Sequence[SessionSummary], titles: Mapping[str, Titles], typed: str
) -> Iterator[Block]:
    """Yield a row for each of the `shown` sessions of all `past` ones, and what is `typed` to see the first.

    `titles` are those of each by its id.
    """
    hard = sum(each.is_hard and not each.rehearsal for each in past)
    yield Words(f"{counted(len(past), 'session')} of {past[0].person}, {hard} of them hard.", "strong")
    yield Words(f"To see one, type: {typed}")
    yield Words("")
    names = names_to_type(past)
    has_several = len({each.program for each in shown}) > 1
    sets = Column("sets", is_right=True)
    columns = (Column("name"), Column(), Column(), Column(is_name=True), sets, Column())
    rows = []
    for each in shown:
        title = titles[each.session]
        what = f"{title.program}: {title.script}" if has_several else title.script
        marks = ", ".join(kinds(each))
        cells = (names[each.session], *_when(each, names[each.session]), what, str(len(each.results)), marks)
        rows.append(Row(cells))
    yield Table(columns, tuple(rows))


def _when(session: SessionSummary, name: str) -> tuple[str, str]:
    """Return the day, with its date where that is not its name, and the time where it is known."""
    if session.started is None:
        return "", ""
    day = "" if name == _day(session) else f" {_day(session)}"
    return f"{session.started:%a}{day}", "" if session.date_only else f"{session.started:%H:%M}"


def kinds(session: SessionSummary) -> Iterator[str]:
    """Yield what is out of the ordinary about a session, and how many function tests it has."""
    if session.symptom:
        yield "something felt wrong"
    if any(each.pain for each in session.results):
        yield "pain"
    if session.tests:
        yield counted(len(session.tests), "test")
    marks = {
        "off day": session.off_day,
        "rehearsal": session.rehearsal,
        "on paper": session.on_paper,
        "early": session.is_early,
        "not finished": not session.complete and not session.symptom,
    }
    yield from (mark for mark, is_so in marks.items() if is_so)


def log_to_json(person: str, past: Sequence[SessionSummary]) -> dict[str, Any]:
    """Return the content of `log --json`: every session, newest first."""
    names = names_to_type(past)
    return {
        "format": 1,
        "person": person,
        "sessions": [_session_to_json(each, names[each.session]) for each in newest_first(past)],
    }


def _session_to_json(session: SessionSummary, name: str) -> dict[str, Any]:
    return {
        "session": session.session,
        "show": name,
        "program": session.program,
        "script": session.script,
        "started": iso(session.started),
        "ended": iso(session.ended),
        "complete": session.complete,
        "rehearsal": session.rehearsal,
        "on_paper": session.on_paper,
        "date_only": session.date_only,
        "off_day": session.off_day,
        "early": session.is_early,
        "hard": session.is_hard,
        "symptom": session.symptom,
        "released": session.released,
        "pain": any(each.pain for each in session.results),
        "sets": len(session.results),
        "counted": sum(each.counted for each in session.results),
    }
