"""The words beside and under a set: what its items take, and what answers change."""

from rich.text import Text

from holdtimer.report.review import Changed, Difference, Item


def _link(action: str, *keys: str) -> str:
    """Return keys in Textual's markup, each of which does the action when clicked."""
    return " ".join(f"[@click=screen.{action}] {key} [/]" for key in keys)


_NO_ANSWER = f"{_link('clear', 'backspace')} no answer"
_WHOLE = " ".join((_link("step('-1')", "←"), _link("step('1')", "→")))
_TENTHS = " ".join((_link("step('-0.1')", ","), _link("step('0.1')", ".")))
_SLIP, _ALONE = _link("take_out('slip')", "x"), _link("take_out('removed')", "X")
_HINTS = {
    "removed": f"{_link('put_back', 'r')} puts back what was taken out",
    "add": f"{_link('add', 'a')} adds a tap that is missing",
    "stamp": f"{_WHOLE} 1 s  {_TENTHS} 0.1 s  {_SLIP} slip, with the next tap  {_ALONE} this alone",
    "seconds": f"{_WHOLE} 1 s  {_TENTHS} 0.1 s  {_link('change', 'Enter')} types it  {_NO_ANSWER}",
    "yes-no": f"{_link('yes_no(True)', 'y')} yes  {_link('yes_no(False)', 'n')} no  {_NO_ANSWER}",
    "scale": f"{_WHOLE} less, more  {_link('change', 'Enter')} types it  {_NO_ANSWER}",
    "text": f"{_link('change', 'Enter')} types it  {_NO_ANSWER}",
}


def hint(item: Item) -> str:
    """Return what an item takes, in Textual's markup: the keys can be clicked."""
    return _HINTS.get(item.kind) or _HINTS[item.question.kind if item.question is not None else "text"]


def change_text(found: Difference | None) -> Text:
    """Return what answers change in what is due, in words."""
    text = Text("What this changes\n", style="bold")
    if found is None:
        return text.append("\ncan't say what is due next: the program is missing", "not bold")
    if found.is_none:
        text.append("Nothing. Due next:\n", "not bold")
    for each in filter(None, (found.own, *found.others)):
        _write(text, each)
    text.append(f"\n{found.when}\n", "not bold")
    if found.was_when:
        text.append(f"  was: {found.was_when}\n", "not bold")
    return text


def _write(text: Text, each: Changed) -> None:
    text.append(f"\n{each.name}: {each.now}\n")
    text.append(f"{each.because}\n", "not bold")
    if each.differs:
        was = ": ".join(filter(None, (each.was, each.was_because)))
        text.append(f"was {was}\n", "not bold italic")
