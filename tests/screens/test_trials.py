"""The screens of a function test, in a terminal of the usual size and in a large one."""

import pytest

from holdtimer.sound.player import steady

SIZES = [(80, 24), (120, 40)]


@pytest.mark.parametrize("moment", ["question", "not_today", "at_the_line", "kept_rest", "stands", "count"])
async def test_each_moment_of_a_test_looks_as_it_was_kept(moment, demo, screen_picture, kept, sized):
    async with demo(f"trials.{moment}").run_test(size=SIZES[0]) as pilot:
        await pilot.app.arrange(pilot)
        for size in SIZES:
            name = await sized(pilot, size)
            assert screen_picture(pilot.app) == kept(name=name)


async def test_a_summary_of_tests_alone_offers_no_answers_and_a_tap_of_a_clicker_closes_it(demo):
    async with demo("trials.summary").run_test(size=SIZES[0]) as pilot:
        await pilot.app.arrange(pilot)
        summary = pilot.app.screen
        assert summary.hint() == ""
        summary.press("pagedown", steady() + 60)
        assert (summary._marked, summary._words.tap) == (0, "close")
        summary.press("space", steady() + 62)
        assert summary.is_over
