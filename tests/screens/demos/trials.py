"""Function tests on screen: the questions, the waiting at the line, the trial, and what it came to."""

from tests.screens.demos.session import Stage


class Tested(Stage):
    """A stage with the tests of every four weeks."""

    def __init__(self, play):
        super().__init__("every-four-weeks", "T", play)

    def begin(self):
        """Go on to the first question of the first test."""
        self.wait(2)
        self.tap()
        self.wait(62)
        self.tap()
        self.wait(1)

    def answer_all(self, no=""):
        """Say yes to every question but one."""
        while self.driver.engine.session.question is not None:
            self.wait(2.5)
            put = self.driver.engine.session.question.question
            self.tap("backspace" if put == no else "space")
            self.wait(0.5)

    def at_the_line(self):
        self.begin()
        self.answer_all()
        self.wait(2)

    def at_go(self):
        self.at_the_line()
        self.tap()
        self.wait(5.5)

    def stands(self, count):
        for _ in range(count):
            self.wait(2.5)
            self.tap()


def demo_question():
    return Tested(lambda s: (s.begin(), s.wait(2)))


def demo_long_question():
    def play(s):
        s.begin()
        for _ in range(2):
            s.wait(2.5)
            s.tap()
        s.wait(2)

    return Tested(play)


def demo_at_the_line():
    return Tested(Tested.at_the_line)


def demo_go():
    return Tested(lambda s: (s.at_the_line(), s.tap(), s.wait(2.5)))


def demo_stands():
    return Tested(lambda s: (s.at_go(), s.stands(7), s.wait(1)))


def demo_count():
    return Tested(lambda s: (s.at_go(), s.stands(11), s.wait(12)))


def demo_not_today():
    def play(s):
        s.begin()
        s.wait(2.5)
        s.tap("backspace")
        s.wait(1)

    return Tested(play)


def demo_next_test():
    return Tested(lambda s: (s.at_go(), s.stands(11), s.wait(7), s.tap(), s.wait(3)))


def demo_walk():
    def play(s):
        s.at_go()
        s.stands(3)
        for n in range(3):  # leave out what comes before the walk
            s.wait(6)
            for key in ("escape", *(["down"] if n == 0 else ["down", "down"]), "enter"):
                s.tap(key)
                s.wait(1)
        s.wait(310)
        s.tap()
        s.wait(1)
        s.answer_all()
        s.wait(2)
        s.tap()
        s.wait(11)

    return Tested(play)
