"""Corrections from any evening and any machine: whatever the order, one state; and back again by undo."""

import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdtimer.live.review import Review
from holdtimer.log.folder import SUFFIX, session_folder
from holdtimer.log.history import read_answered
from tests.invented.evenings import APART, FIRST, PERSON, name_of, write_evenings
from tests.profiles import examples

EVENINGS = [(70, 75, 85), (20, 23, 80), ()]
NOW = FIRST + len(EVENINGS) * APART

CHANGES = [
    {"field": "slip", "value": True, "of": 3},
    {"field": "slip", "value": None, "of": 3},
    {"field": "removed", "value": True, "of": 4},
    {"field": "moved", "value": 41.5, "of": 3},
    {"field": "added", "value": 50.0, "set": 1},
    {"field": "failed_about", "value": 64.0, "set": 1},
    {"field": "ran_to_end", "value": True, "set": 1},
    {"field": "pain", "value": True, "set": 1},
    {"field": "effort", "value": 7.0, "set": 1},
    {"field": "off_day", "value": True},
]
act = st.one_of(st.sampled_from(["undo", "redo"]), st.sampled_from(CHANGES))
evening = st.tuples(st.sampled_from([0, 1]), st.integers(0, 2), st.lists(act, min_size=1, max_size=4))


def review(data):
    found = Review(data, PERSON, now=lambda: NOW)
    found.read()
    return found


def said_on_an_evening(data, number, acts):
    """Answer about one session as the review does, from opening it to leaving it."""
    found = review(data)
    debrief = found.open(name_of(number))
    for each in acts:
        if isinstance(each, str):
            getattr(debrief, each)()
        else:
            debrief.book.say(**each)
    assert found.close(debrief)
    return debrief.summary()


def synchronised(one: Path, other: Path, flip: bool):
    """Copy what each folder has to the other, some of it under the names a synchroniser gives to copies."""
    for source, target in ((one, other), (other, one)):
        for path in session_folder(source, PERSON).glob(f"*{SUFFIX}"):
            name = path.name.replace(SUFFIX, f" (copy){SUFFIX}") if flip else path.name
            known = {each.read_bytes() for each in session_folder(target, PERSON).iterdir()}
            if path.read_bytes() not in known:
                shutil.copy(path, session_folder(target, PERSON) / name)


@examples(40, 6)
@given(evenings=st.lists(evening, min_size=1, max_size=4), flip=st.booleans())
def test_any_order_of_correcting_undoing_and_merging_gives_one_state(tmp_path_factory, evenings, flip):
    folders = [tmp_path_factory.mktemp("machine") for _ in range(2)]
    for folder in folders:
        write_evenings(folder, EVENINGS)
    untouched = review(folders[0]).sessions
    for machine, number, acts in evenings:
        made = said_on_an_evening(folders[machine], number, acts)
        synchronised(*folders, flip)
        for folder in folders:  # the last word holds on both, from the files alone
            assert made in review(folder).sessions
    assert review(folders[0]).sessions == review(folders[1]).sessions
    final = review(folders[1]).sessions
    for number in range(len(EVENINGS)):
        *_, answers = read_answered(folders[1], PERSON, name_of(number))
        # everything back, and then forth again, on the other machine
        back = ["undo"] * len(answers)
        assert said_on_an_evening(folders[1], number, back) == untouched[number]
        undone = len(read_answered(folders[1], PERSON, name_of(number))[1]) - len(answers)
        assert said_on_an_evening(folders[1], number, ["redo"] * undone) == final[number]


@pytest.fixture
def data(tmp_path):
    write_evenings(tmp_path, EVENINGS)
    return tmp_path


def test_the_last_word_holds_although_the_clock_of_the_other_machine_runs_ahead(data, monkeypatch):
    class Ahead:
        @staticmethod
        def now(zone):
            return real(zone) + APART

    real = __import__("datetime").datetime.now
    with monkeypatch.context() as other:
        other.setattr("holdtimer.live.answers.datetime", Ahead)
        said_on_an_evening(data, 0, [{"field": "effort", "value": 9.0, "set": 1}])
    said_on_an_evening(data, 0, [{"field": "effort", "value": 3.0, "set": 1}])
    assert review(data).sessions[0].results[0].effort == 3


def test_nothing_is_written_where_nothing_is_changed_and_the_log_stays_as_it_was(data):
    folder = session_folder(data, PERSON)
    before = {path: path.read_bytes() for path in folder.iterdir()}
    said_on_an_evening(data, 0, ["undo", "redo"])
    assert {path: path.read_bytes() for path in folder.iterdir()} == before
    said_on_an_evening(data, 0, [CHANGES[3]])
    assert {path: path.read_bytes() for path in folder.iterdir() if path in before} == before
    assert len(list(folder.iterdir())) == len(before) + 1
