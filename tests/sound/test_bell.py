import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.bell import RUNG_AT, BellPlayer, terminal_writer
from holdtimer.sound.patterns import Sound
from holdtimer.sound.player import AT_ONCE, Pace, steady


@pytest.fixture
def written() -> list[str]:
    return []


@pytest.fixture
def bell(written):
    player = BellPlayer(Pace(steady), written.append)
    player.open()
    yield player
    player.close()


@pytest.mark.parametrize("sound", [Sound.FAILURE, Sound.RE_ENTRY, Sound.WINDOW_OVER])
def test_it_rings_at_what_matters(bell, written, eventually, sound: Sound) -> None:
    bell.schedule(sound, AT_ONCE)
    eventually(lambda: written == ["\a"])


def test_it_keeps_quiet_at_countdowns_and_rhythms(bell, written, eventually) -> None:
    for sound in sorted(set(Sound) - RUNG_AT):
        bell.schedule(sound, AT_ONCE)
    bell.schedule(Sound.BAND, steady() + 0.05)
    eventually(lambda: written == ["\a"])


def test_it_does_not_ring_for_what_was_withdrawn(bell, written, eventually) -> None:
    now = steady()
    bell.schedule(Sound.BAND, now + 0.10)
    bell.withdraw(now + 0.05)
    bell.schedule(Sound.WINDOW_OVER, now + 0.15)
    eventually(lambda: written == ["\a"])
    assert written == ["\a"]


def test_no_terminal_is_told_when_opening() -> None:
    with pytest.raises(SoundError, match="no terminal"):
        BellPlayer(Pace(steady), None).open()


def test_a_terminal_that_is_gone_is_trouble(eventually) -> None:
    def gone(text: str) -> None:
        raise OSError("gone")

    player = BellPlayer(Pace(steady), gone)
    player.open()
    player.schedule(Sound.BAND, AT_ONCE)
    eventually(lambda: player.trouble() == "the terminal can't be rung")
    player.close()


class Stream:
    def __init__(self, is_terminal: bool) -> None:
        self.is_terminal = is_terminal
        self.text = ""

    def isatty(self) -> bool:
        return self.is_terminal

    def write(self, text: str) -> None:
        self.text += text

    def flush(self) -> None:
        pass


def test_the_writer_writes_to_the_stream_that_is_a_terminal(monkeypatch) -> None:
    out, err = Stream(False), Stream(True)
    monkeypatch.setattr("sys.__stdout__", out)
    monkeypatch.setattr("sys.__stderr__", err)
    terminal_writer()("\a")
    assert (out.text, err.text) == ("", "\a")


def test_without_a_terminal_there_is_no_writer(monkeypatch) -> None:
    monkeypatch.setattr("sys.__stdout__", Stream(False))
    monkeypatch.setattr("sys.__stderr__", None)
    assert terminal_writer() is None
