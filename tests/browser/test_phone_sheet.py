"""The phone's page in Chromium at 390 px with touch: what is tapped comes back as rows."""

from __future__ import annotations

import contextlib
import dataclasses
import datetime as dt
import os
import signal
from pathlib import Path
from typing import Any

import pytest

from gripbook.logs import load_logs
from gripbook.logs.add import add_files
from gripbook.sheets import PlannedSession, PlannedSet, SheetPlan, phone_page
from gripbook.words import use_language
from tests.browser.conftest import FLAGS, Open

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
    """What is said to be on the phone stands there after a reload, without localStorage too."""
    path = written(eight(), tmp_path)
    with open_page(path, wait=False, alone=False, **PHONE) as page:
        thumb = Thumb(page)
        thumb.on("Done as planned")
        thumb.on("2")
        page.get_by_text("Rows on this phone: 2").wait_for()  # said once the store has them
        page.evaluate("localStorage.clear()")
        page.reload()
        page.get_by_text("Rows on this phone: 2").wait_for()
        thumb.on("Done as planned")
        page.get_by_text("Rows on this phone: 3").wait_for()
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


def descendants(root: int) -> list[int]:
    """A process and all that stem from it, by /proc."""
    parents: dict[int, list[int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            pid, rest = stat.read_text().split(" (", 1)
            parents.setdefault(int(rest.rsplit(")", 1)[1].split()[1]), []).append(int(pid))
    found = [root]
    for pid in found:
        found += parents.get(pid, [])
    return found


def kill_browser_of(profile: Path) -> int:
    """Kill every process of the browser with this profile at once, and say how many there were."""
    killed: set[int] = set()
    for line in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            words = line.read_bytes().split(b"\0")
            if f"--user-data-dir={profile}".encode() in words:
                for pid in descendants(int(line.parent.name)):
                    with contextlib.suppress(ProcessLookupError):
                        os.kill(pid, signal.SIGKILL)
                        killed.add(pid)
    return len(killed)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are found by /proc")
def test_a_killed_browser_loses_no_confirmed_set(
    browser: Any, chromium: str, tmp_path: Path
) -> None:
    """Killed as soon as the page says that a set is kept, it stands there when opened again."""
    path, profile, confirmed = written(eight(), tmp_path), tmp_path / "profile", 0
    for taps in (3, 1, 2):
        context = browser.browser_type.launch_persistent_context(
            profile,
            executable_path=chromium,
            args=FLAGS,
            viewport={"width": 390, "height": 800},
            has_touch=True,
            is_mobile=True,
        )
        context.add_init_script(CLOCK)
        page = context.new_page()
        page.goto(path.as_uri())
        page.get_by_text(f"Set {confirmed + 1} of 8").wait_for()
        if confirmed:
            page.get_by_text(f"Rows on this phone: {confirmed}").wait_for()
        thumb = Thumb(page)
        for _ in range(taps):
            thumb.on("Done as planned")
        confirmed += taps
        page.get_by_text(f"Rows on this phone: {confirmed}").wait_for()
        assert kill_browser_of(profile) > 2
        with contextlib.suppress(Exception):  # it is gone
            context.close()
    assert confirmed == 6


def test_the_page_tells_rows_as_kept_once_they_are(open_page: Open, tmp_path: Path) -> None:
    """While the write isn't through it says so; refused by both stores it says that too."""
    slow = CLOCK + (
        "const open = IDBDatabase.prototype.transaction;"
        "IDBDatabase.prototype.transaction = function (...a) { const t = open.apply(this, a);"
        "if (a[1] === 'readwrite') Object.defineProperty(t, 'oncomplete',"
        " {set(f) { setTimeout(f, 900); }}); return t; };"
    )
    with open_page(written(eight(), tmp_path), wait=False, **PHONE | {"before": slow}) as page:
        Thumb(page).on("Done as planned")
        assert page.locator("#kept").inner_text() == "Writing ..."
        page.get_by_text("Rows on this phone: 1").wait_for()
    none = CLOCK + (
        "Storage.prototype.setItem = () => { throw new Error('full'); };"
        "IDBFactory.prototype.open = () => { throw new Error('private'); };"
    )
    with open_page(written(eight(), tmp_path), wait=False, **PHONE | {"before": none}) as page:
        Thumb(page).on("Done as planned")
        assert page.locator("#kept").inner_text().startswith("This phone keeps nothing.")


def test_a_slow_store_loses_nothing(open_page: Open, tmp_path: Path) -> None:
    """What the store held joins what was tapped before it could be read."""
    slow = CLOCK + (
        "const open = IDBFactory.prototype.open;"
        "IDBFactory.prototype.open = function (...a) { if (!sessionStorage.slow)"
        " return open.apply(this, a); const fake = {}; const real = open.apply(this, a);"
        " real.onsuccess = () => setTimeout(() => { fake.result = real.result;"
        " fake.onsuccess(); }, 4000); return fake; };"
    )
    path = written(eight(), tmp_path)
    with open_page(path, wait=False, alone=False, **PHONE | {"before": slow}) as page:
        thumb = Thumb(page)
        thumb.on("Done as planned")
        thumb.on("3")
        page.get_by_text("Rows on this phone: 2").wait_for()
        page.evaluate("localStorage.clear(); sessionStorage.slow = 1")
        page.reload()
        page.get_by_text("Set 1 of 8").wait_for()
        page.locator(".set").nth(4).tap()
        thumb.on("Held to the end")
        thumb.on("Write it")
        page.get_by_text("Rows on this phone: 3").wait_for(timeout=8000)
        logs = logs_of_end(page, tmp_path)
    assert logs.hangs["reserve_s"].tolist()[1] == 3
    assert len(logs.hangs) == 3


def test_rows_outlive_a_newer_sheet(open_page: Open, tmp_path: Path) -> None:
    """The coach sends another sheet in between: rows of the first are kept and handed over."""
    path = written(eight(), tmp_path)
    with open_page(path, wait=False, alone=False, **PHONE) as page:
        Thumb(page).on("Done as planned")
        page.get_by_text("Rows on this phone: 1").wait_for()
        heavier = [PlannedSet(i, *_of(dataclasses.replace(HANG, added_kg=10))) for i in (1, 2)]
        path.write_text(phone_page(plan(*heavier)), encoding="utf-8")
        page.reload()
        page.get_by_text("Set 1 of 2").wait_for()
        page.get_by_text("Rows of earlier sheets wait here too: 1").wait_for()
        Thumb(page).on("Done as planned")
        logs = logs_of_end(page, tmp_path)
    assert logs.hangs["added_kg"].tolist() == [7.5, 10]


def test_what_the_gym_changes(open_page: Open, tmp_path: Path) -> None:
    """Another edge and shorter holds, once more for the next set; board, body mass, a set more."""
    sheet = dataclasses.replace(
        plan(HANG, *(dataclasses.replace(HANG, order=i) for i in (2, 3))), boards=("loft", "gym")
    )
    with open_page(written(sheet, tmp_path), wait=False, **PHONE) as page:
        thumb = Thumb(page)
        thumb.on("gym")
        assert "5 + 2.5" in page.locator("footer").inner_text()
        thumb.on("Something was different")
        assert page.locator("#plates").inner_text() == "5 + 2.5"
        page.get_by_label("Weight added (kg)").fill("-3")
        assert page.locator("#plates").inner_text() == "not from your plates"
        page.get_by_label("Weight added (kg)").fill("-2,5")
        assert page.locator("#plates").inner_text() == "pulley: 2.5"
        page.locator("summary").tap()
        page.get_by_label("Edge (mm)").fill("18")
        page.get_by_label("Seconds planned").fill("7")
        page.get_by_label("Grip").select_option("open_four")
        page.get_by_label("Hand").select_option("left")
        thumb.on("Held to the end")
        thumb.on("Write it")
        assert page.locator("#again").count() == 0  # another grip, another hand
        thumb.on("Something was different")
        page.locator("summary").tap()
        page.get_by_label("Edge (mm)").fill("18")
        page.get_by_label("Seconds planned").fill("7")
        thumb.on("Held to the end")
        thumb.on("Write it")
        page.wait_for_timeout(520)
        assert (
            page.locator("#again").inner_text() == "Same again: +7.5\u00a0kg, 18\u00a0mm, 7\u00a0s"
        )
        thumb.on("Same again", exact=False)
        thumb.on("Add a set")
        thumb.on("Done as planned")
        page.get_by_label("Body mass (kg)").fill("62,4")
        assert page.get_by_label("Board", exact=True).input_value() == "gym"
        logs = logs_of(rows_on(page), tmp_path)
    assert (logs.errors, set(logs.hangs["board"])) == ((), {"gym"})
    assert logs.hangs["edge_mm"].tolist() == [18, 18, 18, 20]
    assert logs.hangs["hang_s"].tolist() == [7, 7, 7, 10]
    assert logs.hangs["grip"].tolist() == ["open_four", *["half_crimp"] * 3]
    assert logs.hangs["hand"].tolist() == ["left", "both", "both", "both"]
    assert logs.hangs["added_kg"].tolist() == [-2.5, 7.5, 7.5, 7.5]
    assert logs.hangs["order"].tolist() == [1, 2, 3, 4]
    assert logs.body["body_mass_kg"].tolist() == [62.4]


def test_a_test_needs_its_weight_and_pain_its_level(open_page: Open, tmp_path: Path) -> None:
    """What the log would refuse can't be handed over; two places of pain are two rows."""
    with open_page(
        written(plan(dataclasses.replace(HANG, added_kg=None, test=True)), tmp_path),
        wait=False,
        **PHONE,
    ) as page:
        thumb = Thumb(page)
        thumb.on("Enter the weight")
        assert page.locator("#write").inner_text() == "Still to say: the weight"
        page.get_by_label("Weight added (kg)").fill("20")
        thumb.on("Fingers opened")
        page.get_by_label("At how many seconds?").fill("8")
        thumb.on("Write it")
        thumb.on("Yes")
        assert page.locator("#share").inner_text() == "Still to say: how much it hurt"
        assert page.locator("#share").is_disabled()
        thumb.on("ring finger")
        page.get_by_role("button", name="2", exact=True).first.tap()
        thumb.on("Another place")
        thumb.on("wrist")
        thumb.on("Swelling")
        page.get_by_text("Have it looked at").wait_for()
        assert page.locator("#share").is_enabled()
        logs = logs_of(rows_on(page), tmp_path)
    assert logs.hangs[["added_kg", "failed_s", "test"]].values.tolist() == [[20, 8, True]]
    assert logs.pain[["site", "level"]].fillna(-1).values.tolist() == [["ring", 2], ["wrist", -1]]


def test_the_day_is_that_of_the_first_set(open_page: Open, tmp_path: Path) -> None:
    """A session done a day late has the day it was done, and the page says what was planned."""
    late = CLOCK.replace("2026-01-06", "2026-01-07")
    with open_page(written(eight(), tmp_path), wait=False, **PHONE | {"before": late}) as page:
        page.get_by_text("Planned for Tuesday 6").wait_for()
        Thumb(page).on("Done as planned")
        logs = logs_of_end(page, tmp_path)
    assert [f"{d:%Y-%m-%d}" for d in logs.hangs["date"]] == ["2026-01-07"]


@pytest.mark.parametrize("language", ["de", "fr"])
def test_in_another_language(open_page: Open, tmp_path: Path, language: str) -> None:
    """Numbers, grips and days are written as the language does; the rows are the same."""
    use_language(language)
    try:
        path = tmp_path / "phone.html"
        path.write_text(phone_page(eight(), language), encoding="utf-8")
    finally:
        use_language("en")
    with open_page(path, wait=False, **PHONE) as page:
        page.locator("#done").wait_for()
        assert page.evaluate("document.documentElement.lang") == language
        now = page.locator("#now").inner_text()
        assert "+7,5\u00a0kg" in now
        assert "half" not in now
        page.locator("#done").tap()
        page.locator(".set").first.tap()
        text = page.locator("main").inner_text()
        assert "5 + 2,5" in text
        page.locator("#write").tap()
        page.wait_for_timeout(520)
        page.locator("footer button").first.wait_for()


def test_plates_in_pounds_add_up(open_page: Open, tmp_path: Path) -> None:
    """Two plates of 1.25 lb (0.57 kg in the block file) make 2.5 lb; 2.6 lb isn't made."""
    sheet = dataclasses.replace(
        plan(dataclasses.replace(HANG, added_kg=1.14), units="lb"), plates_kg=(0.57, 0.57, 10)
    )
    with open_page(written(sheet, tmp_path), wait=False, **PHONE) as page:
        Thumb(page).on("Something was different")
        assert page.locator("#plates").inner_text() == "1.25 + 1.25"
        page.get_by_label("Weight added (lb)").fill("2.6")
        assert page.locator("#plates").inner_text() == "not from your plates"
