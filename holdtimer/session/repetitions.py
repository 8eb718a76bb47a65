"""How many repetitions were done, estimated from the rhythm: an estimate, since nobody counts them."""

from collections.abc import Iterable, Sequence

Tempo = tuple[float, float, float, float]
"""Seconds to lower, to pause, to lift and to pause."""
Span = tuple[float, float]


def repetitions(stamp_at: float, tempo: Tempo, worked: Iterable[Span]) -> int:
    """Return the whole repetitions done by `stamp_at` (s), at the tempo, in the spans worked (s).

    The rhythm begins anew with each span. 0 where the tempo takes no time.
    """
    each = sum(tempo)
    if each <= 0:
        return 0
    return sum(int((min(end, stamp_at) - start) / each + 1e-6) for start, end in worked if start < stamp_at)


def worked_spans(failures_s: Sequence[float], reentries_s: Sequence[float], end: float) -> tuple[Span, ...]:
    """Return when in a window work was done, by its stamps, up to `end` (s)."""
    begins = (0.0, *reentries_s)
    ends = (*failures_s, end)
    return tuple((begin, stop) for begin, stop in zip(begins, ends, strict=False) if begin < stop)
