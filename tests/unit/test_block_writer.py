"""A block written and read again is the same block."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gripbook.logs import Block
from gripbook.logs.block import read_block
from gripbook.logs.block_writer import toml_text, write_block
from gripbook.logs.template import BLOCK_TEMPLATE

ROOT = Path(__file__).parents[2]

FULL = """\
[block]
name = "All \\"keys\\" \\\\ of a block"
start = 2026-11-30
weeks = 9
goal = "return"
headline = { capacity = "pull", grip = "monkey", hand = "left" }
reference_edge_mm = 18.5
reference_hang_s = 7
plates_kg = [0.5, 1.25, 2.5, 2.5, 11.34]
edges_mm = [20, 12.7]
test_weeks = [1, 9]
easy_weeks = [5]
smallest_change_pct = { hang = 2.5 }
athletes = ["kim", "lou \\u0007"]
grips = ["sloping rail"]

[limits]
fingers_per_week = 3
finger_session_minutes = 45.5
pain_level = 0

[[phase]]
name = "Hangs"
weeks = 2
exercise = "hang"
hang_s = 10
sets_per_session = 8
set_rest_s = [120, 180]
sessions_per_week = 2
weekly = { core = 3 }
[[phase.target]]
grip = "half_crimp"
edge_mm = 20
added_kg = -2.5
[[phase.target]]
grip = "edge of my own"
hand = "right"
force_kg = 30.25

[[phase]]
name = "Pulls"
weeks = 3
from_week = 2
exercise = "pull"
alternate_hands = true

[weekly]
core = 2
mobility = 0

[athlete.kim]
plates_kg = [1, 2]
weekly = { core = 1 }
limits = { pain_level = 1 }
headline = { capacity = "hang", grip = "half_crimp", hand = "both" }

[athlete."odd id. \\"x\\""]
weeks = 8
test_weeks = []
"""


def read(text: str) -> Block:
    """The block of a text that must hold neither error nor warning."""
    block, problems = read_block(text, "block.toml")
    assert problems == []
    assert block is not None
    return block


def test_every_key_comes_back() -> None:
    """A block with every key of the format, written and read again, is equal to itself."""
    block = read(FULL)
    assert read(write_block(block)) == block


@pytest.mark.parametrize("path", sorted((ROOT / "data_demo").glob("block-*.toml")))
def test_the_demo_s_blocks_come_back(path: Path) -> None:
    """So are the blocks of the demo squad."""
    block = read(path.read_text(encoding="utf-8"))
    assert read(write_block(block)) == block


def test_the_template_comes_back() -> None:
    """So is the block that a new log folder begins with."""
    block = read(BLOCK_TEMPLATE.format(start="2026-11-30"))
    assert read(write_block(block)) == block


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_is_one_string(text: str) -> None:
    """Whatever a name holds, it is written as one TOML string that reads back as that text."""
    assert tomllib.loads(f"a = {toml_text(text)}") == {"a": text}


@given(st.lists(st.text(st.characters(exclude_categories=["Cs"])), max_size=3))
def test_comments_change_nothing(comments: list[str]) -> None:
    """Whatever stands in the comments, the block read back is the one without them."""
    block = Block("x", dt.date(2026, 1, 5), 2)
    assert read(write_block(block, comments)) == read(write_block(block))


def test_what_differs_is_written() -> None:
    """A value that differs from the default is written though no file ever stated it."""
    block = replace(Block("x", dt.date(2026, 1, 5), 4), test_weeks=(1, 4), edges_mm=(20.0,))
    again = read(write_block(block))
    assert (again.test_weeks, again.edges_mm) == ((1, 4), (20.0,))
