"""`run`: lead a session, on the full screen or as plain lines."""

from argparse import Namespace

from holdtimer.cli.output import needs_screen


def run(args: Namespace) -> int:
    """Lead one session and return how it ended. Raises BadInputError and whatever makes it impossible."""
    if args.close:
        from holdtimer.cli.run_request import close_left

        return close_left(args)
    if args.plain:
        from holdtimer.cli.run_plain import lead_plainly

        return lead_plainly(args)
    needs_screen("the full screen needs a terminal; --plain runs the same session as lines of text")
    from holdtimer.cli.full_screen import on_screen

    return on_screen("run_screen", args)
