"""Makes every file in `sounds/` from the patterns: 48 kHz, mono, 16 bit.

`python -m holdtimer.sound.synthesis` writes them; the same patterns always give the same files.
"""

import math
from array import array
from collections.abc import Iterator
from itertools import accumulate
from pathlib import Path

from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import HIGHEST_HZ, PATTERNS, Note, Partial, Pattern, Sound
from holdtimer.sound.samples import RATE, Samples, path_of, write_file

FULL_SCALE = 32767
RELEASE_S = 0.03
LOUDNESS_WINDOW_S = 0.125  # the "fast" time weighting of a sound level meter
HIGHEST_PEAK = 0.9


def _envelope(note: Note, count: int) -> list[float]:
    """Return the rise and release of a note, 0-1, each half a cosine so that nothing clicks."""
    rise = _slope(note.timbre.rise_s)
    release = _slope(max(RELEASE_S, note.timbre.rise_s))[::-1]
    return rise + [1.0] * (count - len(rise) - len(release)) + release


def _slope(seconds: float) -> list[float]:
    count = round(seconds * RATE)
    return [0.5 - 0.5 * math.cos(math.pi * i / count) for i in range(count)]


def _tone(partial: Partial, pitch_hz: float, count: int) -> Iterator[float]:
    """Return one fading pure tone."""
    turn = 2 * math.pi * partial.ratio * pitch_hz / RATE
    fade = 1 / (partial.fade_s * RATE)
    return (partial.share * math.exp(-fade * i) * math.sin(turn * i) for i in range(count))


def _note(note: Note) -> list[float]:
    count = round(note.timbre.length_s * RATE)
    heard = [p for p in note.timbre.partials if p.ratio * note.pitch_hz <= HIGHEST_HZ]
    tones = [_tone(partial, note.pitch_hz, count) for partial in heard]
    return [
        note.strength * level * sum(values)
        for level, *values in zip(_envelope(note, count), *tones, strict=True)
    ]


def _laid_out(pattern: Pattern) -> list[float]:
    """Return the notes of a pattern added up, each at its place."""
    line = [0.0] * (round(pattern.length_s * RATE) + 1)
    for note in pattern.notes:
        start = round(note.at_s * RATE)
        for i, value in enumerate(_note(note), start):
            line[i] += value
    return line


def loudness(line: list[float]) -> float:
    """Return the highest effective value (root mean square) of any 125 ms of a line."""
    width = round(LOUDNESS_WINDOW_S * RATE)
    sums = list(accumulate((value * value for value in line), initial=0.0))
    ends = range(0, len(sums), 48)
    return math.sqrt(max(sums[end] - sums[max(0, end - width)] for end in ends) / width)


def render(pattern: Pattern) -> Samples:
    """Return the samples of a pattern at its loudness, or as near as its peak allows."""
    line = _laid_out(pattern)
    gain = min(pattern.loudness / loudness(line), HIGHEST_PEAK / max(map(abs, line)))
    return array("h", (round(FULL_SCALE * gain * value) for value in line))


def write(sound: Sound, folder: Path) -> None:
    """Write the file of one sound."""
    write_file(render(PATTERNS[sound]), path_of(sound, folder), RATE)


if __name__ == "__main__":
    for each in Sound:
        write(each, sounds_folder())
