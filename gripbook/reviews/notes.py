"""
Notes of the log beside their days, and those that speak of an injury or of eating less.

A note is free text, so this only decides which ones must be read first; it diagnoses nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Logs
from gripbook.logs.schema import CLEARED, FINGER_SITES
from gripbook.reviews.pain import HELD_BEFORE_DAYS

Side = Literal["left", "right", "both", ""]
Hand = Literal["left", "right"]
HANDS: Final[tuple[Hand, ...]] = ("left", "right")
Source = Literal["hangs", "body", "sessions", "pain", "measures", "climbs"]
SOURCES: Final[tuple[Source, ...]] = ("sessions", "hangs", "pain", "climbs", "measures", "body")

_EN_MEAL: Final = r"(?:meals?|dinners?|lunch(?:es)?|breakfasts?|suppers?|food)"
_EN_WHOSE: Final = r"(?:a |the |my |some )?"
_DE_MEAL: Final = r"(?:frühstück|mittagessen|abendessen|essen|mahlzeit(?:en)?)"
_FR_MEAL: Final = r"(?:repas|petit-déjeuner|déjeuner|dîner)"
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
#: Words of eating less, likewise; each says so alone ("cutting loose" and "cut my finger" do not).
ENERGY_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "en": (
        rf"skip(?:s|ped|ping)? {_EN_WHOSE}{_EN_MEAL}",
        rf"(?:no|without) {_EN_MEAL}",
        r"(?:not|never|didn't|don't|hardly|barely) (?:eat|eaten|eating|ate)(?: enough| much)?",
        *(r"(?:on a|crash) diet", r"diet(?:ing|ed)", r"fast(?:ed|ing)", r"starv\w*(?! for)"),
        *(r"empty stomach", r"lightness", r"cut weight"),
        r"cutting(?: (?:weight|calories|carbs|food|before|for|until|phase))",
        r"(?:los(?:e|ing)|lost|mak(?:e|ing)) weight|weight loss",
        *(r"calorie deficit", r"underfuel\w*", r"anorexi\w*", r"bulimi\w*", r"eating disorder"),
    ),
    "de": (
        *(r"diät\w*", r"faste(?:n|te)?", r"gefastet", r"hungern", r"gehungert", r"nüchtern"),
        r"(?:nichts?|kaum|(?:zu )?wenig|weniger) gegessen",
        rf"(?:kein|keine|keinen|ohne) {_DE_MEAL}",
        rf"{_DE_MEAL} (?:ausgelassen|auslassen|weggelassen|übersprungen|ausfallen lassen)",
        *(r"abnehmen", r"abspecken", r"kaloriendefizit", r"essstörung", r"magersucht"),
    ),
    "fr": (
        rf"saut(?:é|er|e|ant) (?:un |des |les? |mon |mes )?{_FR_MEAL}",
        rf"(?:sans|pas de) {_FR_MEAL}",
        *(r"(?:pas|rien|peu|presque pas) mangé", r"sans manger", r"régime", r"à jeun", r"jeûn\w*"),
        *(r"per(?:dre|te|du) (?:du |de )?poids", r"maigrir", r"déficit calorique", r"anorexi\w*"),
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


#: A note about an elbow speaks of the pain logged there so many days before or after.
SAME_PAIN_DAYS: Final = 2


def _whole(words: Iterable[str]) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w)(?:{'|'.join(words)})(?!\w)", re.IGNORECASE)


_INJURY = _whole(word for words in INJURY_WORDS.values() for word in words)
_STOPPED = _whole(word for words in STOPPED.values() for word in words)
_ENERGY = _whole(word for words in ENERGY_WORDS.values() for word in words)
_HARMLESS = _whole(HARMLESS)
_NEGATION = {word for words in NEGATIONS.values() for word in words}
_FILLER = {word for words in FILLERS.values() for word in words}


@dataclass(frozen=True, slots=True)
class Note:
    """
    One note of the log.

    `text`: as written (to be escaped). `side`: the one the words name, else that of its row of
    pain.csv, else of the pain felt at the same elbow, shoulder or wrist within `SAME_PAIN_DAYS`; ""
    where nothing says it: ten fingers are too many to guess, and the hand of a set is not the hand
    that hurts. `sites`:
    places the words name, as in pain.csv; `elbow` and `finger` where no more is said. `injury`: it
    holds words of injury that are not taken back (`words`). `past`: the first `cleared` day after
    it; None: there is none, or no injury. A level 0 written since ends nothing. `energy`: it speaks
    of eating less.
    """

    date: pd.Timestamp
    source: Source
    side: Side
    text: str
    injury: bool
    words: tuple[str, ...]
    sites: tuple[str, ...]
    past: pd.Timestamp | None
    file: str
    line: int
    energy: bool = False

    @property
    def open(self) -> bool:
        """Whether it must be read first: words of injury, and nobody has cleared it since."""
        return self.injury and self.past is None

    @property
    def hands(self) -> tuple[Hand, ...]:
        """The hands it speaks of: both where no side is named."""
        return (self.side,) if self.side in ("left", "right") else HANDS

    @property
    def open_sides(self) -> tuple[Hand, ...]:
        """The hands that it holds at the log's last day."""
        return self.hands if self.open else ()


