"""Log folders made of good rows, odd cells and raw bytes, and what must hold of each."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

from hypothesis import strategies as st

from gripbook.errors import GripbookError
from gripbook.logs import load_logs
from gripbook.logs.adopt import adopt
from gripbook.logs.block_writer import write_block
from gripbook.logs.schema import FILES
from gripbook.reviews import propose_next, review
from gripbook.words.problems import problem_line
from tests.conftest import FILES as SMALL

_ODD = ["", " ", "x", "-1", "1e999", "nan", "inf", "05.01.2026", "2026-13-40", '"', "a,b", ";"]
_ODD += ["\0", "\x1b]0;t\x07", "\u202e", "\ufeff", "=1+1", "1,5", "½", "9" * 400, "0x" + "f" * 99]
_WORDS = [c for kind in FILES.values() for column in kind.columns for c in column.choices]

#: The files that guided fuzzing fills, by the first byte.
GUIDED = ("hangs.csv", "block.toml", "body.csv", "pain.csv")

cells = st.one_of(
    st.sampled_from(_ODD),
    st.sampled_from(_WORDS),
    st.floats().map(str),
    st.dates().map(str),
    st.text(max_size=12),
)


@st.composite
def table(draw: st.DrawFn, name: str) -> bytes:
    """A file of the small logs, with cells, columns, lines and separators changed."""
    rows = [line.split(",") for line in SMALL[name].splitlines()]
    for _ in range(draw(st.integers(0, 6))):
        row = rows[draw(st.integers(0, len(rows) - 1))]
        if row:
            row[draw(st.integers(0, len(row) - 1))] = draw(cells)
    for _ in range(draw(st.integers(0, 2))):
        rows.insert(draw(st.integers(0, len(rows))), draw(st.lists(cells, max_size=25)))
    mark = draw(st.sampled_from([",", ";", "\t", "|"]))
    end = draw(st.sampled_from(["\n", "\r\n", "\r", "\n\n"]))
    code = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"]))
    return end.join(mark.join(row) for row in rows).encode(code, "replace")


@st.composite
def plan(draw: st.DrawFn) -> bytes:
    """The block file, with values and keys changed."""
    lines = SMALL["block.toml"].splitlines()
    values = ["1", "-1", "1e400", "nan", "[]", "{}", '""', "true", "2026-01-05", "99999", "[[1]]"]
    for _ in range(draw(st.integers(1, 5))):
        place = draw(st.integers(0, len(lines) - 1))
        key, equal, _ = lines[place].partition("=")
        value = draw(st.sampled_from(values))
        key = draw(st.sampled_from([key, "x", "start", "weeks", "headline"]))
        lines[place] = (
            f"{key} = {value}" if equal else draw(st.sampled_from(["", "[x]", "[[phase]]"]))
        )
    return "\n".join(lines).encode()


@st.composite
def structured(draw: st.DrawFn) -> dict[str, bytes]:
    """A log folder with some of its files changed."""
    files = {name: text.encode() for name, text in SMALL.items()}
    for name in draw(st.sets(st.sampled_from(sorted(SMALL)), min_size=1, max_size=3)):
        files[name] = draw(plan() if name == "block.toml" else table(name))
    return files


@st.composite
def by_bytes(draw: st.DrawFn) -> dict[str, bytes]:
    """A log folder with one file cut, doubled or written over byte by byte."""
    files = {name: text.encode() for name, text in SMALL.items()}
    name = draw(st.sampled_from(sorted(SMALL)))
    return files | {name: damaged(files[name], draw(st.randoms(use_true_random=False)))}


#: Bytes that mean something to a reader.
_TELLING = b'\0\n\r",;=#[]\xff\xfe\xef\xbb\xbf\x1b'


def damaged(data: bytes, draw: random.Random) -> bytes:
    """The bytes with a few pieces changed, taken out, put in or doubled."""
    found = bytearray(data)
    for _ in range(draw.randint(1, 8)):
        at = draw.randrange(len(found) + 1)
        to = min(len(found), at + draw.randint(0, 40))
        new = bytes(
            draw.choice(b'\0\n\r",;=#[]\xff\xfe\xef\xbb\xbf\x1b' + bytes(range(256)))
            for _ in range(3)
        )
        found[at:to] = draw.choice((new, b"", found[at:to] * 2, draw.randbytes(draw.randint(0, 9))))
    return bytes(found)


def check(files: Mapping[str, bytes], *, reviewed: bool = False) -> str:
    """
    Read a folder of these files and see that nothing is lost.

    Parameters
    ----------
    reviewed : review an athlete and propose a next block too.

    Returns
    -------
    "read", or "refused" where the folder can't be read and that is said in words.

    Raises
    ------
    Exception : whatever the reader or a review raises that is no error of ours.
    AssertionError : a row is neither used nor refused, or a problem has no words or no line.
    """
    with tempfile.TemporaryDirectory(prefix="gripbook-fuzz-") as name:
        folder = Path(name)
        for file, data in files.items():
            (folder / file).write_bytes(data)
        try:
            logs = load_logs(folder)
        except GripbookError as error:
            return "refused" if str(error) else "refused without words"
        for report in logs.reports:
            assert report.rows_read == report.rows_used + report.rows_refused, report
            lines = files[report.file].count(b"\n") + files[report.file].count(b"\r") + 1
            for problem in (p for p in logs.problems if p.file == report.file):
                assert 0 <= problem.line <= problem.last_line <= 2 * lines + 2, problem
        for problem in logs.problems:
            assert problem_line(problem)
        if reviewed and logs.athlete_ids:
            planned = propose_next(review(logs, logs.athlete_ids[0])).block
            assert planned is None or write_block(planned)
        return "read"


def check_adopted(data: bytes, name: str) -> str:
    """Adopt a table twice: refused in words, or a map and then a folder that can be read."""
    with tempfile.TemporaryDirectory(prefix="gripbook-fuzz-") as place:
        source, into = Path(place) / name, Path(place) / "logs"
        source.write_bytes(data)
        try:
            for _ in range(2):
                done = adopt([source], into)
                out = done.outcome
                assert out.rows_in == out.used + len(out.refused) + len(out.ignored)
        except GripbookError as error:
            return "refused" if str(error) else "refused without words"
        return "read"


#: Cases that were once lost, by name: read again in every run.
FOUND: Mapping[str, Callable[[], Mapping[str, bytes]]] = {
    "empty": lambda: {"hangs.csv": b""},
    "null bytes": lambda: {"hangs.csv": bytes(100)},
    "utf-16 without a mark": lambda: {"hangs.csv": SMALL["hangs.csv"].encode("utf-16-le")},
    "one quote": lambda: {"hangs.csv": SMALL["hangs.csv"].replace("half", '"half', 1).encode()},
    "hex of 5000 digits": lambda: {
        "hangs.csv": SMALL["hangs.csv"].encode(),
        "block.toml": b"[block]\nweeks = 0x" + b"f" * 5000,
    },
    "deep plan": lambda: {
        "hangs.csv": SMALL["hangs.csv"].encode(),
        "block.toml": b"[block]\nx = " + b"[" * 3000,
    },
    "lines of quotes": lambda: {"hangs.csv": SMALL["hangs.csv"].encode() + b'x",",y\n' * 500},
    "own column and an athlete's row that is refused": lambda: {
        "hangs.csv": SMALL["hangs.csv"].encode(),
        "athletes.csv": b"athlete,colour,born\n,red,1998\nbo,blue,2010\n",
    },
    "all ends of line": lambda: {"hangs.csv": SMALL["hangs.csv"].encode() + b"\r\n\n\r\r\n" * 200},
}
