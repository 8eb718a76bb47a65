"""`run`: lead a session, on the full screen or as plain lines."""

from argparse import Namespace

from holdtimer.cli.screen import needs_screen


def run(args: Namespace) -> int:
    """Lead one session and return how it ended. Raises BadInput and what makes the session impossible."""
    if args.close:
        from holdtimer.cli.wanted import close_left

        return close_left(args)
    if args.plain:
        from holdtimer.cli.plainly import lead_plainly

        return lead_plainly(args)
    needs_screen("the full screen needs a terminal; --plain runs the same session as lines of text")
    from holdtimer.cli.on_screen import on_screen

    return on_screen("run_story", args)
