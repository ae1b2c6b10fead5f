"""
Notes of the log beside their days, and those that speak of an injury.

A note is free text, so this only decides which ones must be read first; it diagnoses nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Logs
from gripbook.logs.schema import CLEARED, FINGER_SITES

Side = Literal["left", "right", "both", ""]
Source = Literal["hangs", "body", "sessions", "pain", "measures", "climbs"]
SOURCES: Final[tuple[Source, ...]] = ("sessions", "hangs", "pain", "climbs", "measures", "body")

#: Words of injury by the language they are written in, as regular expressions of whole words.
#: The one place for them. A log may mix languages, so all are looked for in every note.
INJURY_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "en": (
        *(r"pop(?:s|ped|ping)?", r"tweak\w*", r"tap(?:e|ed|ing)", r"swell\w*", r"swollen"),
        *(
            r"pain(?:s|ful|fully|ed)?",
            r"numb\w*",
            r"tingl\w*",
            r"hurt(?:s|ing)?",
            r"ach(?:e|es|ed|ing|y)",
        ),
        *(r"injur\w*", r"strain(?:ed|s)?", r"sprain\w*", r"torn", r"tore", r"tear", r"ruptur\w*"),
        *(r"snap(?:s|ped)?", r"crunch\w*", r"twinge\w*", r"inflam\w*", r"stiff\w*", r"a[234]"),
        *(r"physio\w*", r"physician", r"doctor", r"hospital", r"pins and needles", r"sharp"),
    ),
    "de": (
        *(r"schmerz\w*", r"geschmerzt", r"weh", r"knack\w*", r"geknackt", r"knall\w*", r"geknallt"),
        *(
            r"schnalz\w*",
            r"geschnalzt",
            r"tape",
            r"tapen",
            r"getap\w*",
            r"schwell\w*",
            r"geschwoll\w*",
        ),
        *(r"taub\w*", r"kribbel\w*", r"gekribbelt", r"zerr\w*", r"gezerrt", r"verletz\w*"),
        *(r"verstauch\w*", r"überdehn\w*", r"gerissen", r"riss", r"zwick\w*", r"gezwickt"),
        *(
            r"entzünd\w*",
            r"steif\w*",
            r"stechen\w*",
            r"ringband\w*",
            r"physio\w*",
            r"arzt",
            r"ärzt\w*",
        ),
        r"zieh(?:t|en) im \w+",
    ),
    "fr": (
        *(r"douleur\w*", r"douloureu\w*", r"mal (?:au|à|aux|dans)", r"fait mal", r"faisait mal"),
        *(r"craqu\w*", r"claqu\w*", r"strap\w*", r"gonfl\w*", r"enfl\w*", r"engourdi\w*"),
        *(
            r"fourmi\w*",
            r"bless\w*",
            r"foul(?:é|ée|ure)\w*",
            r"déchir\w*",
            r"ruptur\w*",
            r"tendinite\w*",
        ),
        *(r"raide\w*", r"raideur\w*", r"poulie a\d", r"kiné\w*", r"médecin", r"élongation\w*"),
    ),
}
#: Words of stopping; beside a named place they speak of it ("stopped, elbow").
STOPPED: Final[Mapping[str, tuple[str, ...]]] = {
    "en": ("stopped", "stop", "gave up"),
    "de": ("aufgehört", "abgebrochen", "abbruch"),
    "fr": ("arrêté", "arrêtée", "arrêt", "stoppé"),
}
#: What takes such a word back when it stands right before it, or with nothing but `FILLERS`
#: between, in the same clause ("no pain", "no more pain", "no pain or swelling"). A comma, a stop,
#: "and" and "but" end the clause. Whatever softens only stays: "no real pain", "not much pain",
#: "not only pain", "didn't stop despite pain" and "no tape, some pain" are all read first.
NEGATIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "en": ("no", "not", "without", "never", "didn't", "doesn't", "isn't", "wasn't", "don't"),
    "de": ("kein", "keine", "keinen", "keinerlei", "nicht", "ohne", "nie"),
    "fr": ("pas", "sans", "aucun", "aucune", "jamais", "ni"),
}
FILLERS: Final[Mapping[str, tuple[str, ...]]] = {
    "en": ("any", "more", "longer", "new", "finger", "elbow", "left", "right", "the", "at", "all"),
    "de": ("mehr", "neue", "neuen", "im", "finger", "ellbogen", "linke", "rechte"),
    "fr": ("de", "d", "du", "nouvelle", "au", "doigt", "coude"),
}
#: Whole phrases that hold such a word and mean no injury.
HARMLESS: Final = (
    *(r"pain[- ]?free", r"painless\w*", r"schmerzfrei\w*", r"schmerzlos\w*", r"indolore\w*"),
    *(r"hurts? (?:the|my|his|her|their) (?:pride|ego)", r"tape measure", r"not? too sharp"),
)
#: Words for places, by the site of pain.csv; "finger" stands for any finger.
_SITES: Final[Mapping[str, str]] = {
    "index": r"index|zeigefinger",
    "middle": r"middle|mittelfinger|majeur",
    "ring": r"ring(?! ?band)(?:finger)?|annulaire",
    "little": r"little finger|pinky|pinkie|kleiner finger|kleinen finger|auriculaire",
    "thumb": r"thumb|daumen|pouce",
    "palm": r"palm|handfläche|paume",
    "wrist": r"wrist|handgelenk|poignet",
    "forearm": r"forearm|unterarm|avant-bras",
    "elbow": r"elbow|ellbogen|ellenbogen|coude",
    "shoulder": r"shoulder|schulter|épaule",
    "finger": r"fingers?|finger[ns]|doigts?",
}
_LEFT: Final = r"left|links|linke[rnms]?|gauche"
_RIGHT: Final = r"right|rechts|rechte[rnms]?|droite?"
# "right after", "all right" name no side
_NO_SIDE: Final = r"right (?:after|before|away|now|at)|all right|alright"
_CLAUSE: Final = re.compile(
    r"[.,;:!?()\n]|\s[-\u2013\u2014]\s|\b(?:but|and|though|aber|und|doch|mais|et)\b"
)
#: Between a word taken back and the next one: "no pain or finger swelling".
_CARRIES: Final = re.compile(r"\s*(?:or|nor|oder|noch|ou|ni|/)\s+(?:\w+\s+)?", re.IGNORECASE)
_WORD: Final = re.compile(r"[\w'\u2019]+")


#: A note about a place speaks of the pain logged there so many days before or after.
SAME_PAIN_DAYS: Final = 2


def _whole(words: Iterable[str]) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w)(?:{'|'.join(words)})(?!\w)", re.IGNORECASE)


_INJURY = _whole(word for words in INJURY_WORDS.values() for word in words)
_STOPPED = _whole(word for words in STOPPED.values() for word in words)
_HARMLESS = _whole(HARMLESS)
_NEGATION = {word for words in NEGATIONS.values() for word in words}
_FILLER = {word for words in FILLERS.values() for word in words}


@dataclass(frozen=True, slots=True)
class Note:
    """
    One note of the log.

    `text`: as written (to be escaped). `side`: the one the words name, else that of the row, where
    the whole session had one hand only, else that of the pain felt at the same named place within
    `SAME_PAIN_DAYS`; "" where nothing tells it. `sites`: places the words name, as
    in pain.csv; `elbow` and `finger` where no more is said. `injury`: it holds words of injury that
    are not taken back (`words`). `open_sides`: the hands it holds at the log's last day: both
    where no side is named, none once `past`. `past`: the day on which a row said that it is over
    for all of them (level 0 for that place, or a `cleared` day); None: none did, or no injury.
    """

    date: pd.Timestamp
    source: Source
    side: Side
    text: str
    injury: bool
    words: tuple[str, ...]
    sites: tuple[str, ...]
    open_sides: tuple[str, ...]
    past: pd.Timestamp | None
    file: str
    line: int

    @property
    def open(self) -> bool:
        """Whether it must be read first: words of injury, and no row that says it is past."""
        return bool(self.open_sides)


@dataclass(frozen=True, slots=True)
class Notes:
    """
    `all`: every note from the block's first day to the log's last, in order of day.

    `block_end`: the block's last day; later notes are shown in no calendar, but still hold.
    """

    all: tuple[Note, ...]
    block_end: pd.Timestamp

    @property
    def inside(self) -> tuple[Note, ...]:
        """Those of the block's days."""
        return tuple(n for n in self.all if n.date <= self.block_end)

    @property
    def to_read(self) -> tuple[Note, ...]:
        """Notes with words of injury that no later row takes back, in order of day."""
        return tuple(n for n in self.all if n.open)

    @property
    def held_sides(self) -> tuple[str, ...]:
        """The hands that such notes hold: `left`, `right`, in this order."""
        held = {side for n in self.all for side in n.open_sides}
        return tuple(side for side in ("left", "right") if side in held)


