"""What an offline recogniser understands of a real session, recorded. Run by hand:

    python -m tests.bench.bench_voice [--plain] [--recordings]

Needs Linux with PulseAudio, the package pocketsphinx and, but for `--recordings`, the extra `voice`. Leads a
session on the full screen or as plain lines, in a terminal of its own, and records what the sound device was
given. A recogniser with a small grammar (the announcements of the session, each with every number) listens to
each of them; and no sound and no other announcement may lie within one. Takes about five minutes.
"""

import re
import sys
from collections import Counter

import numpy as np
from pocketsphinx import Decoder

from holdtimer.sound.phrases import FAILED_AT, LAST_TIME, SECONDS, SMALL, number
from holdtimer.sound.samples import RATE
from holdtimer.sound.shaping import shaped
from holdtimer.sound.speech import LIBRARY, RECORDINGS
from tests.bench.bench_sound import start_in
from tests.bench.recorded import BACKSPACE, FOCUS_IN, FOCUS_OUT, HARDER, TAP, Recorded, Said, record

GOAL = 0.95
HEARD_RATE = 16_000
PLAN = {
    "ready 1": [(22.0, TAP)],
    "count-in 1": [(3.5, TAP)],  # not ready
    "rest 1": [(20.0, TAP)],
    "window 1": [(12.4, TAP), (24.0, TAP), (41.2, TAP)],
    "rest 2": [(4.0, HARDER), (25.0, TAP)],
    "window 2": [
        (9.3, TAP), (10.6, BACKSPACE), (11.6, BACKSPACE), (15.2, TAP), (21.7, TAP), (26.0, FOCUS_OUT),
        (33.0, FOCUS_IN), (38.1, TAP),
    ],
    "rest 3": [(38.0, TAP)],
    "rest 4": [(12.0, TAP)],
}  # fmt: skip


def plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z']+", text.lower()))


def recogniser(said: set[str]) -> Decoder:
    """A decoder that knows what a session says, with every number there could be."""
    numbers = [plain(" ".join(number(count))) for count in range(100)]
    lines = {*said, *SMALL[1:11], *(f"{FAILED_AT} {each}" for each in numbers)}
    lines |= {f"{LAST_TIME} {each} {SECONDS}" for each in numbers}
    decoder = Decoder(lm=None, samprate=HEARD_RATE, loglevel="FATAL")
    unknown = {word for line in lines for word in line.split() if decoder.lookup_word(word) is None}
    assert not unknown, f"the recogniser has no such words: {unknown}"
    decoder.add_jsgf_string("said", f"#JSGF V1.0; grammar said; public <said> = {' | '.join(sorted(lines))};")
    decoder.activate_search("said")
    return decoder


def understood(decoder: Decoder, samples: np.ndarray) -> str:
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), False, True)
    decoder.end_utt()
    best = decoder.hyp()
    return best.hypstr if best else ""


def stretch(heard: Recorded, said: Said) -> np.ndarray:
    """A stretch of the record as the recogniser takes it, with the faint noise of a room."""
    first, last = (round((at - heard.begin) * RATE) for at in (said.start - 0.10, said.end + 0.08))
    piece = shaped(heard.samples[first:last].astype(np.int16), RATE, HEARD_RATE)
    quiet = np.zeros(HEARD_RATE // 4)
    padded = np.concatenate([quiet, np.array(piece, dtype=float), quiet])
    return (padded + np.random.default_rng(1).normal(0, 20, len(padded))).clip(-32768, 32767).astype(np.int16)


def covered(heard: Recorded) -> list[tuple[str, str]]:
    """What was said together with a sound or with something else that was said."""
    spans = [(each.start, each.end, f"sound {each.sound}") for each in heard.sounds]
    spans += [(each.start, each.end, each.words) for each in heard.said]
    return [
        (each.words, what)
        for each in heard.said
        for start, end, what in spans
        if start < each.end and each.start < end and (start, what) != (each.start, each.words)
    ]


def counted_late(heard: Recorded) -> list[float]:
    """How late each counted word starts (ms, up to a constant), by where its samples are in the record."""
    counted = [each for each in heard.pieces if each.words in SMALL[1:6] and not each.is_cut]
    return [
        round(float(start_in(heard.samples, heard.begin, each.start, heard.lines[each.words])), 2)
        for each in counted
    ]


def tell(heard: Recorded) -> list[str]:
    """Print what was understood; return what is wrong."""
    whole = [each for each in heard.said if not each.is_cut]
    decoder = recogniser({plain(each.words) for each in whole})
    wrong = []
    for each in whole:
        words, got = plain(each.words), understood(decoder, stretch(heard, each))
        wrong += [] if got == words else [(words, got)]
        mark, heard_as = (" ", "") if got == words else ("X", f"  -- {got}")
        print(f"{mark} {each.start - heard.begin:7.2f}  {words}{heard_as}")
    share = 1 - len(wrong) / len(whole)
    print(
        f"{len(whole) - len(wrong)} of {len(whole)} announcements understood ({share:.1%}, goal {GOAL:.0%})"
    )
    print(
        f"said together: {covered(heard)}; broken off: {[each.words for each in heard.said if each.is_cut]}"
    )
    print(f"sounds: {dict(Counter(str(each.sound) for each in heard.sounds))}")
    print(f"counted words against their second (ms, up to a constant): {counted_late(heard)}")
    faults = [] if share >= GOAL else [f"not understood: {wrong}"]
    return faults + [f"said together: {each}" for each in covered(heard)]


def main(words: list[str]) -> int:
    heard = record(PLAN, RECORDINGS if "--recordings" in words else LIBRARY, "--plain" in words)
    print(f"the record: {heard.save()}")
    wrong = tell(heard)
    print("all as it should be" if not wrong else f"WRONG: {wrong}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
