"""A real session, recorded, and what an offline recogniser understands of it. Run by hand.

    python tests/bench/bench_voice.py [SPEAKER]

Needs Linux with PulseAudio and the packages pocketsphinx and, unless SPEAKER is "recordings",
espeakng-loader. Starts a sound server of its own with a sink that leads nowhere, leads a session in real time
with taps of its own, and records what the sink was given. A recogniser with a small grammar (the sayings of
the session, each with every number) then listens to each of them; and no sound may lie within one. Takes
about four minutes.
"""

import re
import sys
import tempfile
import time
import wave
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from bench_sound import Record, sound_server, start_in
from pocketsphinx import Decoder

from holdtimer.live.clock import SteadyClock
from holdtimer.live.opening import Means, Opening, open_new
from holdtimer.live.sounding import Speech
from holdtimer.script.loading import loads
from holdtimer.sound.apart import PlayerApart
from holdtimer.sound.helper import command, started
from holdtimer.sound.names import Sound
from holdtimer.sound.patterns import PATTERNS
from holdtimer.sound.phrases import FAILED_AT, LAST_TIME, SECONDS, SMALL, number
from holdtimer.sound.player import Pace, steady
from holdtimer.sound.samples import RATE, read_speech
from holdtimer.sound.shaping import shaped
from holdtimer.sound.speakers import LIBRARY, RECORDINGS
from holdtimer.sound.speaking import SOFT
from holdtimer.sound.voice_apart import VoiceApart

GOAL = 0.95
HEARD_RATE = 16_000
JOINED_S = 0.1  # pieces nearer to each other are one saying
PROGRAM = """\
format = 1
id = "hall"
title = "Village hall"

[defaults]
window_s = 45
band_s = [20, 45]
final_s = 30
count_in_s = 8
rest_s = 30
side_rest_s = 30
push_s = 3

[exercises.wall-sit]
name = "Wall sit"
kind = "hold"
sides = "both"
needs = ["a clear wall", "a steady chair"]
setup = ["Back flat on the wall", "Chair in front of your knees"]
failure = "You slide down."
way_out = "Hands on the chair, stand up."
back_in = "Hands on the seat, slide down again."
ladder = ["hips high", "half way"]

[exercises.heel-raise]
name = "Heel raise"
kind = "reps"
sides = "each"
first_side = "left"
tempo = "3-1-2-0"
push_s = 0
needs = ["the kitchen counter"]
setup = ["Both hands flat on the counter"]
failure = "The heel no longer clears the floor."
way_out = "Both feet down, both hands hold."
back_in = "Hands flat, rise again."
ladder = ["both hands", "one hand"]

[[scripts]]
id = "A"
title = "Legs"
steps = [{exercise = "wall-sit"}, {exercise = "heel-raise"}]
"""
# seconds after a window opens at which to tap; the last window is left to run out and then confirmed
TAPS = ((12.4, 24.0, 41.2), (9.3, 21.7, 33.1), ())


@dataclass
class Noting:
    """A player that hands everything on, and notes what was to be heard in the end."""

    player: PlayerApart
    name: str = "noting"
    sounds: list[tuple[float, Sound]] = field(default_factory=list)
    speech: list[tuple[float, Path]] = field(default_factory=list)
    hushed: list[float] = field(default_factory=list)

    def schedule(self, sound, at):
        self.sounds.append((max(at, steady()), sound))
        self.player.schedule(sound, at)

    def say(self, speech, at):
        self.speech.append((max(at, steady()), speech))
        self.player.say(speech, at)

    def hush(self):
        self.hushed.append(steady())
        self.player.hush()

    def withdraw(self, after):
        self.sounds = [each for each in self.sounds if each[0] <= after]
        self.speech = [each for each in self.speech if each[0] <= after]
        self.player.withdraw(after)

    def trouble(self):
        return self.player.trouble()


def lead(player, voice, data):
    """Lead the session in real time with the taps, until it is over."""
    means = Means(Path(data), "me", SteadyClock(), player, speech=Speech(voice, {("wall-sit", "both"): 38.2}))
    with open_new(means, loads(PROGRAM, "hall.toml"), Opening(script="A", last=means.speech.last)) as run:
        driver, taps, last = run.driver, [], ""
        run.begin()
        while not driver.is_done:
            session = driver.engine.session
            name = f"{session.phase} {len(session.sets)}"
            if name != last:
                last = name
                taps = _taps_of(session)
                print(f"  {session.phase}", flush=True)
            if taps and driver.now() >= taps[0]:
                driver.key("space", steady())
                taps.pop(0)
            driver.tick()
            time.sleep(0.01)
        while driver.is_speaking():
            time.sleep(0.1)
        time.sleep(1.0)


