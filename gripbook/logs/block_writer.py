"""`Block` to `block.toml`: text that reads back equal."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from gripbook.logs.block import Block, Headline, Limits, Phase, Target

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+\Z")
_SHORT_ESCAPES = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}
_BLOCK_KEYS = (
    "goal",
    "headline",
    "reference_edge_mm",
    "reference_hang_s",
    "plates_kg",
    "edges_mm",
    "test_weeks",
    "easy_weeks",
    "smallest_change_pct",
    "athletes",
)
_LIMIT_KEYS = (
    "fingers_per_week",
    "rest_days_between_finger_days",
    "finger_session_minutes",
    "pain_level",
)
_PHASE_KEYS = (
    "exercise",
    "hang_s",
    "rest_s",
    "reps",
    "sets_per_session",
    "set_rest_s",
    "sessions_per_week",
)


def toml_text(text: str) -> str:
    """
    A TOML basic string, quotes and control characters escaped.

    >>> print(toml_text('say "go"'))
    "say \\"go\\""
    """
    out = []
    for letter in text:
        if letter in _SHORT_ESCAPES:
            out.append(_SHORT_ESCAPES[letter])
        elif ord(letter) < 0x20 or 0x7F <= ord(letter) <= 0x9F:
            out.append(f"\\u{ord(letter):04X}")
        else:
            out.append(letter)
    return f'"{"".join(out)}"'


def write_block(block: Block, comments: Iterable[str] = ()) -> str:
    """
    The text of a block file.

    Parameters
    ----------
    block : what to write. `read_block(text, block.file)` gives it back; only which of its values
        were `stated` may differ where a stated value is the default.
    comments : lines for the top of the file; a line break in one starts another comment line.
    """
    lines = [f"# {part}".rstrip() for text in comments for part in _comment_lines(text)]
    lines += [""] if lines else []
    lines += ["[block]", *_block_lines(block)]
    limits = [f"{key} = {_value(getattr(block.limits, key))}" for key in _limit_keys(block.limits)]
    if limits:
        lines += ["", "[limits]", *limits]
    for phase in block.phases:
        lines += ["", *_phase_lines(phase)]
    if block.weekly:
        lines += ["", "[weekly]", *_pairs(block.weekly)]
    if block.choices:
        lines += ["", "[choices]", *_pairs(block.choices)]
    for athlete, own in block.overrides.items():
        lines += ["", f"[athlete.{_key(athlete)}]", *_override_lines(own)]
    return "\n".join(lines) + "\n"


def _comment_lines(text: str) -> list[str]:
    # a comment may hold no control character; str.splitlines also cuts at the odd line ends
    return ["".join(c if c.isprintable() else " " for c in part) for part in text.splitlines()]


def _block_lines(block: Block) -> Iterator[str]:
    yield f"name = {toml_text(block.name)}"
    yield f"start = {block.start.isoformat()}"
    yield f"weeks = {block.weeks}"
    plain = Block(block.name, block.start, block.weeks)
    for key in _BLOCK_KEYS:
        value = getattr(block, key)
        if key in block.stated or value != getattr(plain, key):
            yield f"{key} = {_value(value)}"
    if block.grips:
        yield f"grips = {_value(block.grips)}"


def _limit_keys(limits: Limits) -> list[str]:
    plain = Limits()
    return [k for k in _LIMIT_KEYS if k in limits.stated or getattr(limits, k) != getattr(plain, k)]


def _phase_lines(phase: Phase) -> Iterator[str]:
    yield "[[phase]]"
    yield f"name = {toml_text(phase.name)}"
    yield f"weeks = {phase.weeks}"
    yield f"from_week = {phase.from_week}"
    for key in _PHASE_KEYS:
        value = getattr(phase, key)
        if value is not None:
            yield f"{key} = {_value(value)}"
    if phase.alternate_hands:
        yield "alternate_hands = true"
    if phase.weekly:
        yield f"weekly = {_value(phase.weekly)}"
    for target in phase.targets:
        yield "[[phase.target]]"
        yield from _target_lines(target)


def _target_lines(target: Target) -> Iterator[str]:
    yield f"grip = {toml_text(target.grip)}"
    yield f"hand = {toml_text(target.hand)}"
    for key in ("edge_mm", "added_kg", "force_kg", "sets"):
        value = getattr(target, key)
        if value is not None:
            yield f"{key} = {_value(value)}"
    if target.at_most:
        yield "at_most = true"


def _override_lines(own: Mapping[str, Any]) -> Iterator[str]:
    for key, value in own.items():
        if isinstance(value, Limits):
            value = {k: getattr(value, k) for k in _limit_keys(value)}
        yield f"{_key(key)} = {_value(value)}"


def _pairs(table: Mapping[str, Any]) -> list[str]:
    return [f"{_key(key)} = {_value(value)}" for key, value in table.items()]


def _key(name: str) -> str:
    return name if _BARE_KEY.match(name) else toml_text(name)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return toml_text(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        # whole numbers bare, as a coach would write them; else the shortest text of the number
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Headline):
        return _value({"capacity": value.capacity, "grip": value.grip, "hand": value.hand})
    if isinstance(value, Mapping):
        return "{ " + ", ".join(_pairs(value)) + " }" if value else "{}"
    if isinstance(value, tuple | list):
        return f"[{', '.join(_value(v) for v in value)}]"
    raise TypeError(f"no TOML for {value!r}")
