"""The phone's page in Chromium at 390 px with touch: what is tapped comes back as rows."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from gripbook.logs import load_logs
from gripbook.logs.add import add_files
from gripbook.sheets import PlannedSession, PlannedSet, SheetPlan, phone_page
from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

DAY = dt.date(2026, 1, 6)
HANG = PlannedSet(1, "hang", "half_crimp", "both", 20, added_kg=7.5, hang_s=10)
#: The phone's clock stands on the evening of the planned day.
CLOCK = """
const Now = Date;
Date = class extends Now {
  constructor(...given) { if (given.length) super(...given); else super("2026-01-06T21:30:00"); }
};
"""
PHONE = {"width": 390, "height": 800, "has_touch": True, "is_mobile": True, "before": CLOCK}


def plan(*sets: PlannedSet, units: str = "kg") -> SheetPlan:
    """A week of one session."""
    session = PlannedSession("A", DAY, sets)
    return SheetPlan("kim", "Kim </script> <b>", DAY, units, (1.25, 2.5, 5), 3, (session,))


def eight() -> SheetPlan:
    """Eight equal timed hangs."""
    return plan(*(PlannedSet(i, *_of(HANG)) for i in range(1, 9)))


def _of(one: PlannedSet) -> tuple[Any, ...]:
    return tuple(getattr(one, name) for name in PlannedSet.__slots__ if name != "order")


class Thumb:
    """Taps on a page, counted."""

    def __init__(self, page: Any) -> None:
        self.page, self.taps = page, 0

    def on(self, name: str, *, exact: bool = True) -> None:
        """Tap the last button of this name, past the time in which a bounce is dropped."""
        self.page.wait_for_timeout(520)
        self.page.get_by_role("button", name=name, exact=exact).last.tap()
        self.taps += 1


def rows_on(page: Any) -> str:
    """The rows as the page gives them."""
    page.get_by_role("button", name="See, copy or clear the rows").tap()
    return str(page.locator("#rows").input_value())


def logs_of(text: str, folder: Path) -> Any:
    """The rows added to an empty log folder, and read."""
    (folder / "logs").mkdir()
    path = folder / "kim.csv"
    path.write_bytes(text.encode())
    done = add_files(folder / "logs", [path])
    assert (done.refused, done.conflicts) == (0, [])
    return load_logs(folder / "logs")


def written(sheet: SheetPlan, folder: Path) -> Path:
    """The page of a sheet, in a file."""
    path = folder / "phone.html"
    path.write_text(phone_page(sheet), encoding="utf-8")
    return path


def test_eight_sets_as_planned_take_twelve_taps(open_page: Open, tmp_path: Path) -> None:
    """A tap a set, pain, minutes, effort and the saving; the rows are those typed by hand."""
    path = written(eight(), tmp_path)
    with open_page(path, wait=False, **PHONE) as page:
        thumb = Thumb(page)
        for _ in range(8):
            thumb.on("Done as planned")
        page.get_by_text("Did a finger").wait_for()
        assert page.locator("[aria-pressed=true]").count() == 0  # pain is never preset
        thumb.on("No, nothing hurt")
        thumb.on("45")
        page.wait_for_timeout(520)
        page.get_by_role("button", name="6", exact=True).last.tap()
        with page.expect_download() as download:
            thumb.on("Save the rows (10)")
        assert thumb.taps + 1 == 12
        text = Path(download.value.path()).read_text(encoding="utf-8")
        assert rows_on(page).replace("\r\n", "\n") == text.replace("\r\n", "\n")
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
    (tmp_path / "typed").mkdir()
    (tmp_path / "typed" / "hangs.csv").write_text(
        "athlete,date,session,order,exercise,grip,hand,edge_mm,added_kg,hang_s\n"
        + "".join(f"kim,2026-01-06,A,{i},hang,half_crimp,both,20,7.5,10\n" for i in range(1, 9))
    )
    typed, tapped = load_logs(tmp_path / "typed").hangs, logs_of(text, tmp_path)
    assert tapped.hangs.drop(columns="file").equals(typed.drop(columns="file"))
    assert tapped.sessions[["minutes", "effort"]].values.tolist() == [[45, 6]]
    assert tapped.pain["level"].tolist() == [0]


def test_a_set_that_differed(open_page: Open, tmp_path: Path) -> None:
    """Weight, a slip with its seconds, what was left, and the same again for the next."""
    with open_page(written(eight(), tmp_path), wait=False, **PHONE) as page:
        thumb = Thumb(page)
        thumb.on("Something was different")
        thumb.on("+2.5")
        assert page.locator("#write").is_disabled()
        thumb.on("Slipped")
        assert page.locator("#write").inner_text() == "Still to say: the seconds"
        page.get_by_label("At how many seconds?").fill("4,5")
        page.get_by_label("Note", exact=True).fill("=SUM(A1)\n'a'")
        thumb.on("Write it")
        thumb.on("Same again: +10", exact=False)
        thumb.on("3")
        logs = logs_of_end(page, tmp_path)
    hangs = logs.hangs
    assert hangs["added_kg"].tolist() == [10, 10, 7.5]
    assert hangs["failed_s"].tolist()[0] == 4.5
    assert hangs["stopped"].tolist() == ["slip", "", ""]
    assert hangs["reserve_s"].tolist()[2] == 3
    assert hangs["note"].tolist() == ["=SUM(A1) 'a'", "", ""]
    assert logs.pain.empty  # not asked, not answered: no row
    assert logs.sessions.empty


def logs_of_end(page: Any, folder: Path) -> Any:
    """End the session, and read its rows."""
    Thumb(page).on("End the session here")
    return logs_of(rows_on(page), folder)


def test_what_was_tapped_outlives_a_reload(open_page: Open, tmp_path: Path) -> None:
    """After closing and opening again the sets stand there; without localStorage too."""
    path = written(eight(), tmp_path)
    with open_page(path, wait=False, alone=False, **PHONE) as page:
        thumb = Thumb(page)
        thumb.on("Done as planned")
        thumb.on("2")
        page.evaluate("localStorage.clear()")
        page.reload()
        page.get_by_text("Rows on this phone: 2").wait_for()
        thumb.on("Done as planned")
        page.reload()
        page.get_by_text("Rows on this phone: 3").wait_for()
        page.get_by_text("Set 4 of 8").wait_for()


def test_a_bounce_is_one_tap(open_page: Open, tmp_path: Path) -> None:
    """Two taps within half a second write one set."""
    with open_page(written(eight(), tmp_path), wait=False, **PHONE) as page:
        page.locator("#done").wait_for()
        page.evaluate(
            "() => { const b = document.getElementById('done'); b.click(); "
            "document.getElementById('done').click(); }"
        )
        page.get_by_text("Rows on this phone: 1").wait_for()


def test_repeaters_pulls_and_hands_in_turn(open_page: Open, tmp_path: Path) -> None:
    """Holds of a repeater, a scale's reading of a pull, one order for two hands, pounds."""
    sheet = plan(
        PlannedSet(1, "repeater", "open_four", "both", 20, added_kg=0, hang_s=7, rest_s=3, reps=6),
        PlannedSet(2, "pull", "half_crimp", "left", 20),
        PlannedSet(2, "pull", "half_crimp", "right", 20),
        units="lb",
    )
    with open_page(written(sheet, tmp_path), wait=False, **PHONE) as page:
        thumb = Thumb(page)
        thumb.on("Something was different")
        thumb.on("Fingers opened")
        thumb.on("4")
        page.get_by_label("At how many seconds?").fill("3")
        thumb.on("Write it")
        for reading in ("30", "25"):
            thumb.on("Enter the reading")
            page.get_by_label("Scale under the feet (lb)").fill(reading)
            page.get_by_label("Same scale, standing just before (lb)").fill("150")
            thumb.on("Write it")
        logs = logs_of(rows_on(page), tmp_path)
    assert logs.errors == ()
    assert logs.hangs["order"].tolist() == [1, 2, 2]
    assert logs.hangs["hand"].tolist() == ["both", "left", "right"]
    assert logs.hangs["reps_done"].tolist()[0] == 4
    assert logs.hangs["failed_s"].tolist()[0] == 3
    assert (logs.hangs["stand_kg"] - logs.hangs["scale_kg"]).tolist()[1:] == pytest.approx(
        [120 * 0.45359237, 125 * 0.45359237]
    )


def test_pain_and_clearing(open_page: Open, tmp_path: Path) -> None:
    """Pain with its site; clearing asks once, and then nothing is left, also after a reload."""
    with open_page(written(eight(), tmp_path), wait=False, alone=False, **PHONE) as page:
        thumb = Thumb(page)
        thumb.on("Done as planned")
        thumb.on("End the session here")
        thumb.on("Yes")
        thumb.on("ring finger")
        thumb.on("left")
        page.get_by_role("button", name="4", exact=True).first.tap()
        page.get_by_text("Have it looked at").wait_for()
        text = rows_on(page)
        thumb.on("Clear this phone")
        thumb.on("Clear all rows (2) for good?")
        page.get_by_text("Nothing written yet").wait_for()
        page.reload()
        page.get_by_text("Nothing written yet").wait_for()
    logs = logs_of(text, tmp_path)
    assert logs.pain[["site", "side", "level"]].values.tolist() == [["ring", "left", 4]]
