"""Answers and corrections: as if true from the start, the last word holds, and undoing is one more."""

import pytest

from holdtimer.session import events as ev
from holdtimer.session.corrections import corrected, next_redo, next_undo, questions, standing
from holdtimer.session.fold import fold
from holdtimer.session.results import results


def answers(*said):
    """Answers given later, in order, as `(field, value, more)`; their ids are a0, a1, ..."""
    return [
        ev.Answer(n=n, t=0, id=f"a{n}", field=field, value=value, **(more[0] if more else {"set": 1}))
        for n, (field, value, *more) in enumerate(said)
    ]


def result(run, *said):
    (found,) = results(run.session, answers(*said))
    return found


@pytest.fixture
def failed(begin):
    """A set with a failure at 65, a re-entry at 71 and a failure at 80."""
    run = begin()
    opens = run.in_window()
    for at in (65, 71, 80):
        run.at(opens + at, "space")
    run.at(opens + 91)
    return run


@pytest.fixture
def silent(begin):
    """A set whose window closed in silence."""
    run = begin()
    run.at(run.in_window() + 93)
    return run


@pytest.mark.parametrize(
    ("field", "value"), [("effort", 8), ("form_broke", True), ("pain", False), ("note", "slow today")]
)
def test_what_a_person_says_of_a_set_is_in_its_result_and_the_last_word_holds(failed, field, value):
    assert getattr(result(failed, (field, value)), field) == value
    assert getattr(result(failed, (field, None), (field, value)), field) == value
    assert getattr(result(failed, (field, value), (field, None)), field) is None


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("effort", 11),
        ("effort", -1),
        ("effort", True),
        ("effort", "much"),
        ("pain", "yes"),
        ("note", ""),
        ("note", 3),
    ],
)
def test_an_answer_of_the_wrong_kind_is_no_answer(failed, field, value):
    assert getattr(result(failed, (field, value)), field) is None


def test_an_answer_about_a_set_that_does_not_exist_changes_nothing(failed):
    assert result(failed, ("effort", 8, {"set": 7}), ("moved", 3, {"of": 999})) == result(failed)


# -- worked to the end, or failed about when


def test_a_silent_window_can_be_confirmed_later(silent):
    found = result(silent, ("ran_to_end", True))
    assert (found.ran_to_end, found.confirmed, found.counted) == (True, True, True)


def test_a_confirmed_window_can_be_denied_later(silent):
    silent.at(silent.now + 1, "space")
    assert result(silent).counted
    found = result(silent, ("ran_to_end", False))
    assert (found.ran_to_end, found.confirmed, found.counted) == (False, False, False)


def test_a_silent_window_gets_the_failure_the_person_tells(silent):
    found = result(silent, ("failed_about", 64))
    assert (found.first_failure_s, found.failures_s, found.estimated_s) == (64, (64,), (64,))
    assert (found.ran_to_end, found.counted) == (False, True)
    assert found.tension_s == 64


def test_an_estimated_failure_stays_inside_the_window(silent):
    assert result(silent, ("failed_about", 400)).first_failure_s == 90
    assert result(silent, ("failed_about", -3)).first_failure_s == 0


def test_the_later_of_two_estimates_holds(silent):
    assert result(silent, ("failed_about", 64), ("failed_about", 70)).failures_s == (70,)


def test_an_estimate_can_be_withdrawn(silent):
    assert result(silent, ("failed_about", 64), ("failed_about", None)) == result(silent)


def test_worked_to_the_end_after_all_takes_the_place_of_an_estimate(silent):
    found = result(silent, ("failed_about", 64), ("ran_to_end", True))
    assert (found.first_failure_s, found.confirmed) == (None, True)


def test_an_estimate_takes_the_place_of_a_confirmation(silent):
    found = result(silent, ("ran_to_end", True), ("failed_about", 64))
    assert (found.first_failure_s, found.confirmed) == (64, False)


def test_no_failure_is_estimated_beside_one_that_was_stamped(failed):
    assert result(failed, ("failed_about", 30)) == result(failed)


def test_a_confirmation_beside_a_stamped_failure_changes_nothing(failed):
    found = result(failed, ("ran_to_end", True))
    assert (found.first_failure_s, found.ran_to_end, found.confirmed) == (65, False, False)


