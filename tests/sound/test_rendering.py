from array import array
from queue import SimpleQueue

import pytest

from holdtimer.errors import SoundError
from holdtimer.sound.rendering import Renderer, SpeechCache
from holdtimer.sound.samples import RATE, read_file
from holdtimer.sound.speech import RECORDINGS
from holdtimer.sound.worker import Patience, Worker, command


class FakeSpeaker:
    """Says every text as half a second of a tone at 8 kHz; it has none for "unknown" and fails at "bad"."""

    name = "fake 1"

    def __init__(self):
        self.said = []

    def say(self, text):
        self.said.append(text)
        if text == "bad":
            raise SoundError("no")
        if text == "empty":
            return array("h"), 8000
        return (array("h", [9000, -9000] * 2000), 8000) if text != "unknown" else None


@pytest.fixture
def speaker():
    return FakeSpeaker()


@pytest.fixture
def renderer(speaker, tmp_path):
    return Renderer(speaker, SpeechCache(tmp_path), 1.0)


def test_a_text_is_rendered_once_and_found_from_then_on(renderer, speaker):
    path, length = renderer.render("left side")
    assert renderer.render("left side") == (path, length)
    assert speaker.said == ["left side"]
    assert len(read_file(path, RATE)) / RATE == pytest.approx(length)
    assert length == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("text", ["unknown", "bad", "empty"])
def test_what_can_not_be_said_is_none(renderer, text):
    assert renderer.render(text) is None
    assert renderer.render("left side") is not None


def test_every_order_to_render_is_answered_and_nonsense_passed_over(renderer):
    answers = []
    for order in (["render", "left\nside"], ["nonsense"], ["render"], ["render", "unknown"]):
        renderer.obey(order, lambda *words: answers.append(words))
    assert [answer[:2] for answer in answers] == [("rendered", "left\nside"), ("rendered", "unknown")]
    assert answers[1][2:] == (None, None)


@pytest.fixture
def working(tmp_path):
    """Start a real worker; its answers come into a queue."""
    started = []

    def start(speaker, volume="1", folder=tmp_path / "voice"):
        answers = SimpleQueue()
        words = command("rendering", speaker, "150", volume, str(folder))
        started.append(Worker("speech synthesiser", words, Patience(30.0, 30.0), answers.put))
        return started[-1], answers

    yield start
    for each in started:
        each.end()


def test_the_worker_renders_what_it_is_sent(working, tmp_path):
    process, answers = working(RECORDINGS, "0.5")
    process.send("render", "ease off")
    process.send("render", "Wall sit")
    _, text, path, length = answers.get(timeout=30)
    assert text == "ease off"
    assert 0.3 < length < 1.5
    assert len(read_file(tmp_path / "voice" / path, RATE)) / RATE == pytest.approx(length)
    assert answers.get(timeout=30) == ["rendered", "Wall sit", None, None]


def test_the_worker_speaks_where_nothing_can_be_kept(working, tmp_path):
    (tmp_path / "file").touch()
    process, answers = working(RECORDINGS, folder=tmp_path / "file" / "voice")
    process.send("render", "ease off")
    path = answers.get(timeout=30)[2]
    assert read_file(tmp_path / path, RATE)
    process.end()
    assert not (tmp_path / path).exists()


def test_a_command_that_is_not_there_renders_nothing(working):
    process, answers = working("no-such-command")
    process.send("render", "ease off")
    assert answers.get(timeout=30) == ["rendered", "ease off", None, None]
