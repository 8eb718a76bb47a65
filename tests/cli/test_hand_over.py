"""What is handed on, the page, the calendar and the sheet of paper, read back as others would read it."""

import csv
import io
import re
import stat
import time
import zipfile
from datetime import datetime, timedelta
from html.parser import HTMLParser
from importlib.resources import files
from itertools import count, pairwise
from pathlib import Path

import pytest
from icalendar import Calendar

from holdtimer.log.csv_file import COLUMNS
from holdtimer.report.text import CAUTIONS, STOP_SIGNS
from tests.tables import every

KEPT = Path(__file__).with_name("kept_2026_11.zip")
WALKER = ("--person", "Invented Walker")
AT = "2026-04-12T12:00:00+02:00"
TOLD = (
    "Training record of Invented Walker", "Chair and counter", "off day", "95 % interval", "no tap",
    "was a slip of the key", "a sharp pull on the way up", "Left out: pain on",
)  # fmt: skip
VOID = {"meta", "br", "col"}
TAGS = {
    "html", "head", "meta", "title", "style", "body", "header", "main", "footer", "section", "article", "div",
    "h1", "h2", "h3", "p", "b", "ul", "ol", "li", "dl", "dt", "dd", "table", "caption", "thead", "tbody",
    "tr", "th", "td", "span", "code", "pre", "svg", "desc", "rect", "line", "path", "circle", "g", "text",
}  # fmt: skip
HOSTILE = '"><script>a()</script><img onload=b>;,\\n'
HOSTILE_HALL = f"""\
format = 1
id = "hall"
title = '''{HOSTILE} title'''
about = '''{HOSTILE} about'''
[exercises.wall-sit]
name = '''{HOSTILE} name'''
kind = "hold"
sides = "each"
needs = ['''{HOSTILE} need''']
setup = ['''{HOSTILE} setup''']
failure = '''{HOSTILE} failure'''
way_out = '''{HOSTILE} way'''
back_in = '''{HOSTILE} back'''
ladder = ['''=2+2,{HOSTILE} rung''', {{rung = "low", how = '''{HOSTILE} how'''}}]
[[scripts]]
id = "A"
title = '''{HOSTILE} script'''
steps = [{{easy = '''{HOSTILE} easy''', seconds = 60}}, {{exercise = "wall-sit"}}]
"""


