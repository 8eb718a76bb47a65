"""The words around a session: the cautions, the stop signs, and how times and sides are told."""

from holdtimer.script.timeline import PlannedSet

CAUTIONS: tuple[str, ...] = (
    "Ask your doctor or physiotherapist before you train to failure; their word and local rules go first.",
    "Have something solid to hold, a chair behind you, shoes that grip, and a phone within reach.",
    "Keep breathing: never hold your breath. Keep the room cool, with water at hand.",
    "Burning in the working muscle is expected. Sharp, new or joint pain is not: stop.",
    "Not today when you are ill, feverish, dizzy or unusually weak.",
)
STOP_SIGNS: tuple[str, ...] = (
    "pain, pressure or tightness in the chest, neck, jaw, arm or back",
    "fainting or nearly, dizziness, confusion",
    "breathlessness so that you cannot speak",
    "a racing or irregular heartbeat, cold sweat, sickness",
    "a sudden severe headache",
    "sudden weakness, numbness or tingling, trouble speaking, seeing or swallowing",
    "sharp or new pain in a joint, a severe cramp",
)
EMERGENCY = "Call the emergency number"
WHEN_EMERGENCY = (
    "when it is not better within minutes, and at once for chest pain, fainting or trouble speaking."
)
ON_HOLD = "This program is on hold until you say that it has settled or was checked."


def clock(seconds: float) -> str:
    """Return whole seconds counted up, as m:ss from 100 s on."""
    whole = int(seconds + 1e-6)
    return f"{whole // 60}:{whole % 60:02d}" if whole >= 100 else str(whole)


def countdown(seconds: float) -> str:
    """Return the seconds left, rounded up, as m:ss from 100 s on."""
    whole = max(0, -int(-(seconds - 1e-6) // 1))
    return clock(whole)


def side_words(part: PlannedSet) -> str:
    """Return the side of a set in words; empty where both work together."""
    return "" if part.side == "both" else part.side


def repetition_words(count: int) -> str:
    """Return how many repetitions were done, as the estimate it is."""
    return f"about {count} repetition{'' if count == 1 else 's'}"
