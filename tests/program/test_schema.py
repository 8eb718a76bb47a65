import tomllib

from jsonschema import Draft202012Validator

from holdtimer.files import programs_folder
from holdtimer.program.models import program_schema, schema_text
from tests.tables import every

VALIDATOR = Draft202012Validator(program_schema())
PROGRAMS = sorted(programs_folder().glob("*.toml"))


def test_the_schema_beside_the_programs_is_fresh():
    assert (programs_folder() / "program.schema.json").read_text(encoding="utf-8") == schema_text()


def test_the_schema_is_a_schema_that_any_editor_can_read():
    Draft202012Validator.check_schema(program_schema())
    assert program_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    for word in ('"null"', "prefixItems", "unevaluatedProperties"):
        assert word not in schema_text()


@every("path", PROGRAMS, ids=lambda path: path.stem)
def test_every_bundled_program_validates(path):
    assert list(VALIDATOR.iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))) == []


@every(
    ("old", "new"),
    [
        ("format = 1", "format = 2"),
        ('id = "hall"', 'id = "the hall"'),
        ("window_s = 90", "window_s = 900"),
        ("[60, 90]", "[60, 70, 90]"),
        ('"hold"', '"static"'),
        ('way_out = "Both feet down."', ""),
        ('failure = "The heel stays down."', 'failure = ""'),
        ('["two hands", "one hand"]', "[]"),
        ('["two hands", "one hand"]', '["two hands", 2]'),
        ("load = 0.66", "lode = 0.66"),
        ('"3-1-2-0"', '"3-1-2"'),
        (", seconds = 120", ""),
        ('{exercise = "heel-raise"}', "{rest_s = 3}"),
        ("[exercises.heel-raise]", "[exercises.'heel raise']"),
    ],
)
def test_a_spoilt_program_does_not_validate(good, spoil, old, new):
    assert VALIDATOR.is_valid(tomllib.loads(good))
    assert not VALIDATOR.is_valid(tomllib.loads(spoil((old, new))))
