"""Draw demo screens as PNG, by hand: `python -m tests.bench.pictures OUT_FOLDER [NAME ...]`.

A NAME may be the beginning of one; all are drawn when left out. Add a screen: a function `demo_NAME() -> App`
in a file of `tests/screens/demos/`; its name here is `FILE.NAME`. An app may carry `async def arrange(pilot)`
to bring itself to the moment of the picture. Needs Pillow beside what the tests need, and DejaVu Sans Mono
(or `--font`). Block elements are drawn as exact parts of their cell, as terminals draw them.
"""

import argparse
import asyncio
import importlib.util
import os
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont
from rich.color import Color
from rich.style import Style
from textual.app import App

CELL_W, CELL_H, FONT_SIZE = 12, 24, 20
SIZES = [(80, 24), (120, 40), (200, 60)]
INK, FIELD = (255, 255, 255), (0, 0, 0)

HALVES = {"▀": (0, 0, 1, 1 / 2), "▐": (1 / 2, 0, 1, 1), "▔": (0, 0, 1, 1 / 8), "▕": (7 / 8, 0, 1, 1)}
TL, TR, BL, BR = 1, 2, 4, 8
QUADRANTS = {
    "▘": TL, "▝": TR, "▖": BL, "▗": BR, "▚": TL | BR, "▞": TR | BL,
    "▛": TL | TR | BL, "▜": TL | TR | BR, "▙": TL | BL | BR, "▟": TR | BL | BR,
}  # fmt: skip


def conftest():
    """The helpers the tests of the screens share."""
    path = Path(__file__).parent.parent / "screens" / "conftest.py"
    spec = importlib.util.spec_from_file_location("screens_conftest", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def parts(character):
    """The filled boxes (left, top, right, bottom) of a block element in parts of its cell, else None."""
    code = ord(character)
    if 0x2581 <= code <= 0x2588:
        return [(0, 1 - (code - 0x2580) / 8, 1, 1)]
    if 0x2589 <= code <= 0x258F:
        return [(0, 0, (0x2590 - code) / 8, 1)]
    if character in "▀▐▔▕":
        return [
            {"▀": (0, 0, 1, 0.5), "▐": (0.5, 0, 1, 1), "▔": (0, 0, 1, 1 / 8), "▕": (7 / 8, 0, 1, 1)}[
                character
            ]
        ]
    if character in QUADRANTS:
        corners = {TL: (0, 0), TR: (0.5, 0), BL: (0, 0.5), BR: (0.5, 0.5)}
        return [(x, y, x + 0.5, y + 0.5) for bit, (x, y) in corners.items() if QUADRANTS[character] & bit]
    return None


def rgb(colour: Color | None, otherwise):
    """A colour as three numbers; the terminal's own default is `otherwise`."""
    return otherwise if colour is None or colour.is_default else tuple(colour.get_truecolor())


def colours(style: Style):
    """The ink and the field of a cell, after reverse and dim."""
    ink, field = rgb(style.color, INK), rgb(style.bgcolor, FIELD)
    if style.reverse:
        ink, field = field, ink
    if style.dim:
        ink = tuple((a + b) // 2 for a, b in zip(ink, field, strict=True))
    return ink, field


def draw_cell(draw, fonts, x, y, character, style):
    """One character on its field."""
    ink, field = colours(style)
    draw.rectangle((x, y, x + CELL_W - 1, y + CELL_H - 1), fill=field)
    boxes = parts(character)
    if boxes is None:
        draw.text((x, y + 1), character, fill=ink, font=fonts[bool(style.bold)])
        if style.underline:
            draw.line((x, y + CELL_H - 3, x + CELL_W - 1, y + CELL_H - 3), fill=ink)
    for left, top, right, bottom in boxes or []:
        draw.rectangle(
            (x + left * CELL_W, y + top * CELL_H, x + right * CELL_W - 1, y + bottom * CELL_H - 1), fill=ink
        )


def draw_screen(lines, size, fonts):
    """The whole screen as an image."""
    image = Image.new("RGB", (size[0] * CELL_W, size[1] * CELL_H), FIELD)
    draw = ImageDraw.Draw(image)
    for row, line in enumerate(lines):
        column = 0
        for segment in line:
            for character in segment.text:
                draw_cell(draw, fonts, column * CELL_W, row * CELL_H, character, segment.style or Style())
                column += 1
    return image


async def picture(make, size, theme, helpers, fonts):
    """Run a demo at one size, in one theme, and draw what it shows."""
    app: App = make()
    app.theme = theme or app.theme
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        if arrange := getattr(app, "arrange", None):
            await arrange(pilot)
            await pilot.pause()
        return draw_screen(helpers.screen_lines(app), size, fonts)


def arguments():
    """What was asked for."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("out", type=Path)
    parser.add_argument("names", nargs="*", help="demo names or their beginnings; all when left out")
    parser.add_argument("--size", action="append", help="such as 80x24; three usual sizes when left out")
    parser.add_argument("--theme", help="evening, daylight or two-tone; the demo's own when left out")
    parser.add_argument("--font", default="DejaVuSansMono.ttf")
    parser.add_argument("--bold", default="DejaVuSansMono-Bold.ttf")
    return parser.parse_args()


def main():
    """Draw every chosen demo at every chosen size, as a terminal with all colours shows it."""
    os.environ |= {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
    os.environ.pop("NO_COLOR", None)
    asked = arguments()
    os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
    helpers = conftest()
    fonts = [ImageFont.truetype(name, FONT_SIZE) for name in (asked.font, asked.bold)]
    sizes = [tuple(map(int, size.split("x"))) for size in asked.size or []] or SIZES
    asked.out.mkdir(parents=True, exist_ok=True)
    for name, make in helpers.demos().items():
        if asked.names and not name.startswith(tuple(asked.names)):
            continue
        for size in sizes:
            wanted = f"{name}-{asked.theme}" if asked.theme else name
            path = asked.out / f"{wanted}-{size[0]}x{size[1]}.png"
            asyncio.run(picture(make, size, asked.theme, helpers, fonts)).save(path)
            print(path)


if __name__ == "__main__":
    main()
