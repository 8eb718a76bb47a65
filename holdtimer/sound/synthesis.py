"""Makes every file in `sounds/` from the patterns: 48 kHz, mono, 16 bit.

`python -m holdtimer.sound.synthesis` writes them; the same patterns always give the same files.
"""

from pathlib import Path

import numpy as np

from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import HIGHEST_HZ, PATTERNS, Note, Partial, Pattern, Sound
from holdtimer.sound.samples import RATE, Samples, path_of, write_file
from holdtimer.sound.shaping import HIGHEST_PEAK, Line, in_16_bits

RELEASE_S = 0.03
LOUDNESS_WINDOW_S = 0.125  # the "fast" time weighting of a sound level meter


def _envelope(note: Note, count: int) -> Line:
    """Return the rise and release of a note, 0-1, each half a cosine so that nothing clicks."""
    rise = _slope(note.timbre.rise_s)
    release = _slope(max(RELEASE_S, note.timbre.rise_s))[::-1]
    return np.concatenate([rise, np.ones(count - len(rise) - len(release)), release])


def _slope(seconds: float) -> Line:
    count = round(seconds * RATE)
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * np.arange(count) / count), dtype=np.float64)


def _tone(partial: Partial, pitch_hz: float, count: int) -> Line:
    """Return one fading pure tone."""
    turn = 2 * np.pi * partial.ratio * pitch_hz / RATE
    fade = 1 / (partial.fade_s * RATE)
    samples = np.arange(count)
    return np.asarray(partial.share * np.exp(-fade * samples) * np.sin(turn * samples), dtype=np.float64)


def _note(note: Note) -> Line:
    count = round(note.timbre.length_s * RATE)
    heard = [p for p in note.timbre.partials if p.ratio * note.pitch_hz <= HIGHEST_HZ]
    tones = sum(_tone(partial, note.pitch_hz, count) for partial in heard)
    return note.strength * _envelope(note, count) * tones


def _laid_out(pattern: Pattern) -> Line:
    """Return the notes of a pattern added up, each at its place."""
    line = np.zeros(round(pattern.length_s * RATE) + 1)
    for note in pattern.notes:
        start, heard = round(note.at_s * RATE), _note(note)
        line[start : start + len(heard)] += heard
    return line


def _loudness(line: Line) -> float:
    """Return the highest effective value (root mean square) of any 125 ms of a line."""
    width = round(LOUDNESS_WINDOW_S * RATE)
    sums = np.concatenate([[0.0], np.cumsum(line**2)])
    ends = np.arange(0, len(sums), 48)
    return float(np.sqrt(np.max(sums[ends] - sums[np.maximum(ends - width, 0)]) / width))


def render(pattern: Pattern) -> Samples:
    """Return the samples of a pattern at its loudness, or as near as its peak allows."""
    line = _laid_out(pattern)
    gain = min(pattern.loudness / _loudness(line), HIGHEST_PEAK / float(np.max(np.abs(line))))
    return in_16_bits(line * gain)


def write(sound: Sound, folder: Path) -> None:
    """Write the file of one sound."""
    write_file(render(PATTERNS[sound]), path_of(sound, folder), RATE)


if __name__ == "__main__":
    for each in Sound:
        write(each, sounds_folder())
