from collections.abc import Callable

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.choosing import Installed, choose
from holdtimer.sound.player import steady
from holdtimer.sound.recording import RecordingPlayer


def installed(*distributions: str, python: tuple[int, int] = (3, 11)) -> Installed:
    return Installed(distributions.__contains__, python)


def opening(*refusing: str) -> Callable[..., RecordingPlayer]:
    """Make players that open, but for those named."""

    class Named(RecordingPlayer):
        def __init__(self, name: str) -> None:
            super().__init__()
            self.name = name

        def open(self) -> None:
            if self.name in refusing:
                raise SoundError("there is no sound device")
            super().open()

    return lambda name, pace: Named(name)


def chosen(wanted, here: Installed, *refusing: str) -> tuple[str, list[str]]:
    player, remarks = choose(wanted, steady, installed=here, make=opening(*refusing))
    assert player.name == "off" or player.is_open
    return player.name, remarks


STOCK, PATCHED, MINI = "simpleaudio", "simpleaudio-patched", "miniaudio"
CRASH_312 = (
    "simpleaudio: simpleaudio crashes on Python 3.12: "
    "pip uninstall simpleaudio simpleaudio-patched; then, in the folder of holdtimer: "
    "pip install '.[simpleaudio]'"
)


@pytest.mark.parametrize(
    ("distributions", "python", "name"),
    [
        ((STOCK, MINI), (3, 11), "simpleaudio"),
        ((PATCHED, MINI), (3, 11), "simpleaudio"),
        ((PATCHED, MINI), (3, 12), "simpleaudio"),
        ((PATCHED, MINI), (3, 13), "simpleaudio"),
        ((MINI,), (3, 13), "miniaudio"),
    ],
)
def test_the_best_that_is_there_is_chosen_without_remark(distributions, python, name) -> None:
    assert chosen("auto", installed(*distributions, python=python)) == (name, [])


@pytest.mark.parametrize("distributions", [(STOCK, MINI), (STOCK, PATCHED, MINI)])
@pytest.mark.parametrize("python", [(3, 12), (3, 13), (3, 14)])
def test_a_library_that_crashes_here_is_passed_over_by_its_version(distributions, python) -> None:
    name, remarks = chosen("auto", installed(*distributions, python=python))
    assert name == "miniaudio"
    assert remarks == [CRASH_312.replace("3.12", f"{python[0]}.{python[1]}")]


def test_where_there_is_no_library_the_bell_takes_over_and_it_is_said() -> None:
    assert chosen("auto", installed()) == (
        "bell",
        ["miniaudio: miniaudio is not installed: pip install miniaudio"],
    )


def test_each_that_does_not_open_is_said_and_the_next_is_tried() -> None:
    name, remarks = chosen("auto", installed(STOCK, MINI), "simpleaudio", "miniaudio", "bell")
    assert name == "off"
    assert remarks == [f"{each}: there is no sound device" for each in ("simpleaudio", "miniaudio", "bell")]


def test_a_player_asked_for_by_name_is_tried_first_and_the_better_ones_not_at_all() -> None:
    assert chosen("miniaudio", installed(STOCK, MINI)) == ("miniaudio", [])
    assert chosen("bell", installed(STOCK, MINI)) == ("bell", [])
    assert chosen("off", installed(STOCK, MINI)) == ("off", [])


def test_one_asked_for_by_name_that_does_not_open_gives_way_to_the_next() -> None:
    assert chosen("miniaudio", installed(MINI), "miniaudio") == (
        "bell",
        ["miniaudio: there is no sound device"],
    )


@pytest.mark.parametrize(
    ("wanted", "here", "words"),
    [
        ("simpleaudio", installed(MINI), r"in the folder of holdtimer: pip install '\.\[simpleaudio\]'"),
        ("miniaudio", installed(STOCK), "pip install miniaudio"),
        (
            "simpleaudio",
            installed(STOCK, python=(3, 12)),
            r"then, in the folder of holdtimer: pip install '\.",
        ),
    ],
)
def test_asking_by_name_for_what_is_missing_says_what_to_install(wanted, here, words: str) -> None:
    with pytest.raises(SoundError, match=words):
        chosen(wanted, here)


def test_the_bell_can_be_rung_by_a_writer_of_ones_own(eventually) -> None:
    from holdtimer.sound.patterns import Sound

    written: list[str] = []
    player, _ = choose("bell", steady, write=written.append)
    player.schedule(Sound.FAILURE, steady())
    eventually(lambda: written == ["\a"])
    player.close()


def test_silence_can_be_had() -> None:
    player, remarks = choose("off", steady)
    assert (player.name, player.trouble(), remarks) == ("off", None, [])