@dataclass(frozen=True, slots=True)
class Notes:
    """
    Notes of a block, and what was written since.

    `all`: every note from the block's first day to the log's last, in order of day, and those of
    an injury from up to `HELD_BEFORE_DAYS` before it that nobody had cleared when it began.

    `block_start`, `block_end`: the block's days; other notes are shown in no calendar, but hold.
    """

    all: tuple[Note, ...]
    block_start: pd.Timestamp
    block_end: pd.Timestamp

    @property
    def inside(self) -> tuple[Note, ...]:
        """Those of the block's days."""
        return tuple(n for n in self.all if self.block_start <= n.date <= self.block_end)

    @property
    def to_read(self) -> tuple[Note, ...]:
        """Notes with words of injury that nobody has cleared since, in order of day."""
        return tuple(n for n in self.all if n.open)

    @property
    def of_energy(self) -> tuple[Note, ...]:
        """Notes that speak of eating less, in order of day."""
        return tuple(n for n in self.all if n.energy and n.date >= self.block_start)

    @property
    def held_sides(self) -> tuple[str, ...]:
        """The hands that such notes hold: `left`, `right`, in this order."""
        held = {side for n in self.all for side in n.open_sides}
        return tuple(side for side in HANDS if side in held)


def injury_words(text: str) -> tuple[str, ...]:
    """
    Words of injury in a note, those taken back left out, in order.

    >>> injury_words("tweaked left ring finger, heard a small pop - stopped")
    ('tweaked', 'pop')
    >>> injury_words("no pain or swelling"), injury_words("no pain but a pop")
    ((), ('pop',))
    """
    plain = _HARMLESS.sub(" ", text.replace("\u2019", "'"))
    hits = list(_not_taken_back(_INJURY, plain))
    if not hits and sites_in(text):
        hits += [match.group().lower() for match in _STOPPED.finditer(plain)]
    return tuple(hits)


def speaks_of_eating_less(text: str) -> bool:
    """
    Whether a note holds words of eating less that are not taken back.

    >>> speaks_of_eating_less("skipped dinner"), speaks_of_eating_less("not dieting")
    (True, False)
    """
    return any(_not_taken_back(_ENERGY, text.replace("\u2019", "'")))


def _not_taken_back(words: re.Pattern[str], plain: str) -> Iterator[str]:
    """The words found in a text, in order, but those that a negation takes back."""
    for clause in _CLAUSE.split(plain):
        back_to = -1  # end of the last word taken back, from which "or" carries on
        for match in words.finditer(clause):
            before = [w.lower() for w in _WORD.findall(clause[: match.start()])]
            while before and before[-1] in _FILLER:
                before.pop()
            carried = back_to >= 0 and bool(_CARRIES.fullmatch(clause[back_to : match.start()]))
            if carried or (before and before[-1] in _NEGATION):
                back_to = match.end()
            else:
                yield match.group().lower()


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
    cleared = sorted(logs.sessions.loc[logs.sessions["kind"] == CLEARED, "date"])
    since = start - pd.Timedelta(days=HELD_BEFORE_DAYS)
    notes = []
    for source in SOURCES:
        frame = logs.frame(source)
        for row in records(frame[(frame["note"] != "") & (frame["date"] >= since)]):
            # what a physician or physiotherapist wrote when clearing is no new injury
            words = () if source == "sessions" and row.kind == CLEARED else injury_words(row.note)
            injury = bool(words) or (source == "sessions" and row.kind == "injured")
            # a note of the same day may have been written after the physician had looked
            past = next((at for at in cleared if at > row.date), None) if injury else None
            if row.date < start and (not injury or (past is not None and past < start)):
                continue
            sites = sites_in(row.note)
            if source == "pain" and row.site and not sites:
                sites = (row.site,)
            said = side_in(row.note) or (row.side if source == "pain" else "")
            said = said or _side_of_pain(row.date, sites, logs.pain)
            side: Side = said if said in ("left", "right", "both") else ""
            notes.append(
                Note(
                    date=row.date,
                    source=source,
                    side=side,
                    text=row.note,
                    injury=injury,
                    words=words,
                    sites=sites,
                    past=past,
                    file=row.file,
                    line=int(row.line),
                    energy=speaks_of_eating_less(row.note),
                )
            )
    notes.sort(key=lambda n: (n.date, SOURCES.index(n.source), n.file, n.line))
    return Notes(tuple(notes), start, end)


def _side_of_pain(day: pd.Timestamp, sites: tuple[str, ...], pain: pd.DataFrame) -> str:
    """The one side of the pain felt about a day at a named elbow, shoulder or wrist."""
    if not sites or {*sites} & {"finger", *FINGER_SITES}:
        return ""
    near = {
        row.side
        for row in records(pain, "date", "site", "side", "level", "sign")
        if (row.level != 0 or row.sign) and abs((row.date - day).days) <= SAME_PAIN_DAYS
        if any(row.site == one or row.site.startswith(f"{one}_") for one in sites)
    }
    return near.pop() if len(near) == 1 else ""
