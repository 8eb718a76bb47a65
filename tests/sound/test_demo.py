from holdtimer.sound.patterns import PATTERNS, SOUND_TEXTS, Sound
from holdtimer.sound.players import play_all
from tests.invented.recording import RecordingPlayer


def test_every_sound_is_named_explained_and_played_once_and_has_time_to_sound() -> None:
    player, said, waited = RecordingPlayer(), [], []
    play_all(player, said.append, waited.append)
    assert said == [f"{sound.value} - {SOUND_TEXTS[sound]}" for sound in Sound]
    assert [sound for sound, _ in player.asked] == list(Sound)
    assert all(wait > PATTERNS[sound].length_s for sound, wait in zip(Sound, waited, strict=True))


def test_what_is_not_heard_is_said() -> None:
    player, said = RecordingPlayer(), []
    player.in_trouble = "the sound device has stopped"
    play_all(player, said.append, lambda seconds: None)
    assert said.count("not heard: the sound device has stopped") == len(Sound)


def test_each_text_is_one_of_its_own() -> None:
    assert set(SOUND_TEXTS) == set(Sound)
    assert len(set(SOUND_TEXTS.values())) == len(Sound)
