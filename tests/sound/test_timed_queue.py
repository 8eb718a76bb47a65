from holdtimer.sound.player import LATEST_S, TimedQueue


def test_items_come_in_the_order_they_are_due_and_equals_as_they_were_added() -> None:
    due: TimedQueue[str] = TimedQueue()
    for item, at in (("c", 3.0), ("a", 1.0), ("b1", 2.0), ("b2", 2.0)):
        due.add(item, at)
    assert due.next() == 1.0
    assert due.waiting() == [(1.0, "a"), (2.0, "b1"), (2.0, "b2"), (3.0, "c")]
    assert [item for _, item in due.take(2.5, 1.0)] == ["a", "b1", "b2"]
    assert due.next() == 3.0


def test_what_is_due_at_the_very_limit_is_taken() -> None:
    due: TimedQueue[str] = TimedQueue()
    due.add("a", 1.0)
    assert due.take(0.999, 1.0) == []
    assert due.take(1.0, 1.0) == [(1.0, "a")]
    assert due.next() is None


def test_withdrawing_keeps_what_is_due_at_that_time_or_before() -> None:
    due: TimedQueue[str] = TimedQueue()
    for at in (1.0, 2.0, 3.0):
        due.add("x", at)
    due.withdraw(2.0)
    assert [at for at, _ in due.waiting()] == [1.0, 2.0]


def test_what_is_too_late_is_left_out_and_forgotten() -> None:
    due: TimedQueue[str] = TimedQueue()
    due.add("old", 1.0)
    due.add("just", 1.1)
    now = 1.1 + LATEST_S - 0.01
    assert due.take(now, now) == [(1.1, "just")]
    assert due.waiting() == []