def test_a_set_skipped_before_it_began_cannot_have_failed(begin, a_set):
    run = begin(a_set(), a_set())
    for key in ("escape", "down", "enter"):
        run.at(run.now + 1, key)
    assert results(run.session, answers(("failed_about", 50)))[0].first_failure_s is None


def test_what_was_denied_from_the_menu_can_be_undone(silent):
    for key in ("escape", "down", "enter"):
        silent.at(silent.now + 1, key)
    assert silent.last.ev == "answer"
    assert result(silent).counted_because.startswith("not worked to the end")
    assert result(silent, ("undo", silent.last.id)).counted_because.startswith("nobody confirmed")


# -- moving a stamp


def stamp(run, index):
    return {"of": run.set.stamps[index].n}


def test_a_stamp_can_be_moved_and_is_marked_as_estimated(failed):
    found = result(failed, ("moved", 66, stamp(failed, 0)))
    assert (found.first_failure_s, found.estimated_s) == (66, (66,))
    assert found.tension_s == 75  # one second more


@pytest.mark.parametrize(
    ("index", "to", "lands"), [(0, -5, 0), (0, 75, 71), (1, 60, 65), (1, 85, 80), (2, 70, 71), (2, 99, 90)]
)
def test_a_moved_stamp_stays_between_its_neighbours_and_in_the_window(failed, index, to, lands):
    found = result(failed, ("moved", to, stamp(failed, index)))
    assert sorted((*found.failures_s, *found.reentries_s))[index] == lands


def test_a_stamp_moved_twice_is_where_it_was_moved_last(failed):
    said = [("moved", 66, stamp(failed, 0)), ("moved", 64, stamp(failed, 0))]
    assert result(failed, *said).first_failure_s == 64


@pytest.mark.parametrize("value", [True, "later", None])
def test_a_stamp_is_moved_only_to_a_time(failed, value):
    assert result(failed, ("moved", value, stamp(failed, 0))) == result(failed)


def test_where_the_window_was_over_early_a_stamp_is_not_moved_beyond_that(begin, a_set):
    run = begin(a_set(reentry=False))
    opens = run.in_window()
    run.at(opens + 65, "space")
    run.at(opens + 91)
    assert result(run, ("moved", 80, stamp(run, 0))).first_failure_s == 68


# -- slips of the key


@pytest.fixture
def slipped(begin):
    """A set with a failure at 10, a re-entry at 13 and a failure at 70."""
    run = begin()
    opens = run.in_window()
    for at in (10, 13, 70):
        run.at(opens + at, "space")
    run.at(opens + 91)
    return run


def test_a_slip_is_taken_out_with_the_re_entry_after_it(slipped):
    found = result(slipped, ("slip", True, stamp(slipped, 0)))
    assert (found.first_failure_s, found.reentries_s, found.counted) == (70, (), True)
    assert found.tension_s == 70


def test_a_slip_with_no_stamp_named_is_the_first(slipped):
    assert result(slipped, ("slip", True)).first_failure_s == 70


def test_a_failure_that_was_no_slip_counts(slipped):
    found = result(slipped, ("slip", False, stamp(slipped, 0)))
    assert (found.first_failure_s, found.perhaps_slip, found.counted) == (10, None, True)


def test_no_answer_about_a_slip_leaves_the_question_open(slipped):
    assert result(slipped, ("slip", None)).perhaps_slip is not None


def test_a_slip_told_twice_takes_out_one_stamp(slipped):
    said = ("slip", True, stamp(slipped, 0) | {"set": 1})
    assert result(slipped, said, said) == result(slipped, said)


def test_a_slip_of_a_re_entry_goes_with_the_failure_after_it(slipped):
    found = result(slipped, ("slip", True, stamp(slipped, 1)))
    assert (found.failures_s, found.reentries_s) == ((10,), ())


def test_a_set_with_nothing_but_a_slip_is_a_silent_one(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 10, "space")
    run.at(opens + 13, "space")
    run.at(opens + 93)
    found = result(run, ("slip", True))
    assert (found.ran_to_end, found.confirmed, found.counted) == (True, False, False)
    assert result(run, ("slip", True), ("ran_to_end", True)).counted


