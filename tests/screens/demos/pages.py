"""The pages of words around a session."""

from dataclasses import replace
from datetime import timedelta

from holdtimer.program.loading import find, load
from holdtimer.progression.due import due
from holdtimer.report import pages
from holdtimer.report.due import due_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import Page
from tests.invented.six_weeks import ZONE, six_weeks

STOP = "Legs was stopped on Tuesday 3 March at 18:21 in set 2, Wall sit: something felt wrong."
PAIN = ("Heel raise, left", "pain on 4 March, at the easiest rung: paused")


def shown(words):
    async def story(app):
        await app.push_screen_wait(Page(words))
        return 0

    return HoldtimerApp(story)


def demo_cautions():
    return shown(pages.cautions_page())


def demo_left():
    return shown(pages.left_page("Chair and counter", "Stairs and standing up", 600))


def demo_gone():
    return shown(pages.lost_page("walking-group/hall.toml", is_gone=True))


def demo_symptom():
    return shown(pages.symptom_page())


def demo_hold():
    return shown(pages.hold_page([STOP], is_today=False))


def demo_hold_today():
    stop = "Legs was stopped today at 18:21 in set 2, Wall sit: something felt wrong."
    return shown(pages.hold_page([stop], is_today=True))


def demo_settled():
    return shown(pages.settled_page())


def demo_checked():
    return shown(pages.checked_page([STOP]))


def demo_paused():
    return shown(pages.paused_page([PAIN]))


def demo_restore():
    return shown(pages.restore_page([PAIN]))


def demo_today():
    loaded = load(find("chair-and-counter"))
    past = [each.past for each in six_weeks(loaded, weeks=2)]
    coming = due(loaded.program, past, past[-1].ended.astimezone(ZONE) + timedelta(days=3))
    keys = (("p", "another program"), ("w", "somebody else"))
    return shown(replace(due_page(coming, loaded.program, "Ada"), keys=keys))


def demo_early():
    warning = "44 h since your last hard session ended"
    return shown(pages.early_page(warning, "today from 18:21", "Loosen up"))
