"""
A page of everything, by hand: `python -m tests.specimen FOLDER` writes athlete.html and squad.html.

People, values and sentences are made up, to see type, space and colours. Pictures are drawn here in
the form that charts have on a page.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from gripbook import html, layout
from gripbook.html import Fragment
from gripbook.layout import CalendarWeek, CodeKind, Lane, SquadLine
from gripbook.report.page.exporter import to_page

DAYS = ("week", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
SERIES = [
    ("Timed hang, 10 s", "half crimp, both hands, 20 mm", 88, 96, 3, 13),
    ("Repeaters, 6 × 7 s", "half crimp, both hands, 20 mm", 66, 71, 1, 10),
    ("One-arm pull, left", "half crimp, 20 mm", 44, 47, -1, 6),
    ("One-arm pull, right", "half crimp, 20 mm", 45, 49, 1, 7),
]


def cell(*parts: Fragment) -> Any:
    """An executed cell that showed these parts."""
    outputs = [
        new_output("display_data", data={"text/html": part.html, "text/plain": repr(part)})
        for part in parts
    ]
    return new_code_cell("", outputs=outputs, execution_count=1)


def text(x: float, y: float, words: str, more: str = "") -> str:
    """Words of a picture."""
    return f'<text x="{x:g}" y="{y:g}"{more}>{html.escape(words)}</text>'


def change_picture() -> Fragment:
    """Start and end of each series, wide and narrow."""
    pictures, spots = [], {}
    for kind, width, zero, unit, pitch in (
        ("wide", 740, 276, 14.0, 48),
        ("narrow", 350, 70, 11.0, 66),
    ):
        out, spots[kind] = [], []
        for i, (name, conditions, start, end, low, high) in enumerate(SERIES):
            y = (40 if kind == "wide" else 46) + i * pitch
            over = y - 12 if kind == "wide" else y - 24
            soft = ' fill="var(--ink2)"'
            out.append(
                text(
                    0,
                    over + (10 if kind == "wide" else 0),
                    name,
                    ' font-size="15" font-weight="600"',
                )
            )
            if kind == "wide":
                out.append(text(0, over + 26, conditions, soft))
            end_ = ' text-anchor="end"'
            share = 100 / start
            left, at, right = (zero + v * share * unit for v in (low, end - start, high))
            out.append(
                f'<path d="M{left:.1f} {y}H{right:.1f}" stroke="var(--tint)" stroke-width="8"/>'
                f'<path d="M{zero} {y - 6}v12" stroke="var(--ink)" stroke-width="1.25"/>'
                f'<circle cx="{at:.1f}" cy="{y}" r="5" fill="var(--accent)"/>'
            )
            out.append(text(zero - 7, y - 8, f"{start} kg", f' font-size="15"{soft}{end_}'))
            out.append(
                text(
                    at,
                    y - 10,
                    f"{end} kg",
                    ' font-size="15" font-weight="600" text-anchor="middle"',
                )
            )
            out.append(text(left - 5, y + 4.5, f"{low:+}".replace("-", "−"), end_))
            out.append(text(right + 5, y + 4.5, f"+{high} kg"))
            out.append(
                text(
                    width,
                    over + (18 if kind == "wide" else 0),
                    "stronger" if low > 0 else "probably",
                    f' font-size="15"{end_}',
                )
            )
            spots[kind].append(f"{at:.0f},{y}")
        bottom = y + 26
        ticks = range(-5 if kind == "wide" else 0, 21, 5)
        out.append(
            f'<path d="M{zero + ticks[0] * unit:g} {bottom}H{zero + 20 * unit:g}M{zero} 20V{bottom}" stroke="var(--axis)" stroke-width=".75"/>'
        )
        for tick in ticks:
            words = (
                "no change"
                if tick == 0
                else f"{tick:+}".replace("-", "−") + (" %" if tick == 20 else "")
            )
            out.append(
                text(
                    zero + tick * unit,
                    bottom + 18,
                    words,
                    ' font-size="12.5" fill="var(--ink2)" text-anchor="middle"',
                )
            )
        pictures.append(
            f'<svg class="{kind}" viewBox="0 0 {width} {bottom + 24}" role="img" font-size="13" '
            f'fill="var(--ink)" aria-label="What changed">{"".join(out)}</svg>'
        )
    words = "\n".join(f"{name}: {low:+} to {high:+} kg" for name, _, _, _, low, high in SERIES)
    return Fragment(
        f'<figure class="picture" data-words="{html.escape(words)}" data-wide="{" ".join(spots["wide"])}" '
        f'data-narrow="{" ".join(spots["narrow"])}">{"".join(pictures)}'
        "<figcaption>Open hand has no end to compare: no hangs after week 2.</figcaption></figure>"
    )


def path_picture() -> Fragment:
    """A path with its range over nine weeks."""
    pictures = []
    for kind, width in (("wide", 740), ("narrow", 350)):
        left, right = 28, width - 20
        step = (right - left) / 8
        top = [(left + i * step, 80 - 6 * i + (i % 3) * 2) for i in range(9)]
        low = [(x, y + 60 + (i % 2) * 4) for i, (x, y) in enumerate(top)]
        band = " ".join(f"{x:.1f},{y}" for x, y in [*top, *reversed(low)])
        middle = " ".join(f"{a:.1f},{(b + d) / 2}" for (a, b), (_, d) in zip(top, low, strict=True))
        axis = "".join(f"M{left + i * step:.1f} 170v{5 if i % 4 == 0 else 3}" for i in range(9))
        days = "".join(
            text(
                left + i * step,
                188,
                day,
                ' font-size="12.5" fill="var(--ink2)" text-anchor="middle"',
            )
            for i, day in ((0, "5 Jan"), (4, "2 Feb"), (8, "2 Mar"))
        )
        head = text(0, 12, "Timed hang, 10 s", ' font-size="15" font-weight="600"')
        head += text(0, 28, "kg, half crimp, both hands", ' fill="var(--ink2)"')
        head += f'<circle cx="{top[0][0]:.1f}" cy="120" r="4.2" fill="var(--accent)"/>'
        head += text(left + 8, 106, "86 kg × 10 s", ' font-weight="600"')
        pictures.append(
            f'<svg class="{kind}" viewBox="0 0 {width} 194" role="img" font-size="13" fill="var(--ink)" '
            f'aria-label="Timed hang over the block"><polygon points="{band}" fill="var(--tint)"/>'
            f'<polyline points="{middle}" fill="none" stroke="var(--accent)" stroke-width="1.75"/>'
            f'<path d="M{left} 170H{right}{axis}" stroke="var(--axis)" stroke-width=".75"/>{days}'
            f"{head}</svg>"
        )
    caption = "<figcaption>Kilograms as a day’s first set on 20 mm. Filled: a known limit. Hollow: at least this much.</figcaption>"
    return Fragment(f'<figure class="picture">{"".join(pictures)}{caption}</figure>')


def week(number: int, date: str, days: str, note: str = "") -> CalendarWeek:
    """A week from codes such as `CoMo Fi - Te . . .`."""
    kinds: dict[str, CodeKind] = {"Te": "test", "Fi": "fingers", "–": "rest", "fi": "planned"}
    cells = []
    for day in days.split():
        parts = (
            []
            if day == "."
            else ["–"]
            if day == "-"
            else [day[i : i + 2] for i in range(0, len(day), 2)]
        )
        cells.append(layout.codes([(p.capitalize(), kinds.get(p, "other")) for p in parts]))
    said = html.quoted(note) if note else ""
    return CalendarWeek(str(number), date, cells, said)


def athlete_notebook() -> Any:
    """An athlete's page with one of everything."""
    calendar = layout.calendar(
        "The block by days",
        DAYS,
        [
            ("Timed hangs", "4 of 4 sessions, 31 of 32 sets", [
                week(1, "5 Jan", "CoMo - TeMo - - FiAn ClMo", "Wed: two days off before, good skin"),
                week(2, "12 Jan", "CoMo Fi Mo Co Fi An Mo", "Tue: cold loft"),
            ]),
            ("Repeaters", "8 of 8 sessions, 40 of 40 sets", [
                week(3, "19 Jan", "CoMo Fi Mo Co Fi An Mo"),
                week(4, "26 Jan", "CoMo Fi Mo - Fi An .", "Tue: foot mat slid, let go"),
                week(5, "2 Feb", "CoMo Fi Mo Co Fi An ClMo"),
            ]),
            ("One-arm pulls", "1 of 4 sessions, the rest to come", [
                week(6, "9 Feb", "CoMo Fi - Co fi . ."),
                week(7, "16 Feb", ". fi . . fi . .", "the last is a test"),
            ]),
        ],
    )  # fmt: skip
    plan = layout.plan(
        "Loads of the next block",
        ("week", "from", "load", ""),
        [
            ("Timed hangs", "half crimp, 20 mm, 2 × 8 sets of 10 s",
             [("1", "27 Apr", "+20 kg", ""), ("2", "4 May", "+22.5 kg", "")]),
            ("Repeaters", "half crimp, 20 mm, 2 × 5 sets of 6 × 7 s",
             [("3", "11 May", "−16.25 kg", "pulley: 10 + 5 + 1.25; test hangs on two days"),
              ("4", "18 May", "−15 kg", ""), ("5", "25 May", "−12.5 kg", "one session only")]),
        ],
    )  # fmt: skip
    tests = layout.record_table(
        "First and last test of each series",
        ("first test, 7 January", "last test, 6 March"),
        [
            (html.over("Timed hang", "half crimp, both hands, 20 mm"),
             html.over("+20 kg × 10 s", "85.6 kg, 3 s left"), html.over("+27.5 kg × 10 s", "93.4 kg, 5 s left")),
            (html.over("Repeaters", "half crimp, both hands, 20 mm"),
             html.over("−5 kg × 6 holds", "60.6 kg, 4 holds left"), html.over("−5 kg × 6 holds", "60.9 kg, 7 holds left")),
            (html.over("One-arm pull, left", "half crimp, 20 mm"), "44.4 kg", "46.5 kg"),
            (html.over("One-arm pull, right", "half crimp, 20 mm"), "45.1 kg", "49.0 kg"),
        ],
    )  # fmt: skip
    sets = [
        {"day": f"{d} January", "set": n, "weight": 5.0 * n, "what was left": "3 s"}
        for d in (7, 9)
        for n in (1, 2, 3)
    ]
    return new_notebook(
        cells=[
            cell(
                layout.masthead("Juna", "Attic winter, nine weeks:", "5 January to 8 March 2026", name="Juna, Attic winter"),
                layout.lead(
                    layout.lead_line("Elbow", "Pain 3 of 10 on three days, right elbow, rising since 10 February. See a physiotherapist before a harder block.", wrong=True),
                    layout.lead_line("Stronger?", "Yes. Half crimp, both hands, 20 mm for 10 s: from 88 to 96 kg, +3 to +13 kg (90 % range). Repeaters and right pulls rose too."),
                    layout.lead_line("Done", "17 of 18 finger sessions; one is missing in week 7. Pain: asked 17 times."),
                    layout.lead_line("Next", "From 27 April, start timed hangs at +20 kg, 10 % under your last hang, body mass included."),
                ),
            ),
            new_markdown_cell("## What changed"),
            cell(layout.aside("load at the end of the block against its start"), change_picture()),
            new_markdown_cell("## Tests and strength"),
            cell(
                html.paragraph("On your last test you held 93 kg for 10 s, 8 kg more than in January. The estimate ends higher, at 96 kg, because it rests on your guess of 5 s left. Your left hand is the weaker one, by about 4 %."),
                tests, path_picture(),
                layout.fold("Every set", "18 hangs, 19 repeaters, 56 pulls", layout.table(sets, "Sets of the block, weight in kg")),
                layout.fold("Other grips and edges", "two paths, best sets", html.paragraph("Best finished set: timed hang, half crimp, 15 mm, 71.4 kg (16 January).")),
            ),
            new_markdown_cell("## Pain and notes"),
            cell(Fragment("")),
            new_markdown_cell("## The block"),
            cell(
                html.paragraph("You did 17 of 18 finger sessions and 102 of 108 sets. Every logged week kept the limits: 3 finger days, a rest day between, 60 minutes a session."),
                calendar,
                layout.key([("Te", "test", "finger test"), ("Fi", "fingers", "fingers"), ("Cl", "other", "climbing"), ("Co", "other", "core"),
                          ("An", "other", "antagonist"), ("Mo", "other", "mobility"), ("–", "rest", "rest")]),
                layout.fold("Week by week", "sets, minutes, session load, limits", html.paragraph("The week table stands here.")),
            ),
            new_markdown_cell("## Next block"),
            cell(
                layout.aside("sample values"),
                layout.caution("No pulls with the right arm", "until the elbow has been checked."),
                html.paragraph("Nine weeks as before. Adjust to how you feel that day; a coach decides."),
                plan,
                layout.note("Two test days at each end can show a rise from about 5.6 kg."),
                layout.fold("Why these loads", "the sets they rest on, and what lowers them", html.paragraph("Last set: +27.5 kg on 6 March.")),
            ),
            new_markdown_cell("## Other work and climbing"),
            cell(layout.terms([("Core", "13 of 18 planned days"), ("Mobility", "23 of 27"), ("Handstand", "18 to 28 s, +7 to +12 s"),
                             ("Front split, left", "gap 17.4 to 15.3 cm, 0.7 to 3.5 cm smaller (better)"), ("Can’t tell", "front split right, side split")])),
            new_markdown_cell("## About this log"),
            cell(
                html.paragraph("Every row was used. One more test to the limit in the first and last weeks would narrow the range by about 15 %."),
                layout.fold("How the figures are made", "and the rows behind them", html.paragraph("A 90 % range holds the true change in about nine of ten cases.")),
            ),
        ]
    )  # fmt: skip