def test_where_failure_ended_the_set_a_slip_is_no_run_to_the_end(begin, a_set):
    run = begin(a_set(reentry=False))
    opens = run.in_window()
    run.at(opens + 50, "space")
    run.at(opens + 60)
    found = result(run, ("slip", True), ("ran_to_end", True))
    assert (found.ran_to_end, found.counted, found.counted_because) == (False, False, "not finished")


# -- the day, and undoing


@pytest.mark.parametrize("value", [True, False])
def test_the_day_can_be_marked_later(failed, value):
    assert corrected(failed.session, answers(("off_day", value))).off_day is value


@pytest.mark.parametrize("value", [None, "false", 1])
def test_the_day_is_marked_only_by_yes_or_no(failed, value):
    assert corrected(failed.session, answers(("off_day", value))).off_day is False


def test_undoing_is_one_more_answer_and_can_itself_be_undone(failed):
    moved = ("moved", 66, stamp(failed, 0))
    assert result(failed, moved, ("undo", "a0")).first_failure_s == 65
    assert result(failed, moved, ("undo", "a0"), ("undo", "a1")).first_failure_s == 66
    assert result(failed, moved, ("undo", "a0"), ("undo", "a1"), ("undo", "a2")).first_failure_s == 65


def test_undoing_gives_back_the_answer_before(failed):
    assert result(failed, ("effort", 7), ("effort", 9), ("undo", "a1")).effort == 7


def test_undoing_what_does_not_exist_changes_nothing(failed):
    assert result(failed, ("undo", "nothing"), ("undo", None)) == result(failed)


def test_the_answers_that_stand_keep_their_order():
    given = answers(("effort", 1), ("effort", 2), ("undo", "a0"), ("pain", True))
    assert [answer.id for answer in standing(given)] == ["a1", "a3"]


def test_correcting_changes_no_event_and_not_the_session(failed):
    before, events = failed.session, list(failed.events)
    corrected(failed.session, answers(("moved", 66, stamp(failed, 0)), ("slip", True), ("off_day", True)))
    assert failed.session is before
    assert failed.events == events


def test_answers_in_the_session_itself_come_before_those_given_later(failed):
    failed.took(failed.engine.record(ev.Answer, 110, id="own", field="effort", value=3, set=1))
    assert result(failed).effort == 3
    assert result(failed, ("effort", 8)).effort == 8
    assert result(failed, ("undo", "own")).effort is None


# -- stamps added, taken out alone, and put back


def times(found):
    return found.failures_s, found.reentries_s


@pytest.mark.parametrize(
    ("said", "failures", "reentries"),
    [
        ([("added", 85)], (65, 80), (71, 85)),
        ([("added", 50)], (50, 71), (65, 80)),  # taps take turns
        ([("added", 400)], (65, 80), (71, 90)),
        ([("added", 85), ("moved", 88, {"of_answer": "a0"})], (65, 80), (71, 88)),
        ([("added", 50), ("removed", True, {"of_answer": "a0"})], (65, 80), (71,)),
        ([("added", 50), ("slip", True, {"of_answer": "a0"})], (71,), (80,)),
        ([("added", 50), ("undo", "a0")], (65, 80), (71,)),
        ([("added", "late")], (65, 80), (71,)),
        ([("removed", True, 0)], (71,), (80,)),
        ([("removed", True, 1)], (65,), (80,)),
        ([("removed", False, 0)], (65, 80), (71,)),
        ([("removed", True, 0), ("removed", None, 0)], (65, 80), (71,)),
        ([("slip", True, 0), ("slip", None, 0)], (65, 80), (71,)),
        ([("slip", True, 0), ("moved", 85, 2), ("slip", None, 0)], (65, 85), (71,)),
    ],
)
def test_stamps_are_added_taken_out_and_put_back(failed, said, failures, reentries):
    named = [
        (field, value, stamp(failed, more[0]) if more and isinstance(more[0], int) else dict(*more))
        if more
        else (field, value)
        for field, value, *more in said
    ]
    assert times(result(failed, *named)) == (failures, reentries)


