import json
import subprocess
from array import array

import pytest

from holdtimer.sound.helper import command, started
from holdtimer.sound.rendering import Renderer, render_all
from holdtimer.sound.samples import RATE, read_file
from holdtimer.sound.speech import RECORDINGS, SpeechError
from holdtimer.sound.speech_cache import SpeechCache


class FakeSpeaker:
    """Says every text as half a second of a tone at 8 kHz; it has none for "unknown" and fails at "bad"."""

    name = "fake 1"

    def __init__(self):
        self.said = []

    def say(self, text):
        self.said.append(text)
        if text == "bad":
            raise SpeechError("no")
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


def test_every_line_is_answered_and_nonsense_passed_over(renderer):
    answers = []
    lines = [json.dumps("left\nside"), "nonsense", json.dumps("unknown")]
    render_all(renderer, lines, lambda *answer: answers.append(answer))
    assert [answer[0] for answer in answers] == ["left\nside", "unknown"]
    assert answers[1][1:] == (None, None)


def test_the_process_answers_and_ends_with_its_input(tmp_path):
    process = started(command("rendering", RECORDINGS, "150", "0.5", str(tmp_path / "voice")))
    told, _ = process.communicate(json.dumps("ease off") + "\n" + json.dumps("Wall sit") + "\n", timeout=30)
    first, second = map(json.loads, told.splitlines())
    assert first[0] == "ease off"
    assert 0.3 < first[2] < 1.5
    assert len(read_file(tmp_path / "voice" / first[1], RATE)) / RATE == pytest.approx(first[2])
    assert second == ["Wall sit", None, None]
    assert process.returncode == 0


def test_the_process_speaks_where_nothing_can_be_kept(tmp_path):
    (tmp_path / "file").touch()
    process = started(command("rendering", RECORDINGS, "150", "1", str(tmp_path / "file" / "voice")))
    process.stdin.write(json.dumps("ease off") + "\n")
    process.stdin.flush()
    _, path, _ = json.loads(process.stdout.readline())
    assert read_file(tmp_path / path, RATE)
    with process.stdout:
        process.stdin.close()
        process.wait(30)
    assert not (tmp_path / path).exists()


def test_a_speaker_that_is_not_there_ends_the_process(tmp_path):
    process = started(command("rendering", "no-such-command", "150", "1", str(tmp_path)))
    told, _ = process.communicate(json.dumps("ease off") + "\n", timeout=30)
    assert json.loads(told) == ["ease off", None, None]
    assert isinstance(process, subprocess.Popen)
