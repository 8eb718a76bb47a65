"""Feed files of strangers to their readers: `python -m tests.bench.fuzz large`, or `... fuzz KIND [SECONDS]`.

`large` reads files of the largest size of each kind, made of what costs most, and prints seconds and memory:
no more than 10 s and 500 MB. A KIND is fuzzed, guided by coverage, with the package `atheris` (Linux, macOS):
that stops at the first file that raises what it should not, takes longer than 2 s or more than 500 MB, and
keeps it here as `crash-...`.
"""

import json
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.invented.programs import HALL

MANY = 19_000  # lines; a log holds 20,000 events


def large() -> Iterator[tuple[str, str, bytes]]:
    """Yield files as a kind, what they are made of, and their content."""
    from tests.strangers import KINDS

    good = [json.loads(line) for line in KINDS["log"].good.splitlines()]
    stamp, answer, paper = good[5], good[11], good[12]
    for words, head, line in (("stamps", 5, stamp), ("answers", 9, answer), ("rows on paper", 2, paper)):
        many = [line | {"t": 46 + n / 1000, "id": f"x{n}", "set": 1 + n % 1000} for n in range(MANY)]
        if words == "stamps":
            many = [each | {"set": 1, "ev": ("failure", "re-entry")[n % 2]} for n, each in enumerate(many)]
        lines = [each | {"n": n} for n, each in enumerate([*good[:head], *many])]
        yield "log", words, b"\n".join(json.dumps(each).encode() for each in lines)
    exercise = (
        '[exercises.e{n}]\nname="E"\nkind="hold"\nsides="each"\nfailure="x"\nway_out="y"\nladder=["a"]\n'
    )
    scripts = "".join(
        f'[[scripts]]\nid="s{n}"\ntitle="S"\nsteps=[{{exercise="wall-sit"}}]\n' for n in range(14_000)
    )
    exercises = "".join(exercise.format(n=n) for n in range(7000))
    yield (
        "program",
        "exercises",
        f'format=1\nid="h"\ntitle="H"\n{exercises}[[scripts]]\nid="A"\nsteps=[]'.encode(),
    )
    yield "program", "scripts", f"{HALL}{scripts}".encode()
    yield "program", "unknown keys", (HALL + "".join(f"k{n}=1\n" for n in range(80_000))).encode()
    head = "started,exercise,side,rung,first_failure_s,note\n"
    rows = (
        f"{1950 + n // 300}-{1 + n % 12:02}-{1 + n % 28:02},wall-sit,both,low,40,{'x' * 200}\n"
        for n in range(MANY)
    )
    yield "csv", "days", (head + "".join(rows)).encode()
    yield "csv", "faults", (head + "".join(f"x,wal-sit{n},bth,lw{n},xx,\n" for n in range(MANY))).encode()
    yield "settings", "people", "".join(f"[people.p{n}]\nguard_s=0.9\n" for n in range(4000)).encode()
    yield "settings", "keys", ("not_taps=[" + ",".join(f'"key{n}"' for n in range(9000)) + "]").encode()
    yield "settings", "faults", "".join(f"volum{n}=1\n" for n in range(8000)).encode()


def measure() -> None:
    """Read the large files and print what each took."""
    import resource

    from tests.strangers import KINDS

    for kind, words, content in large():
        begun = time.process_time()
        KINDS[kind].read(content)
        took, room = time.process_time() - begun, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"{kind:9} {words:14} {len(content) / 1e6:4.1f} MB  {took:4.1f} s  {room:4.0f} MB so far",
            flush=True,
        )


def fuzz(kind: str, seconds: str = "60") -> None:
    """Fuzz one kind for so many seconds."""
    import atheris

    with atheris.instrument_imports(include=["holdtimer"]):
        from tests.strangers import KINDS
    seeds = Path(tempfile.mkdtemp())
    (seeds / "good").write_bytes(KINDS[kind].good)
    options = [f"-max_total_time={seconds}", "-timeout=2", "-rss_limit_mb=500", "-max_len=8000"]
    atheris.Setup([sys.argv[0], *options, str(seeds)], KINDS[kind].read)
    atheris.Fuzz()


if __name__ == "__main__":
    measure() if sys.argv[1:] == ["large"] else fuzz(*sys.argv[1:])
