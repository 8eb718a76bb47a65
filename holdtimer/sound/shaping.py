"""Shapes speech: no silence around it, as loud as the sounds, at another sample rate.

What it does to a line of samples is also what the sounds are made with.
"""

import math
from array import array

import numpy as np
from numpy.typing import NDArray

from holdtimer.sound.samples import Samples

LOUDNESS = 0.20  # the highest effective level of any 125 ms, as the sounds have it
HIGHEST_PEAK = 0.9
SILENT = 0.02  # of the peak: what is softer at either end is cut off
LEAD_S, TAIL_S = 0.006, 0.025  # left before and after
FADE_S = 0.005
MARGIN_S, TENTH_S = 0.05, 0.1
LOUDNESS_WINDOW_S = 0.125  # the "fast" time weighting of a sound level meter
FULL_SCALE = 32767

Line = NDArray[np.float64]


def shaped(samples: Samples, rate: int, new_rate: int, volume: float = 1.0) -> Samples:
    """Return speech at so many samples a second and at a volume of 0-1; empty where it is silent."""
    line = _trimmed(np.array(samples, dtype=np.float64) / FULL_SCALE, rate)
    if not len(line):
        return array("h")
    line = _faded(_resampled(line, rate, new_rate), new_rate)
    peak, level = float(np.max(np.abs(line))), loudness(line, new_rate)
    gain = min(LOUDNESS / level, HIGHEST_PEAK / peak) * volume
    return in_16_bits(line * gain)


def in_16_bits(line: Line) -> Samples:
    """Return a line, full scale being 1, as samples."""
    return array("h", np.round(line * FULL_SCALE).astype(np.int16).tobytes())


def _trimmed(line: Line, rate: int) -> Line:
    heard = np.flatnonzero(np.abs(line) > SILENT * np.max(np.abs(line), initial=0.0))
    if not len(heard):
        return line[:0]
    return line[max(0, heard[0] - round(LEAD_S * rate)) : heard[-1] + round(TAIL_S * rate)]


def _resampled(line: Line, rate: int, new_rate: int) -> Line:
    """Return a line at another rate: its spectrum cut, or filled up with nothing.

    It is filled up to whole tenths of a second: both lengths are products of small numbers then, and quick.
    """
    if rate == new_rate:
        return line
    margin, tenth = round(MARGIN_S * rate), round(TENTH_S * rate)
    padded = np.zeros(math.ceil((len(line) + 2 * margin) / tenth) * tenth)
    padded[margin : margin + len(line)] = line
    count = round(len(padded) * new_rate / rate)
    resampled = np.fft.irfft(np.fft.rfft(padded), count) * (count / len(padded))
    edge = round(MARGIN_S * new_rate)
    return np.asarray(resampled[edge : edge + round(len(line) * new_rate / rate)], dtype=np.float64)


def _faded(line: Line, rate: int) -> Line:
    width = min(round(FADE_S * rate), len(line) // 2)
    slope = rising(width)
    faded = line.copy()
    faded[:width] *= slope
    faded[len(line) - width :] *= slope[::-1]
    return faded


def rising(count: int) -> Line:
    """Return a rise from 0 to 1 in so many samples, half a cosine so that nothing clicks."""
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * np.arange(count) / max(1, count)), dtype=np.float64)


def loudness(line: Line, rate: int) -> float:
    """Return the highest effective value (root mean square) of any 125 ms of a line."""
    width = round(LOUDNESS_WINDOW_S * rate)
    sums = np.concatenate([[0.0], np.cumsum(line**2)])
    starts = np.maximum(np.arange(len(sums)) - width, 0)
    return float(np.sqrt(np.max(sums - sums[starts]) / width))