def test_a_tap_added_after_an_estimated_failure_stays_when_that_moves(silent):
    found = result(silent, ("failed_about", 60), ("added", 70), ("failed_about", 64))
    assert times(found) == ((64,), (70,))
    assert found.estimated_s == (64, 70)


def test_a_set_that_never_began_gets_no_stamp(begin, a_set):
    run = begin(a_set(), a_set())
    for key in ("escape", "down", "enter"):
        run.at(run.now + 1, key)
    assert results(run.session, answers(("added", 50)))[0].failures_s == ()


# -- undo and redo, as a walk over all that was ever answered


def test_undo_and_redo_walk_the_changes_one_by_one():
    given = answers(("effort", 1), ("effort", 2), ("pain", True))
    for expected in ("a2", "a1", "a0", None):
        change = next_undo(given)
        assert (change.id if change else None) == expected
        if change:
            given += [ev.Answer(n=9, t=0, id=f"u{change.id}", field="undo", value=change.id)]
    for expected in ("a0", "a1", "a2", None):
        found = next_redo(given)
        assert (found[1].id if found else None) == expected
        if found:
            given += [ev.Answer(n=9, t=0, id=f"r{found[1].id}", field="undo", value=found[0].id)]
    assert [each.id for each in standing(given)] == ["a0", "a1", "a2"]


def test_a_new_change_ends_the_walk():
    given = answers(("effort", 1), ("effort", 2), ("undo", "a1"), ("pain", True))
    assert next_redo(given) is None
    assert next_undo(given).id == "a3"


def test_a_release_is_undone_but_never_redone():
    given = answers(("released", True, {}), ("note", "it has settled", {}))
    assert next_undo(given).id == "a0"
    undoing = ev.Answer(n=9, t=0, id="u", field="undo", value="a0")
    assert standing([*given, undoing])[0].field == "note"
    assert next_redo([*given, undoing]) is None


def test_an_undoing_counts_wherever_it_stands_and_those_in_a_circle_do_nothing():
    change, undoing = answers(("effort", 1), ("undo", "a0"))
    assert standing([undoing, change]) == []
    circle = answers(("undo", "a1"), ("undo", "a0"))
    assert standing([*circle, ev.Answer(n=1, t=0, id="e", field="effort", value=3, set=1)])[0].id == "e"


# -- results from paper


TO_THE_END = {"first_failure_s": None, "ran_to_end": True, "confirmed": True}


@pytest.fixture
def on_paper():
    def session(**row):
        said = {"first_failure_s": 68.0} | row
        target = {"set": 1, "exercise": "wall-sit", "side": "both", "rung": "low", "window_s": 90}
        opened = ev.Opened(n=0, t=0, kind="paper", session="s", person="Ada", program="chair")
        paper = ev.PaperResult(n=1, t=0, started="2026-03-02", **target, band_s=(60, 90), **said)
        return fold([opened, paper])

    return session


@pytest.mark.parametrize(
    ("row", "said", "failed_s", "to_end", "tension_s"),
    [
        ({}, [("failed_about", 58)], 58, False, 58),
        ({}, [("failed_about", 58), ("failed_about", None)], 68, False, 68),
        ({}, [("ran_to_end", True)], None, True, 90),
        ({"tension_s": 68.0}, [("ran_to_end", True)], None, True, 90),
        ({}, [("ran_to_end", True), ("failed_about", 70)], 70, False, 70),
        ({}, [("failed_about", 58), ("undo", "a0")], 68, False, 68),
        (TO_THE_END, [("ran_to_end", False)], None, False, 90),
    ],
)
def test_a_result_typed_in_wrong_is_corrected_as_any_other(on_paper, row, said, failed_s, to_end, tension_s):
    (found,) = results(on_paper(**row), answers(*said))
    assert (found.first_failure_s, found.ran_to_end, found.tension_s) == (failed_s, to_end, tension_s)


def test_a_result_on_paper_asks_for_both_ends_of_it(on_paper):
    (each,) = on_paper().sets
    asked = {question.field: question.value for question in questions(each)}
    assert (asked["ran_to_end"], asked["failed_about"]) == (False, 68)
