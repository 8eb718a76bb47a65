"""Makes every file in `sounds/` from the patterns: 48 kHz, mono, 16 bit.

`python -m holdtimer.sound.synthesis` writes them; the same patterns always give the same files.
"""

from pathlib import Path

import numpy as np

from holdtimer.files import sounds_folder
from holdtimer.sound.patterns import HIGHEST_HZ, PATTERNS, Note, Partial, Pattern, Sound
from holdtimer.sound.samples import RATE, Samples, path_of, write_file
from holdtimer.sound.shaping import HIGHEST_PEAK, Line, in_16_bits, loudness, rising

RELEASE_S = 0.03


def _envelope(note: Note, count: int) -> Line:
    """Return the rise and release of a note, 0-1."""
    rise = rising(round(note.timbre.rise_s * RATE))
    release = rising(round(max(RELEASE_S, note.timbre.rise_s) * RATE))[::-1]
    return np.concatenate([rise, np.ones(count - len(rise) - len(release)), release])


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


def render(pattern: Pattern) -> Samples:
    """Return the samples of a pattern at its loudness, or as near as its peak allows."""
    line = _laid_out(pattern)
    gain = min(pattern.loudness / loudness(line, RATE), HIGHEST_PEAK / float(np.max(np.abs(line))))
    return in_16_bits(line * gain)


def write(sound: Sound, folder: Path) -> None:
    """Write the file of one sound."""
    write_file(render(PATTERNS[sound]), path_of(sound, folder), RATE)


if __name__ == "__main__":
    for each in Sound:
        write(each, sounds_folder())
