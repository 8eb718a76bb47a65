"""Speech by the espeak-ng library that the package espeakng-loader carries; loaded through ctypes, offline.

The library is under the GPL, version 3 or later, and installed by the extra `voice` alone. To be used in a
process of its own: see `rendering`.
"""

import ctypes
from array import array
from importlib import import_module
from typing import Any

from holdtimer.sound.speakers import CannotSpeak, Speech

VOICE = "en-us+f2"
"""The voice that an offline recogniser understood best at 150 words a minute."""

# from speak_lib.h of espeak-ng
_SYNCHRONOUS, _DONT_EXIT = 2, 0x8000  # the callback comes on the thread that asks, and only while it does
_RATE = 1
_CHARS_UTF8 = 1
_POSITION_CHARACTER = 1

_Callback = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)


class EspeakLibrary:
    """Says any text. Raises CannotSpeak where the library is not whole."""

    def __init__(self, words_per_minute: int) -> None:
        self._heard: list[bytes] = []
        self._callback = _Callback(self._hear)  # kept, for the library calls it later
        try:
            loader: Any = import_module("espeakng_loader")
            self._library = ctypes.CDLL(loader.get_library_path())
            data = loader.get_data_path()
        except (ImportError, OSError, RuntimeError) as fault:
            raise CannotSpeak(f"the espeak-ng library can't be loaded: {fault}") from fault
        self._rate = self._begun(data, words_per_minute)
        self._library.espeak_Info.restype = ctypes.c_char_p
        version = (self._library.espeak_Info(None) or b"").decode("ascii", "replace")
        self.name = f"espeak-ng {version} {VOICE} {words_per_minute}"

    def _begun(self, data: str, words_per_minute: int) -> int:
        """Begin, and return the samples a second."""
        rate: int = self._library.espeak_Initialize(_SYNCHRONOUS, 0, data.encode(), _DONT_EXIT)
        if rate <= 0 or self._library.espeak_SetVoiceByName(VOICE.encode()) != 0:
            raise CannotSpeak("the espeak-ng library has no English voice")
        self._library.espeak_SetParameter(_RATE, words_per_minute, 0)
        self._library.espeak_SetSynthCallback(self._callback)
        return rate

    def _hear(self, samples: Any, count: int, _events: Any) -> int:
        if samples and count > 0:
            self._heard.append(ctypes.string_at(samples, 2 * count))
        return 0

    def say(self, text: str) -> Speech:
        """Return a text as speech. Raises CannotSpeak."""
        self._heard.clear()
        said = text.encode() + b"\0"
        size = ctypes.c_size_t(len(said))
        fault = self._library.espeak_Synth(said, size, 0, _POSITION_CHARACTER, 0, _CHARS_UTF8, None, None)
        if fault or self._library.espeak_Synchronize():
            raise CannotSpeak(f"the espeak-ng library failed at {text!r}")
        return array("h", b"".join(self._heard)), self._rate
