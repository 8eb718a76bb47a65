from holdtimer.session.menu import REASONS, Choice, Menu

LINES = (Choice.SYMPTOM, Choice.STOP_SET, Choice.SKIP, Choice.END, Choice.GO_ON)


def lines(run):
    run.at(run.now + 1, "escape")
    found = run.engine.menu.lines
    run.at(run.now + 1, "escape")
    return found


def test_the_safest_line_comes_first_and_going_on_last(begin, a_set):
    run = begin(a_set(), a_set())
    for _ in range(3):
        assert (lines(run)[0], lines(run)[-1]) == (Choice.SYMPTOM, Choice.GO_ON)
        run.at(run.now + 2, "space")


def test_in_a_window_a_set_can_be_redone_only_while_nothing_is_stamped(begin):
    run = begin()
    opens = run.in_window()
    assert lines(run) == (
        Choice.SYMPTOM,
        Choice.STOP_SET,
        Choice.REDO,
        Choice.SKIP,
        Choice.END,
        Choice.GO_ON,
    )
    run.at(opens + 20, "space")
    assert Choice.REDO not in lines(run)
    run.backspace_twice(opens + 40)
    assert Choice.REDO in lines(run)


def test_a_line_that_no_longer_makes_sense_goes_while_the_menu_is_open(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 20, "escape")
    run.at(opens + 21, "down")
    run.at(opens + 22, "down")
    assert run.engine.menu.marked is Choice.REDO
    run.at(opens + 24, "space")
    assert run.engine.menu is None
    run.at(opens + 26, "escape")
    assert Choice.REDO not in run.engine.menu.lines


def test_before_the_first_window_there_is_only_skipping(begin):
    run = begin()
    assert lines(run) == (Choice.SYMPTOM, Choice.SKIP, Choice.END, Choice.GO_ON)
    run.at(run.now + 2, "space")
    assert lines(run) == (Choice.SYMPTOM, Choice.SKIP, Choice.END, Choice.GO_ON)


def test_a_rest_can_be_shortened_before_and_after_the_tap_that_says_ready(begin, a_set):
    run = begin(a_set(), a_set())
    opens = run.in_window()
    run.at(opens + 70, "space")
    run.at(opens + 93)
    assert Choice.HURRY in lines(run)
    run.at(run.now + 2, "space")
    assert Choice.HURRY in lines(run)


def test_while_a_silent_window_asks_it_can_be_answered_no(begin, a_set):
    for parts in ([a_set()], [a_set(), a_set()]):
        run = begin(*parts)
        run.at(run.in_window() + 93)
        found = lines(run)
        assert Choice.NOT_TO_THE_END in found
        assert Choice.HURRY not in found


def test_the_mark_goes_round_both_ends():
    menu = Menu(LINES, LINES[0], 0)
    assert menu.moved(-1).marked is Choice.GO_ON
    assert menu.moved(-1).moved(1).marked is Choice.SYMPTOM


def test_over_another_screen_the_mark_stays_only_where_its_line_means_the_same():
    def marked_then(marked):
        return Menu(LINES, marked, 0).at(5, LINES).marked

    assert marked_then(Choice.SYMPTOM) is Choice.SYMPTOM
    assert marked_then(Choice.END) is Choice.END
    assert marked_then(Choice.SKIP) is Choice.GO_ON


def test_the_mark_goes_to_go_on_when_its_line_is_gone():
    assert Menu(LINES, Choice.SKIP, 0).at(0, (Choice.SYMPTOM, Choice.GO_ON)).marked is Choice.GO_ON


def test_a_reason_is_asked_for_only_where_it_was():
    menu = Menu(REASONS, REASONS[0], 3, asks_reason_for="high")
    assert menu.at(3, LINES) == menu
    assert menu.at(4, LINES) is None


def test_a_scanned_menu_goes_away_with_its_screen():
    menu = Menu(LINES, LINES[0], 3, scanned_since=3)
    assert menu.at(3, LINES) is not None
    assert menu.at(4, LINES) is None


# -- whoever types fast


def test_an_escape_too_soon_to_open_the_menu_is_acknowledged(begin):
    run = begin()
    run.in_window()
    run.at(run.now + 5, "escape")
    run.at(run.now + 1, "escape")
    assert run.engine.menu is None
    run.at(run.now + 0.5, "escape")
    assert run.engine.menu is None
    assert (run.engine.dropped.reason, run.engine.dropped.last) == ("guard", run.now)


def test_keys_of_the_menu_right_after_an_escape_that_opened_nothing_are_no_taps(begin):
    run = begin()
    run.in_window()
    run.at(run.now + 5, "escape")
    run.at(run.now + 1, "escape")
    run.at(run.now + 0.5, "escape")
    run.at(run.now + 0.85, "down")
    run.at(run.now + 0.6, "enter")
    assert run.stamps == []
    assert run.at(run.now + 1, "enter") == ["dropped", "failure"]


def test_keys_of_the_menu_make_nobody_ready_by_surprise(begin):
    run = begin()
    run.at(3, "escape")
    run.at(4, "escape")
    run.at(4.5, "escape")
    assert "ready" not in run.at(5.4, "down") + run.at(5.95, "enter")
    assert "ready" in run.at(7, "enter")


def test_keys_of_the_menu_are_taps_where_escape_closed_it_for_sure(begin):
    run = begin()
    run.in_window()
    run.at(run.now + 5, "escape")
    run.at(run.now + 1, "escape")
    assert run.at(run.now + 0.9, "enter") == ["failure"]
