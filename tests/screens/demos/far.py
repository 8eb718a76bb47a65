"""The same moments in the far layout: clock, side, what a tap does."""

import importlib.util
from pathlib import Path

_spec = importlib.util.spec_from_file_location(
    "demos_session_for_far", Path(__file__).with_name("session.py")
)
_session = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(_session)


class FarStage(_session.Stage):
    """A session brought to one moment, seen from afar."""

    is_far = True


def _far(demo):
    return FarStage("chair-and-counter", "A", demo().play)


def demo_ready():
    return _far(_session.demo_ready)


def demo_easy():
    return _far(_session.demo_easy)


def demo_count_in():
    return _far(_session.demo_count_in)


def demo_working():
    return _far(_session.demo_working_left)


def demo_final_stretch():
    return _far(_session.demo_final_stretch)


def demo_failed():
    return _far(_session.demo_failed)


def demo_out():
    return _far(_session.demo_out)


def demo_way_back():
    return _far(_session.demo_way_back)


def demo_dropped():
    return _far(_session.demo_dropped)


def demo_unheard():
    return _far(_session.demo_unheard)


def demo_menu_out():
    return _far(_session.demo_menu_out)


def demo_rest():
    return _far(_session.demo_rest)


def demo_rest_over():
    return _far(_session.demo_rest_over)


def demo_asks():
    return _far(_session.demo_asks)