def squad_notebook() -> Any:
    """A squad page of five."""

    def lanes(*ranges: tuple[float, float, float] | str) -> list[Lane]:
        made = []
        for word, shape, given in zip(
            ("hangs", "repeaters", "pulls"), ("circle", "square", "diamond"), ranges, strict=False
        ):
            if isinstance(given, str):
                made.append(Lane(word, given))
            else:
                low, value, high = given
                says = f"{low:+g} to {high:+g} %".replace("-", "−")
                made.append(Lane(word, says, low, value, high, shape, clear=low > 0 or high < 0))
        return made

    flagged = [
        SquadLine("Mika", "mika.html", "16 of 18 finger sessions",
                  Fragment(f"{html.accent('Pain 4 of 10, right elbow,').html} on 3 March. Nothing logged since 8 March."),
                  "Pulls probably stronger, about 9 in 10. 6 notes.", lanes("no end test", "no end test", (-2, 4, 11))),
        SquadLine("Noor", "noor.html", "16 of 18 finger sessions",
                  Fragment(f"{html.accent('Body mass down 6.5 %').html} in nine weeks: a point for a physician."),
                  "All probably stronger, 8 to 9 in 10. 1 note.", lanes((-1, 4, 10), (-3, 4, 11), (-2, 3, 9))),
        SquadLine("Rafi", "rafi.html", "15 of 18 finger sessions",
                  Fragment(f"{html.strong('Weaker in hangs and pulls').html} after 11 days of flu, to 5 February. Pain not noted."),
                  "Repeaters probably weaker, about 9 in 10. 6 notes.", lanes((-11, -6, -0.4), (-12, -5.6, 1), (-11, -6, -1))),
    ]  # fmt: skip
    calm = [
        SquadLine("Juna", "athlete.html", "17 of 18 finger sessions", "Nothing flagged. 6 notes to read.", "Stronger in all three.",
                  lanes((5, 11, 18), (2, 9, 17), (3, 9, 15))),
        SquadLine("Tove", "tove.html", "15 of 18 finger sessions", "Nothing flagged. 3 notes to read.",
                  "Under 18: coach, guardian and physician decide.", lanes("every set finished")),
    ]  # fmt: skip
    return new_notebook(
        cells=[
            cell(
                layout.masthead("Squad", "Attic winter and Youth winter, nine weeks:", "5 January to 8 March 2026", name="Squad"),
                layout.lead(
                    layout.lead_line("Call first", "Mika: pain in the right elbow, rising since 10 February to 4 of 10. Then Noor: body mass down 6.5 %. Rafi needs a word too.", wrong=True),
                    layout.lead_line("Together", "On average +3 % in hangs and repeaters, +2 % in pulls, but anything from −5 to +11 % is possible, so we can’t tell."),
                ),
                layout.squad_table("The squad, reasons to call first", ("athlete", "what to know", "change over the block, with its 90 % range"),
                                 [flagged, calm], [(-10, "−10"), (0, "no change"), (10, "+10"), (20, "+20 %")]),
                layout.note("Change of the load they can hold or pull, end against start; pulls: the hand that gained less. Bold: the whole range lies on one side of no change."),
            ),
            new_markdown_cell("## Behind the average"),
            cell(html.paragraph("Four of five athletes have an end in hangs. There was no group without a block beside it, so this says what happened over the block, not what the block did.")),
        ]
    )  # fmt: skip


def write(folder: Path) -> None:
    """Write both pages."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, notebook in (("athlete", athlete_notebook()), ("squad", squad_notebook())):
        (folder / f"{name}.html").write_text(to_page(notebook), encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
