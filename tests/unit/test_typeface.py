"""The typeface of pages: small, renamed as its licence asks, and its table of widths true."""

from __future__ import annotations

import base64
import re
from pathlib import Path

import pytest

from gripbook.charts.width_table import WIDTHS
from gripbook.charts.widths import text_width
from gripbook.report.page.typeface import FAMILY, face_css
from tests import face


def test_the_typeface_is_small() -> None:
    """The three cuts add at most 90 kB to a page."""
    assert len(face_css()) <= 90_000
    cuts = re.findall(r"url\(data:font/woff2;base64,([\w+/=]+)\)", face_css())
    assert [base64.b64decode(cut)[:4] for cut in cuts] == [b"wOF2"] * 3


def test_the_licence_stands_beside_it() -> None:
    """The Open Font License asks for its text and the copyright with every copy."""
    text = (face.FACE / "OFL.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert "Reserved Font Name" in text


def test_names_are_those_the_licence_asks_for() -> None:
    """No cut bears the reserved name; each keeps copyright and licence."""
    fonts = pytest.importorskip("fontTools.ttLib")
    pytest.importorskip("brotli")
    for file in sorted(face.FACE.glob("*.woff2")):
        names = {n.nameID: str(n) for n in fonts.TTFont(file)["name"].names}
        assert names[1] == FAMILY == face.FAMILY
        assert not any("Source" in names[number] for number in (1, 2, 4, 6))
        assert "Reserved Font Name" in names[0]
        assert "SIL Open Font License, Version 1.1" in names[13]


def test_the_table_of_widths_is_the_typefaces() -> None:
    """Made anew from the files, the table is the one committed."""
    pytest.importorskip("fontTools.ttLib")
    pytest.importorskip("brotli")
    assert Path(face.WIDTHS).read_text("utf-8") == face.table_text()


def test_widths_add_up_and_grow_with_size_and_weight() -> None:
    """By hand from the table: 'kg' at 10, half way between the weights, in italics, larger."""
    light, bold, slanted = (WIDTHS["k"][i] + WIDTHS["g"][i] for i in range(3))
    assert text_width("kg", 10) == pytest.approx(light / 100)
    assert text_width("kg", 10, weight=600) == pytest.approx(bold / 100)
    assert text_width("kg", 10, weight=500) == pytest.approx((light + bold) / 200)
    assert text_width("kg", 10, italic=True) == pytest.approx(slanted / 100)
    assert text_width("kg", 26) == pytest.approx(2.6 * text_width("kg", 10))
    assert text_width("", 10) == 0


def test_figures_are_tabular() -> None:
    """All ten figures are equally wide, as are minus and plus."""
    assert len({WIDTHS[figure] for figure in "0123456789"}) == 1
    assert WIDTHS["−"] == WIDTHS["+"]


def test_letters_it_lacks_count_generously() -> None:
    """A Hebrew or Polish letter counts four fifths of the size, a Chinese one all of it."""
    assert text_width("נ", 10) == text_width("ł", 10) == 8
    assert text_width("中", 10) == text_width("\u1100", 10) == 10
    assert text_width("\u10ff", 10) == 8


@pytest.mark.parametrize(("weight", "italic"), [(399, False), (601, False), (401, True)])
def test_weights_it_lacks_are_refused(weight: int, italic: bool) -> None:
    """Weights outside the typeface are an error, as their widths would be guesses."""
    with pytest.raises(ValueError, match=f"weight {weight}"):
        text_width("kg", 10, weight=weight, italic=italic)
