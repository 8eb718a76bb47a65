from textual.app import App, ComposeResult
from textual.widgets import Static


class Two(App):
    def compose(self) -> ComposeResult:
        yield Static("[bold]work[/bold] and [reverse]rest[/reverse]")


async def test_a_written_screen_names_its_size_its_text_and_its_styles(screen_picture):
    app = Two()
    async with app.run_test(size=(40, 3)):
        picture = screen_picture(app)
    rows = picture.splitlines()
    assert rows[0] == "40x3"
    assert rows[1] == "work and rest"
    assert rows[6].startswith("s0x4 s1x5 s2x4")
    assert "bold" in rows[10]
    assert "reverse" in picture or rows[12] != rows[11]


async def test_a_written_screen_is_the_same_in_every_run(screen_picture):
    pictures = set()
    for _ in range(2):
        app = Two()
        async with app.run_test(size=(80, 24)):
            pictures.add(screen_picture(app))
    assert len(pictures) == 1
