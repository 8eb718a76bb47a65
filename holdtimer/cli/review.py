"""`review`: see and put right what was recorded, in full screen."""

from argparse import Namespace

from holdtimer.cli.output import needs_screen
from holdtimer.cli.paths import bundled_programs, data_folder, last_program, person_named
from holdtimer.config import read_config
from holdtimer.errors import ExitCode
from holdtimer.program.models import Program


def review(args: Namespace) -> int:
    """Show the sessions of a person and take corrections. Raises BadInputError and NoSuchSessionError."""
    needs_screen("this needs a terminal; see `holdtimer show`, `holdtimer next` and `holdtimer trend`")
    data = data_folder(args)
    person = person_named(args, data)
    from holdtimer.cli.reports import named_session

    log = named_session(args, data, person) if args.session else None
    own = read_config(person).values

    def programs() -> list[Program]:
        last = last_program(data, person)
        return [each.program for each in (*bundled_programs(), *([last] if last is not None else []))]

    from holdtimer.cli.fallback_save import answers_saved
    from holdtimer.live.review import Review
    from holdtimer.screens.review.sessions import ReviewApp

    found = Review(data, person, programs, group=own.function_group)
    app = ReviewApp(found, log.session if log is not None else None, own.theme)
    try:
        code = app.run()
    finally:
        found.close_all()
    if app.fault is not None:
        raise app.fault
    code = code if code is not None else app.return_code or ExitCode.STOPPED
    for book in found.unsaved:
        code = answers_saved(book, code)
    return code
