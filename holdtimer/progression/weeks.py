"""Which script is due: the week of the program chooses, then the one done longest ago."""

from collections.abc import Sequence
from datetime import UTC, datetime

from holdtimer.program.models import EasyStep, Program, Script
from holdtimer.session.summary import SessionSummary


def week_of(own: Sequence[SessionSummary], now: datetime) -> int:
    """Return the week of the program: week 1 begins on the day of its first session, in the zone of `now`."""
    first = next((each.started for each in own if each.started is not None and was_done(each)), None)
    if first is None:
        return 1
    days = (now.date() - first.astimezone(now.tzinfo).date()).days
    return max(0, days) // 7 + 1


def scripts_of_week(program: Program, week: int) -> list[Script]:
    """Return the scripts that belong to a week, in file order; what was listed last goes on."""
    listed = sorted({each for script in program.scripts for each in script.weeks or ()})
    begun = [each for each in listed if each <= week]
    in_force = begun[-1] if begun else next(iter(listed), week)
    return [script for script in program.scripts if script.weeks is None or in_force in script.weeks]


def script_due(program: Program, own: Sequence[SessionSummary], week: int) -> Script:
    """Return the script that is due: of those that train the one done longest ago, then in file order.

    An easy day is due only in a week that has nothing else; at other times it is `easy_day`'s to suggest.
    """
    scripts = scripts_of_week(program, week)
    return _longest_ago([each for each in scripts if not is_easy(each)] or scripts, own)


def easy_day(program: Program, own: Sequence[SessionSummary], week: int) -> Script | None:
    """Return the easy day that could be done in a week, where the program has one."""
    scripts = [each for each in scripts_of_week(program, week) if is_easy(each)]
    return _longest_ago(scripts, own) if scripts else None


def is_easy(script: Script) -> bool:
    """Whether a script is an easy day: no exercise in it."""
    return all(isinstance(step, EasyStep) for step in script.steps)


def was_done(session: SessionSummary) -> bool:
    """Whether something of a session was done, beyond opening it."""
    return session.complete or session.is_hard or bool(session.results)


def was_led(session: SessionSummary) -> bool:
    """Whether something of a session was done here, and is not only known from paper."""
    return was_done(session) and not session.on_paper


def _longest_ago(scripts: list[Script], own: Sequence[SessionSummary]) -> Script:
    never = datetime.min.replace(tzinfo=UTC)
    last: dict[str, datetime] = {}
    for session in own:
        if session.started is not None and was_done(session):
            last[session.script] = session.started.astimezone(UTC)
    return min(scripts, key=lambda script: last.get(script.id, never))