class Page(HTMLParser):
    """A page as its elements: (tag, attributes) in order, the text of each kind, and what was left open."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.open, self.text, self.of = [], [], "", {}
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        self.of.setdefault(tag, []).append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data
        for tag in set(self.open):
            self.of[tag][-1] += data

    def every(self, *tags):
        return [attrs for tag, attrs in self.elements if tag in tags]


def lines_of(calendar):
    """The content lines of a calendar file, unfolded, once the bytes keep the rules of RFC 5545, 3.1."""
    raw = calendar.encode()
    assert raw.endswith(b"\r\n")
    assert not re.search(rb"[^\r]\n|\r[^\n]", raw)
    assert max(map(len, raw.split(b"\r\n"))) <= 75
    assert all(line.decode() is not None for line in raw.split(b"\r\n"))  # no character is cut in two
    return raw.replace(b"\r\n ", b"").decode().split("\r\n")[:-1]


def events_of(calendar):
    lines_of(calendar)
    return {str(each["uid"]): each for each in Calendar.from_ical(calendar).walk("VEVENT")}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The data folder that was kept; nothing here writes into it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "Europe/Berlin")
        time.tzset()
        path = tmp_path_factory.mktemp("kept")
        with zipfile.ZipFile(KEPT) as archive:
            archive.extractall(path)
        yield path / "data"
    time.tzset()


@pytest.fixture
def paper(call, hall, tmp_path):
    """Import rows of paper, the columns named first."""

    def paper(*rows, program=hall):
        file = tmp_path / "rows.csv"
        file.write_text("\n".join(["started,exercise,side,rung,first_failure_s,stopped,note", *rows]) + "\n")
        said = call("import", file, program)
        assert said.code == 0, said.err

    return paper


@pytest.fixture
def export(call, tmp_path):
    """Return what `export` writes, byte for byte; what it says where that ends with another code."""
    names = (str(tmp_path / f"{number}.out") for number in count())

    def export(*args, code=0):
        name = next(names)
        said = call("export", *args, "-o", name)
        assert said.code == code, said.err
        return said.err if code else Path(name).read_bytes().decode()

    return export


def check_page(page):
    """A page of ours runs nothing, fetches nothing, and can be read to somebody."""
    assert page.open == []
    assert {tag for tag, _ in page.elements} <= TAGS
    names = {name for _, attrs in page.elements for name in attrs}
    assert not {name for name in names if name.startswith("on")} & names
    assert not names & {"href", "src", "style", "srcset", "action"}
    assert not re.search(r"url\(|@import", "".join(page.of["style"]))
    policy = next(each["content"] for each in page.every("meta") if "http-equiv" in each)
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline';")
    assert page.every("html")[0]["lang"] == "en"
    headings = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h\d", tag)]
    assert headings[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(headings))
    assert headings.count(1) == 1
    assert all(each.get("scope") in ("row", "col") for each in page.every("th"))
    ids = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(ids) == len(set(ids))
    for drawing in page.every("svg"):
        assert drawing["role"] == "img"
        assert set(drawing["aria-labelledby"].split()) <= set(ids)


def test_the_page_tells_the_weeks_and_needs_nothing_else(folder, export):
    text = export("html", "--data", folder, "--at", AT, *WALKER)
    page = Page(text)
    check_page(page)
    said = " ".join(page.text.split())
    assert said.count("at least 90 s") > 3
    assert [words for words in TOLD if words not in said] == []
    assert all(words in said for words in (*STOP_SIGNS, *CAUTIONS))
    rows = [each for each in page.every("th") if each["scope"] == "row"]
    assert len(rows) == 14
    assert len(page.every("svg")) == len(page.every("td")) + len(page.every("article"))
    assert "function" not in said  # there is none yet


def test_fewer_weeks_show_fewer_sessions(export, hall, paper):
    paper("2026-01-05 18:00,wall-sit,both,low,40,,", "2026-01-10 18:00,wall-sit,both,low,41,,")
    for weeks, days in ((2, ["5 January 18:00 · on paper", "10 January 18:00 · on paper"]), (1, [])):
        page = Page(export("html", hall, "--at", "2026-01-18T12:00", "--weeks", weeks))
        assert [text for text in page.of.get("th", ()) if "January" in text] == days


def test_whoever_has_done_nothing_gets_a_page_and_a_plan(export, hall):
    page = Page(export("html", hall))
    check_page(page)
    assert "No session in this time." in page.text
    assert len(events_of(export("ics", hall))) == 12
    assert "name a program: holdtimer export html" in export("html", code=2)


def test_hostile_text_is_text_in_page_calendar_and_sheet(export, paper, tmp_path):
    program = tmp_path / "hostile.toml"
    program.write_text(HOSTILE_HALL)
    note = HOSTILE.replace('"', '""')
    rung = f"=2+2,{HOSTILE} rung".replace('"', '""')
    paper(f'2026-01-05 18:00,wall-sit,left,"{rung}",50,,"{note} note"', program=program)
    whose = ("--person", f"Ada {HOSTILE}")
    page = Page(export("html", program, "--at", "2026-01-06"))
    for words in ("title", "about", "name", "rung", "script", "note"):
        assert f"{HOSTILE} {words}" in page.text
    sheet = Page(export("sheet", program, *whose))
    for words in ("title", "need", "setup", "failure", "way", "back", "script", "easy"):
        assert f"{HOSTILE} {words}" in sheet.text
    assert f"For Ada {HOSTILE} alone" in sheet.text
    for each in (page, sheet):
        check_page(each)
    calendar = export("ics", program, *whose, "--details")
    first = next(iter(events_of(calendar).values()))
    assert str(first["summary"]) == f"{HOSTILE} title: {HOSTILE} script"
    assert f"{HOSTILE} name, left: =2+2,{HOSTILE} rung" in str(first["description"]).splitlines()
    assert {line.partition(":")[2] for line in lines_of(calendar) if line.startswith("BEGIN")} == {
        "VCALENDAR",
        "VEVENT",
    }


def test_the_style_of_pages_has_nothing_that_escaping_would_spoil():
    assert not set(files("holdtimer.report").joinpath("page.css").read_text()) & set("<>&\"'")


def test_a_session_keeps_its_uid_and_its_sequence_rises_only_when_it_moves(export, hall, paper):
    paper("2026-01-05 18:00,wall-sit,both,low,40,,")

    def planned(at):
        found = events_of(export("ics", hall, "--at", at))
        return [(uid, int(each["sequence"]), each["dtstart"].dt) for uid, each in found.items()]

    first = planned("2026-01-06T12:00")
    assert len({uid for uid, _, _ in first}) == len(first) >= 11
    assert first == planned("2026-01-07T12:00")[: len(first)]
    missed = planned("2026-01-09T23:00")
    for (uid, sequence, start), (uid_then, sequence_then, start_then) in zip(first, missed, strict=False):
        assert uid_then == uid
        assert sequence_then > sequence
        assert start_then >= start
    assert missed[0][2] - first[0][2] == timedelta(days=3)
    paper("2026-01-10 20:00,wall-sit,both,low,40,,")
    moved = planned("2026-01-11T12:00")
    assert [uid for uid, _, _ in moved][: len(first) - 1] == [uid for uid, _, _ in first[1:]]  # one is done
    assert moved[0][1] > max(sequence for _, sequence, _ in missed)


def test_a_calendar_tells_of_no_health_unless_asked(folder, export, call):
    whole = export("ics", "--data", folder, "--at", AT, *WALKER)
    assert not re.search(
        "walker|chair|counter|sit|heel|pain|week|holds", whole.partition("METHOD")[2].lower()
    )
    asked = events_of(export("ics", "--data", folder, "--at", AT, *WALKER, "--details"))
    plain = events_of(whole)
    assert [*asked] == [*plain]
    assert "Wall sit: hips high" in str(next(iter(asked.values()))["description"])
    for each in plain.values():
        assert (each["summary"], each["class"], each["status"]) == ("Training", "PRIVATE", "CONFIRMED")
        assert all(str(each[name].dt.tzinfo) == "UTC" for name in ("dtstamp", "dtstart", "dtend"))
    starts = [each["dtstart"].dt for each in plain.values()]
    due = call("next", "--data", folder, "--at", AT, *WALKER, "--json").json["earliest_start"]
    assert timedelta() <= starts[0] - datetime.fromisoformat(due) < timedelta(minutes=1)
    assert starts[-1] <= starts[0] + timedelta(weeks=4)


def test_on_hold_the_calendar_calls_off_what_it_brought_and_there_is_no_sheet(export, hall, paper, call):
    paper("2026-01-05 18:00,wall-sit,both,low,40,,")
    before = events_of(export("ics", hall, "--at", "2026-01-06"))
    paper("2026-01-07 20:00,wall-sit,both,low,,symptom,")
    after = events_of(export("ics", hall, "--at", "2026-01-08"))
    assert {str(each["status"]) for each in after.values()} == {"CANCELLED"}
    again = after.keys() & before.keys()
    assert len(again) > 8
    assert all(after[uid]["sequence"] > before[uid]["sequence"] for uid in again)
    assert "on hold: stopped on 7 January" in export("sheet", hall, "--at", "2026-01-08", code=2)
    page = Page(export("html", hall, "--at", "2026-01-08"))
    assert "On hold: stopped on 7 January" in page.text
    assert "stopped because something felt wrong, not released yet" in page.text


def test_a_sheet_filled_in_by_hand_is_taken_in_row_by_row(export, call, tmp_path):
    sheet = Page(export("sheet", "chair-and-counter"))
    check_page(sheet)
    rows = list(csv.DictReader(io.StringIO(sheet.of["pre"][0], newline="")))
    assert list(rows[0]) == [name for name in COLUMNS if name in rows[0]]
    assert [each["exercise"] for each in rows][:2] == ["sit-to-stand", "heel-raise"]
    for column in ("first_failure_s", "ran_to_end", "reentries", "stopped", "pain", "note"):
        assert sheet.of["code"].count(column) == len(rows)
    assert sheet.text.count("Way out: ") == len(rows)
    for row, seconds in zip(rows, (66, 71.5, 58, None, 62, 63, 64), strict=True):
        row |= {"started": "2026-01-05 18:00", "first_failure_s": seconds, "reentries": seconds and 2}
        row |= {"ran_to_end": None if seconds else "x", "pain": "yes" if seconds == 64 else ""}
    filled = tmp_path / "filled.csv"
    with filled.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    said = call("import", filled, "chair-and-counter")
    assert (said.code, said.err) == (0, "")
    shown = call("show", "2026-01-05", "--json").json
    assert [each["first_failure_s"] for each in shown["sets"]] == [66, 71.5, 58, None, 62, 63, 64]
    assert [each["counted"] for each in shown["sets"]] == [True] * 7
    assert [each["rung"] for each in shown["sets"]] == [each["rung"] for each in rows]
    assert shown["sets"][3]["ran_to_end"]
    assert shown["sets"][6]["pain"]


@every("form", ["html", "ics", "sheet", "csv"])
def test_a_file_is_for_its_owner_alone_and_never_goes_through_a_link(call, hall, tmp_path, form):
    path, link = tmp_path / f"out.{form}", tmp_path / f"link.{form}"
    link.symlink_to(path)
    program = [] if form == "csv" else [hall]
    assert call("export", form, *program, "-o", path).code == 0
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    before = path.read_bytes()
    assert call("export", form, *program, "-o", path).code == 0  # one of ours is replaced
    said = call("export", form, *program, "-o", link)
    assert (said.code, path.read_bytes()[:40]) == (2, before[:40])
    assert "is a link; name the file itself" in said.err
    other = tmp_path / "other.html"
    other.write_text("<!doctype html><html lang=de>")
    assert "is not an export of this kind" in call("export", form, *program, "-o", other).err
