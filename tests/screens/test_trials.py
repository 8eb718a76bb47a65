"""The screens of a function test, in a terminal of the usual size and in a large one."""

import pytest

SIZES = [(80, 24), (120, 40)]


@pytest.mark.parametrize("moment", ["question", "at_the_line", "stands", "count"])
async def test_each_moment_of_a_test_looks_as_it_was_kept(moment, demo, screen_picture, kept, sized):
    async with demo(f"trials.{moment}").run_test(size=SIZES[0]) as pilot:
        await pilot.app.arrange(pilot)
        for size in SIZES:
            name = await sized(pilot, size)
            assert screen_picture(pilot.app) == kept(name=name)
