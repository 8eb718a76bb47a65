import pytest

from holdtimer.cli import settings as command
from holdtimer.live.keys import Key
from holdtimer.live.terminal import Leave


@pytest.fixture
def pressed(call, monkeypatch):
    """Run `keys` with keys by name and time, and return the lines about them."""

    def pressed(*given, ends="escape"):
        keys = [Key(name, at) for name, at in given]
        last = keys[-1].at if keys else 0.0
        coming = [*keys, Leave("quit") if ends is None else Key(ends, last + 5), Key("n", last + 6)]
        now = [0.0]

        class Source:
            def __init__(self, _):
                pass

            def __enter__(self):
                return self

            def __exit__(self, *_):
                pass

            def take(self, _):
                if getattr(coming[0], "at", now[0]) <= now[0]:
                    return [coming.pop(0)]
                now[0] += 0.05
                return []

        monkeypatch.setattr(command, "KeySource", Source)
        monkeypatch.setattr(command, "steady", lambda: now[0])
        monkeypatch.setattr("sys.stdin", Typing())
        said = call("keys")
        return said.out.split("\n\n")[0].splitlines()[3:]

    return pressed


class Typing:
    """A terminal on which somebody types."""

    def isatty(self):
        return True

    def fileno(self):
        return 0


def held(name, since, until):
    """A key held down: it repeats after 0.5 s, then every 0.03 s."""
    count = int((until - since - 0.5) / 0.03)
    return [(name, since), *((name, since + 0.5 + n * 0.03) for n in range(count))]


def test_each_press_is_told_when_it_comes(pressed):
    assert pressed(("space", 1), ("f5", 3), ("o", 5), ("up", 7), ("backspace", 8)) == [
        "space: a tap",
        "f5: a tap",
        "o: a tap; while ready or resting: marks an off day",
        "up: a tap; in the menu: moves the mark up",
        "backspace: pressed twice: takes the last stamp back",
    ]


def test_a_held_key_takes_one_line_a_train_with_its_count(pressed):
    repeats = held("space", 1, 4)
    lines = pressed(*repeats, ("b", 6), *held("space", 8, 11))
    train = ["space: a tap", f"space: not a tap: a key is held down ({len(repeats) - 1} times)"]
    assert lines == [*train, "b: a tap", *train]


def test_a_press_alone_that_does_not_count_is_told_without_a_number(pressed):
    assert pressed(("space", 1), ("space", 1.3), ("space", 3)) == [
        "space: a tap",
        "space: not a tap: too soon after the last key",
        "space: a tap",
    ]


def test_trains_of_two_hits_apart_are_not_counted_together(pressed):
    hits = [at for begin in (1, 3) for at in (("space", begin), ("space", begin + 0.3))]
    assert pressed(*hits) == 2 * ["space: a tap", "space: not a tap: too soon after the last key"]


@pytest.mark.parametrize("ends", ["escape", None])
def test_a_train_that_the_end_cuts_off_is_told(pressed, ends):
    assert pressed(("space", 1), ("space", 1.2), ("space", 1.4), ends=ends)[1:] == [
        "space: not a tap: too soon after the last key (2 times)"
    ]


def test_a_key_switched_off_is_told(pressed, tmp_path, monkeypatch):
    path = tmp_path / "config.toml"
    path.write_text('not_taps = ["f5"]\n[people.zed]\nguard_s = 9\n')
    monkeypatch.setenv("HOLDTIMER_CONFIG", str(path))
    nothing = "f5: nothing: your settings say that it is not a tap"
    repeats = held("f5", 1, 4)
    assert pressed(*repeats, ("f5", 6)) == [nothing, f"{nothing} ({len(repeats) - 1} times)", nothing]


def test_without_a_terminal_it_is_said(call):
    assert call("keys").code == 2