def injury_words(text: str) -> tuple[str, ...]:
    """
    Words of injury in a note, those taken back left out, in order.

    >>> injury_words("tweaked left ring finger, heard a small pop - stopped")
    ('tweaked', 'pop')
    >>> injury_words("no pain or swelling"), injury_words("no pain but a pop")
    ((), ('pop',))
    """
    hits: list[str] = []
    plain = _HARMLESS.sub(" ", text.replace("\u2019", "'"))
    for clause in _CLAUSE.split(plain):
        back_to = -1  # end of the last word taken back, from which "or" carries on
        for match in _INJURY.finditer(clause):
            before = [w.lower() for w in _WORD.findall(clause[: match.start()])]
            while before and before[-1] in _FILLER:
                before.pop()
            carried = back_to >= 0 and bool(_CARRIES.fullmatch(clause[back_to : match.start()]))
            if carried or (before and before[-1] in _NEGATION):
                back_to = match.end()
            else:
                hits.append(match.group().lower())
    if not hits and sites_in(text):
        hits += [match.group().lower() for match in _STOPPED.finditer(plain)]
    return tuple(hits)


def sites_in(text: str) -> tuple[str, ...]:
    """Places that a note names, as in pain.csv; `finger` and `elbow` where no more is said."""
    return tuple(site for site, words in _SITES.items() if _whole([words]).search(text))


