"""Pain and notes: notes to read first, reasons to stop or hold, pain beside the finger load."""

from __future__ import annotations

from gripbook import charts, html, layout
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.reviews import BlockReview
from gripbook.words import fmt
from gripbook.words import pain as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS


@in_own_units
def pain(r: BlockReview) -> Parts:
    """Notes that speak of an injury, flags, what was asked and answered, pain beside the load."""
    # what was felt since the block's end holds as well
    flags, all_flags = r.pain_to_date.flags, r.pain_to_date.all_flags
    if not (len(r.pain.entries) or r.notes.to_read or all_flags):
        return ()
    history = [text for flag in flags if (text := words.flag_history(flag))]
    past = [words.flag_text(flag) for flag in all_flags if flag.cleared is not None]
    cleared = [*words.cleared(r.pain), *past]
    # what a flag says of a hand, a note need not say again
    both = ("left", "right")
    flagged = {side for f in flags for side in ((f.side,) if f.side in both else both)}
    hold = "" if {*r.notes.held_sides} <= flagged else words.note_hold(r.notes)
    first = words.notes_head(r.notes)
    return shown(
        layout.caution(first, " ".join(filter(None, (words.notes_first(r.notes), hold))))
        if first
        else None,
        # the first screen says the first in full
        *(layout.caution(words.flag_felt(f), words.flag_action(f)) for f in flags[1:]),
        html.paragraph(" ".join([*history, words.answer(r.pain)])),
        html.bullets(cleared) if cleared else None,
        *drawn(charts.draw_pain(r.pain, r.sets, r.block, r.last.date())),
        layout.fold(
            words.TITLES["every_entry"],
            fmt.listing(
                filter(None, (words.entries_counted(r.pain), words.notes_counted(r.notes)))
            ),
            *((_entries(r),) if len(r.pain.entries) else ()),
            *((_notes(r),) if r.notes.inside else ()),
        ),
    )


def _entries(r: BlockReview) -> Fragment:
    rows = [
        {
            "day": e.date.date(),
            "when": fmt.WHEN_WORDS[e.when] if e.when else "",
            "place": words.place(e.site, e.side),
            "level": e.level,
            "sign": fmt.SIGN_WORDS.get(e.sign, e.sign),
            "note": words.TITLES["stopped_for_pain"] if e.stopped else e.note,
            "row": f"{e.file}:{e.line}",
        }
        for e in records(r.pain.entries)
    ]
    return layout.table(
        rows,
        words.TITLES["entries"],
        stack=True,
        columns={
            "day": HEADS["day"],
            "when": HEADS["when"],
            "place": HEADS["where"],
            "level": HEADS["level"],
            "sign": HEADS["sign"],
            "note": HEADS["note"],
            "row": HEADS["row_of_the_log"],
        },
    )


def _notes(r: BlockReview) -> Fragment:
    rows = [
        {
            "day": note.date.date(),
            "text": note.text,
            "side": fmt.SIDE_WORDS[note.side] if note.side else "",
            "row": f"{note.file}:{note.line}",
        }
        for note in r.notes.inside
    ]
    return layout.table(
        rows,
        words.TITLES["notes"],
        stack=True,
        columns={
            "day": HEADS["day"],
            "text": HEADS["note"],
            "side": HEADS["side"],
            "row": HEADS["row_of_the_log"],
        },
    )
