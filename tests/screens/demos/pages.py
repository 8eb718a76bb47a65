"""The pages of words around a session."""

from holdtimer.report.pages import cautions_page, early_page, hold_page, left_page, lost_page, symptom_page
from holdtimer.screens.app import HoldtimerApp
from holdtimer.screens.page import Page


def shown(words):
    async def story(app):
        await app.push_screen_wait(Page(words))
        return 0

    return HoldtimerApp(story)


def demo_cautions():
    return shown(cautions_page())


def demo_left():
    return shown(left_page("Chair and counter", "Stairs and standing up", 600))


def demo_gone():
    return shown(lost_page("walking-group/hall.toml", is_gone=True))


def demo_symptom():
    return shown(symptom_page())


def demo_hold():
    return shown(hold_page("something felt wrong on 4 March"))


def demo_early():
    return shown(early_page("20 hours since the last hard session", "tomorrow 17:00", "Loosen up"))
