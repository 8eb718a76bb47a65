def dropped(run):
    return [(e.reason, e.count, e.since, e.t) for e in run.events if e.ev == "dropped"]


def test_a_train_of_dropped_presses_is_logged_once_with_its_count(begin):
    run = begin()
    opens = run.in_window()
    for at in (60, 60.3, 60.6, 60.9):
        run.at(opens + at, "space")
    run.at(opens + 62)
    assert dropped(run) == [("guard", 3, opens + 60.3, opens + 60.9)]


def test_a_train_is_logged_when_it_has_fallen_silent_and_not_before(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 60.3, "space")
    assert dropped(run) == []
    assert run.at(opens + 61.2) == ["dropped"]


def test_a_press_that_counts_ends_the_train(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    run.at(opens + 61, "space")
    run.at(opens + 62, "space")
    assert run.names[-2:] == ["dropped", "re-entry"]
    assert dropped(run)[0][0] == "back-in"


def test_a_held_key_is_one_train_that_says_so(begin):
    run = begin()
    opens = run.in_window()
    run.at(opens + 60, "space")
    for n in range(100):
        run.at(opens + 60.4 + n * 0.033, "space")
    run.at(opens + 70)
    ((reason, count, _, _),) = dropped(run)
    assert (reason, count) == ("held", 100)


def test_repeats_after_a_press_that_was_too_soon_belong_to_it(begin):
    run = begin()
    run.at(0.5, "space")
    run.at(0.9, "space")
    run.at(2)
    assert dropped(run) == [("screen", 2, 0.5, 0.9)]


def test_a_train_still_open_is_logged_when_the_session_is_left_or_closed(begin):
    for end in ("leave", "close"):
        run = begin()
        run.at(0.5, "space")
        if end == "leave":
            run.took(run.engine.leave("quit", 0.6))
        else:
            run.took(run.engine.close(0.6, "finished"))
        assert "dropped" in run.names


def test_the_latest_dropped_press_can_be_seen_at_once(begin):
    run = begin()
    run.at(0.5, "space")
    assert (run.engine.dropped.reason, run.engine.dropped.last) == ("screen", 0.5)
