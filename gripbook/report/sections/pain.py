"""Pain and notes: notes to read first, reasons to stop or hold, pain beside the finger load."""

from __future__ import annotations

from typing import Any

from gripbook import charts, html
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say
from gripbook.words import pain as words


@in_own_units
def pain(r: BlockReview) -> Parts:
    """Notes that speak of an injury, flags, what was asked and answered, pain beside the load."""
    parts: list[Any] = []
    if first := words.read_first(r.notes):
        parts.append(html.paragraph(html.strong(first)))
    parts += [html.paragraph(html.strong(words.flag_text(flag))) for flag in r.pain.flags]
    parts.append(html.paragraph(words.answer(r.pain)))
    history = [text for flag in r.pain.flags if (text := words.flag_history(flag))]
    if history:
        parts.append(html.paragraph(" ".join(history)))
    past = [words.flag_text(flag) for flag in r.pain.all_flags if flag.cleared is not None]
    if cleared := [*words.cleared(r.pain), *past]:
        parts.append(html.bullets(cleared))
    parts += charts.pain_and_load(r)
    if len(r.pain.entries):
        parts.append(_entries(r))
    if r.notes.inside:
        parts.append(_notes(r))
    return tuple(parts)


def _entries(r: BlockReview) -> Fragment:
    rows = [
        {
            "day": e.date.date(),
            "when": fmt.WHEN_WORDS[e.when] if e.when else "",
            "place": words.place(e.site, e.side),
            "level": e.level,
            "sign": fmt.SIGN_WORDS.get(e.sign, e.sign),
            "note": say("a set was stopped for pain") if e.stopped else e.note,
            "row": f"{e.file}:{e.line}",
        }
        for e in records(r.pain.entries)
    ]
    n = len(rows)
    return html.details(
        fmt.sentence(fmt.count(n, "{n} pain entry", "{n} pain entries")),
        html.table(
            rows,
            say("Pain as logged, by day (0 to 10; 0: asked, none)"),
            stack=True,
            columns={
                "day": say("day"),
                "when": say("when"),
                "place": say("where"),
                "level": say("level"),
                "sign": say("sign"),
                "note": say("note"),
                "row": say("row of the log"),
            },
        ),
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
    n = len(rows)
    return html.details(
        fmt.sentence(fmt.count(n, "{n} note", "{n} notes")),
        html.table(
            rows,
            say("Notes as written, by day"),
            stack=True,
            columns={
                "day": say("day"),
                "text": say("note"),
                "side": say("side"),
                "row": say("row of the log"),
            },
        ),
    )
