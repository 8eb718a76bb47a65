"""Verdicts in words, beside the sets they were given for."""

from collections.abc import Mapping

from holdtimer.progression.history import Key
from holdtimer.progression.verdicts import Verdict
from holdtimer.report.session_json import Verdicts
from holdtimer.session.past import PastSession


def by_set(session: PastSession, verdicts: Mapping[Key, Verdict]) -> Verdicts:
    """Return the verdicts by the number of the set they rest on: the first one of an exercise and side."""
    found: Verdicts = {}
    told: set[Key] = set()
    for result in session.results:
        key = (result.exercise, result.side)
        if key in verdicts and key not in told:
            told.add(key)
            found[result.set] = (verdicts[key].word, verdicts[key].because)
    return found
