"""The recordings of the fixed phrases in `sounds/voice/`: read where nothing else can speak.

`python -m holdtimer.sound.recordings` makes them all anew, with the extra `voice`: mono, 16 bit, 16 kHz.
"""

import re
from pathlib import Path

from holdtimer.errors import SoundError
from holdtimer.paths import sounds_folder
from holdtimer.sound.phrases import EVERY
from holdtimer.sound.samples import read_file, write_file
from holdtimer.sound.speech import LIBRARY, Speech, SpeechError, speaker_named

RATE = 16_000
WORDS_PER_MINUTE = 150


def voice_folder() -> Path:
    """Return the folder of the recordings."""
    return sounds_folder() / "voice"


def file_name(text: str) -> str:
    """Return what the file of a text is called."""
    return re.sub(r"[^a-z]+", "-", text.lower()).strip("-")[:40].rstrip("-") + ".wav"


class Recordings:
    """Says what is recorded, and nothing else."""

    name = "recordings 1"

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder or voice_folder()

    def say(self, text: str) -> Speech | None:
        """Return the recording of a text; None where there is none. Raises SpeechError where it is broken."""
        if text not in EVERY:
            return None
        try:
            return read_file(self._folder / file_name(text), RATE), RATE
        except SoundError as trouble:
            raise SpeechError(str(trouble)) from trouble


def make(folder: Path) -> None:
    """Record every fixed phrase. Raises SpeechError without the extra `voice`."""
    from holdtimer.sound.shaping import shaped

    speaker = speaker_named(LIBRARY, WORDS_PER_MINUTE)
    folder.mkdir(exist_ok=True)
    for text in EVERY:
        said = speaker.say(text)
        if said is not None:
            write_file(shaped(*said, RATE), folder / file_name(text), RATE)


if __name__ == "__main__":
    make(voice_folder())
