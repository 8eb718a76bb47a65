"""A page that needs nothing but itself: no script, nothing from outside, every text escaped."""

from importlib.resources import files

import htpy as h

# whatever a browser may once learn to fetch or run, this page asks for none of it
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_HEAD = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8">'
    '<meta name="generator" content="holdtimer {}">'
)


def beginning(kind: str) -> str:
    """Return how all pages of a kind begin."""
    return _HEAD.format(kind)


def document(kind: str, title: str, body: h.Node) -> str:
    """Return a whole page; `kind` is the class of its body in `page.css`."""
    # it holds nothing that has to be escaped: a browser would not read that back in a style
    style = files("holdtimer.report").joinpath("page.css").read_text(encoding="utf-8")
    rest = h.fragment[
        h.meta(http_equiv="Content-Security-Policy", content=_POLICY),
        h.meta(name="viewport", content="width=device-width, initial-scale=1"),
        h.meta(name="referrer", content="no-referrer"),
        h.title[title],
        h.style[style],
    ]
    return f"{beginning(kind)}{rest}</head>{h.body(class_=kind)[body]}</html>\n"
