"""The bare fonts, to look at."""

from textual.app import App, ComposeResult
from textual.widgets import Static

from holdtimer.screens.fit import digits, lettering


def demo_digits() -> App:
    class Digits(App):
        CSS = "Static { width: 1fr; height: auto; background: black; color: #f2ead8; }"

        def compose(self) -> ComposeResult:
            w, h = self.size
            if w < 100:
                rows = [("1234", "solid"), ("5689", "solid"), ("123678", "hollow")]
            elif w < 150:
                rows = [("01234", "solid"), ("56789", "solid"), ("01234", "hollow")]
            else:
                rows = [("0123456789", "solid"), ("0123456789", "hollow"), ("1:25", "hollow")]
            for text, style in rows:
                yield Static("\n".join(digits(text, w - 4, h // len(rows) - 1, style)) + "\n")

    return Digits()


def demo_letters() -> App:
    class Letters(App):
        CSS = "Static { width: 1fr; height: auto; background: black; color: #f2ead8; margin-bottom: 1}"

        def compose(self) -> ComposeResult:
            w = self.size.width
            texts = [
                "ABCDEFGHIJKLMN",
                "OPQRSTUVWXYZ",
                "01234 56789.,:;'!?-+/()",
                "I have failed",
                "Hands on the chair seat,",
            ]
            texts += ["ÄÉÈÊÑÅÇØÆŒÐÞß", "Hands on the chair seat, stand up."]
            for text in texts:
                yield Static("\n".join(lettering(text, w - 4, {80: 3, 120: 6, 200: 8}[w])))

    return Letters()