def _taps_of(session):
    if session.phase == "window":
        return [session.since + at for at in TAPS[len(session.sets) - 1]]
    if session.phase == "ready":
        return [session.since + 22.0]
    if session.phase == "rest":
        return [session.since + 8.0, session.since + 34.0] if session.asking else [session.since + 25.0]
    return []


def sayings_of(noted, texts):
    """Return what was said to its end, as (start, end, words)."""
    found = []
    for at, path in sorted(noted.speech):
        over = at + len(read_speech(path)) / RATE
        end = min([over, *(each for each in noted.hushed if each > at)])
        if found and at - found[-1][1] < JOINED_S and not found[-1][3]:
            found[-1] = (found[-1][0], end, f"{found[-1][2]} {texts[path]}", end < over)
        else:
            found.append((at, end, texts[path], end < over))
    return [(start, end, plain(words)) for start, end, words, is_cut in found if not is_cut]


def plain(text):
    return " ".join(re.findall(r"[a-z']+", text.lower()))


def recogniser(said):
    """Return a decoder that knows what a session says, with every number there could be."""
    numbers = [plain(" ".join(number(count))) for count in range(100)]
    lines = {*said, *SMALL[1:11], *(f"{FAILED_AT} {each}" for each in numbers)}
    lines |= {f"{LAST_TIME} {each} {SECONDS}" for each in numbers}
    decoder = Decoder(lm=None, samprate=HEARD_RATE, loglevel="FATAL")
    unknown = {word for line in lines for word in line.split() if decoder.lookup_word(word) is None}
    assert not unknown, f"the recogniser has no such words: {unknown}"
    decoder.add_jsgf_string("said", f"#JSGF V1.0; grammar said; public <said> = {' | '.join(sorted(lines))};")
    decoder.activate_search("said")
    return decoder


def understood(decoder, samples):
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), False, True)
    decoder.end_utt()
    best = decoder.hyp()
    return best.hypstr if best else ""


def heard(record, begin, start, end):
    """Return a stretch of the record as the recogniser takes it, with the faint noise of a room."""
    first, last = (round((at - begin) * RATE) for at in (start - 0.10, end + 0.08))
    piece = shaped(record[first:last].astype(np.int16), RATE, HEARD_RATE)
    quiet = np.zeros(HEARD_RATE // 4)
    padded = np.concatenate([quiet, np.array(piece, dtype=float), quiet])
    return (padded + np.random.default_rng(1).normal(0, 20, len(padded))).clip(-32768, 32767).astype(np.int16)


def covered(said, noted):
    """Return the sayings that some sound is heard within."""
    spans = [(at, at + PATTERNS[sound].length_s, str(sound)) for at, sound in noted.sounds]
    return [(each, sound) for each in said for a, b, sound in spans if a < each[1] and each[0] < b]


def main(speaker):
    with sound_server(), tempfile.TemporaryDirectory() as folder:
        record = Record()
        player = PlayerApart("miniaudio", Pace(steady))
        player.open()
        noted = Noting(player)
        words = (speaker, "150", "1.0", f"{folder}/voice")
        voice = VoiceApart([speaker], lambda _: started(command("rendering", *words)))
        lead(noted, voice, f"{folder}/data")
        samples, begin = record.stop()
        texts = {path: text for text, (path, _) in voice._ready.items()}
        said = sayings_of(noted, texts)
        counted = counted_late(noted, texts, samples, begin)
    player.close()
    save(samples)
    decoder = recogniser({words for _, _, words in said})
    wrong = []
    for start, end, words in said:
        got = understood(decoder, heard(samples, begin, start, end))
        mark = " " if got == words else "X"
        wrong += [] if got == words else [(words, got)]
        print(f"{mark} {start - said[0][0]:7.2f}  {words}" + ("" if got == words else f"  -- {got}"))
    print(f"speaker {speaker}: {len(said) - len(wrong)} of {len(said)} sayings understood "
          f"({1 - len(wrong) / len(said):.1%}, goal {GOAL:.0%}); wrong: {wrong}")  # fmt: skip
    print(f"covered by a sound: {covered(said, noted)}")
    print(f"sounds heard: {dict(Counter(str(sound) for _, sound in noted.sounds))}")
    print(f"counted words against their second (ms, up to a constant): {counted}")


def counted_late(noted, texts, samples, begin):
    """Return how late each counted word starts, in ms, by where its samples are found in the record."""
    late = [
        start_in(samples, begin, at, np.array(read_speech(path), dtype=float))
        for at, path in noted.speech
        if texts[path] in SMALL[1:6]
    ]
    return [round(float(each), 2) for each in late]


def save(samples):
    """Keep the record to listen to."""
    path = Path(tempfile.gettempdir()) / "holdtimer-session.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(samples.astype(np.int16).tobytes())
    print(f"the record: {path}; soft sounds that gave way or were kept: {sorted(SOFT)}")


if __name__ == "__main__":
    main(RECORDINGS if sys.argv[1:] == [RECORDINGS] else LIBRARY)