def side_in(text: str) -> Side:
    """The side that a note names: left, right, both, or "" for none."""
    plain = _whole([_NO_SIDE]).sub(" ", text)
    left, right = (bool(_whole([words]).search(plain)) for words in (_LEFT, _RIGHT))
    return "both" if left and right else "left" if left else "right" if right else ""


def read_notes(logs: Logs, start: pd.Timestamp, end: pd.Timestamp) -> Notes:
    """
    One athlete's notes from a block's first day to the log's last.

    Parameters
    ----------
    logs : the athlete's slice.
    start, end : the block's first and last day.
    """
    hands: dict[tuple[pd.Timestamp, str], set[str]] = {}
    for row in records(logs.hangs, "date", "session", "hand"):
        hands.setdefault((row.date, row.session), set()).add(row.hand)
    cleared = sorted(logs.sessions.loc[logs.sessions["kind"] == CLEARED, "date"])
    nothing = [
        row
        for row in records(logs.pain, "date", "site", "side", "level", "sign")
        if row.level == 0 and not row.sign
    ]
    felt = [
        row
        for row in records(logs.pain, "date", "site", "side", "level", "sign")
        if row.level != 0 or row.sign
    ]
    notes = []
    for source in SOURCES:
        frame = logs.frame(source)
        here = frame[(frame["note"] != "") & (frame["date"] >= start)]
        for row in records(here):
            of_row: str = row.side if source == "pain" else ""
            if source == "hangs" and hands[row.date, row.session] == {row.hand} != {"both"}:
                of_row = row.hand
            # what a physician or physiotherapist wrote when clearing is no new injury
            words = () if source == "sessions" and row.kind == CLEARED else injury_words(row.note)
            injury = bool(words) or (source == "sessions" and row.kind == "injured")
            sites = sites_in(row.note)
            if source == "pain" and row.site and not sites:
                sites = (row.site,)
            said = side_in(row.note) or of_row or _side_of_pain(row.date, sites, felt)
            side: Side = said  # type: ignore[assignment]
            sides, past = _still_held(row.date, side, sites, nothing, cleared)
            notes.append(
                Note(
                    date=row.date,
                    source=source,
                    side=side,
                    text=row.note,
                    injury=injury,
                    words=words,
                    sites=sites,
                    open_sides=sides if injury else (),
                    past=past if injury else None,
                    file=row.file,
                    line=int(row.line),
                )
            )
    notes.sort(key=lambda n: (n.date, SOURCES.index(n.source), n.file, n.line))
    return Notes(tuple(notes), end)


def _still_held(
    day: pd.Timestamp,
    side: Side,
    sites: tuple[str, ...],
    nothing: list[Any],
    cleared: list[pd.Timestamp],
) -> tuple[tuple[str, ...], pd.Timestamp | None]:
    """The hands that a note still holds, and the day from which it holds none."""
    held = [side] if side in ("left", "right") else ["left", "right"]
    # a level of the same day may have been written before it happened: only a later one counts
    over = [(at, "") for at in cleared if at > day]
    over += [
        (row.date, row.side) for row in nothing if row.date > day and _same_place(row.site, sites)
    ]
    for at, of in sorted(over):
        held = [] if of in ("both", "") else [h for h in held if h != of]
        if not held:
            return (), at
    return tuple(held), None


def _side_of_pain(day: pd.Timestamp, sites: tuple[str, ...], felt: list[Any]) -> str:
    """The side of the pain logged at a named place about a day, where it is one side alone."""
    near = {
        row.side
        for row in felt
        if sites and row.site and _same_place(row.site, sites)
        if abs((row.date - day).days) <= SAME_PAIN_DAYS
    }
    return near.pop() if len(near) == 1 else ""


def _same_place(site: str, named: tuple[str, ...]) -> bool:
    """Whether a row of pain.csv speaks of the place a note names (one side without: any)."""
    if not site or not named:
        return True
    fingers = "finger" in named and site in FINGER_SITES
    return site in named or fingers or any(site.startswith(f"{one}_") for one in named)
