"""
What people write for the format's words, numbers and days, in English, German and French.

Only what can mean one thing is read. A word that stands under two meanings in the tables below
("crimp": half or full?) is not read; `meanings` names both.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cache
from typing import Final, Literal, NamedTuple

from gripbook.logs.schema import FILES, Column
from gripbook.units import KG_PER_LB, MM_PER_INCH

DateOrder = Literal["day-first", "month-first"]

#: Words by what they are about, the format's word, and language (en, de, fr), parted by bars.
WORDS: Final[Mapping[str, Mapping[str, Sequence[str]]]] = {
    "yes": {
        "yes": ("y|true|x|1|✓|✔", "ja|j|wahr", "oui|o|vrai"),
        "no": ("n|false|0", "nein|falsch", "non|faux"),
    },
    "hand": {
        "left": ("l|left hand|lh", "links|linke|li|linke hand", "gauche|g|main gauche"),
        "right": ("r|right hand|rh", "rechts|rechte|re|rechte hand", "droite|droit|d|main droite"),
        "both": (
            "b|two|2|both hands|two hands|two arms|2 arms|l+r|r+l|l/r|lr",
            "beide|beidhändig|beidarmig|beide hände|zwei",
            "deux|les deux|deux mains|bimanuel",
        ),
    },
    "grip": {
        "half_crimp": (
            "half|half crimp|halfcrimp|hc|crimp",
            "halbcrimp|halb aufgestellt|halbaufgestellt|halb|aufgestellt",
            "semi arqué|semi arquée|demi arqué|demi arquée",
        ),
        "full_crimp": (
            "full|full crimp|fullcrimp|closed crimp|fc|crimp",
            "vollcrimp|voll aufgestellt|ganz aufgestellt|aufgestellt",
            "arqué|arquée",
        ),
        "open_four": (
            "open four|open 4|four finger open|4 finger open|four finger open hand|open|open hand",
            "offen vier|vierfinger hängend|4 finger hängend|hängend|offen|offene hand",
            "tendu quatre doigts|tendu 4 doigts|tendu|tendue|main ouverte",
        ),
        "open_three": (
            "open three|open 3|three finger open|3 finger open|three finger drag|3 finger drag"
            "|front three|front 3|front three drag|front 3 drag|drag|open|open hand",
            "offen drei|dreifinger hängend|3 finger hängend|dreifinger|hängend|offen|offene hand",
            "tendu trois doigts|tendu 3 doigts|tendu|tendue|main ouverte",
        ),
        "pinch": ("", "zange|zangengriff", "pince|pincée"),
        "sloper": ("slopers", "aufleger", "plat|aplat"),
        "pocket_two": (
            "two finger pocket|2 finger pocket|pocket 2",
            "zweifingerloch|2 finger loch",
            "bidoigt|bi doigt",
        ),
        "pocket_one": (
            "one finger pocket|1 finger pocket|mono|pocket 1",
            "einfingerloch|1 finger loch|mono",
            "monodoigt|mono doigt|mono",
        ),
    },
    "exercise": {
        "hang": (
            "hangs|max hang|max hangs|dead hang|timed hang|hanging",
            "hängen|maximalhängen|hang",
            "suspension|suspensions",
        ),
        "repeater": ("repeaters|rep", "intervall|intervalle|wiederholer", "intermittent|répétés"),
        "pull": ("pulls|one arm pull|all out pull|max pull", "zug|ziehen", "traction isométrique"),
    },
    "load_kind": {
        "steady": ("held", "gehalten", "tenu"),
        "peak": ("highest|peak force", "spitze|spitzenwert", "pic"),
        "guess": ("guessed|estimate|estimated", "geschätzt|schätzung", "estimé|estimation"),
    },
    "stopped": {
        "slip": ("slipped", "abgerutscht|gerutscht|rutscher", "glissé|glissade"),
        "skin": ("skin", "haut", "peau"),
        "pain": ("hurt|painful", "schmerz|schmerzen", "douleur"),
        "choice": ("own choice|chose to stop", "freiwillig|abgebrochen", "choix|volontaire"),
    },
    "kind": {
        "fingers": (
            "finger|hangboard|fingerboard|finger training|hangboarding",
            "fingertraining|fingerkraft|hangboard",
            "doigts|poutre",
        ),
        "core": ("core training|abs", "rumpf|rumpfkraft|bauch|core", "gainage|abdos"),
        "antagonist": (
            "antagonists|push",
            "antagonisten|antagonistentraining|ausgleich",
            "antagonistes|antagoniste",
        ),
        "mobility": (
            "stretching|flexibility|stretch",
            "mobilität|beweglichkeit|dehnen",
            "mobilité|souplesse|étirements",
        ),
        "climbing": (
            "climb|boulder|bouldering|lead|lead climbing|route climbing",
            "klettern|bouldern|vorstieg|seilklettern",
            "escalade|bloc|grimpe",
        ),
        "other": ("misc", "anderes|sonstiges", "autre"),
        "rest": ("rest day", "ruhe|ruhetag|pause", "repos"),
        "ill": ("sick|sickness|illness", "krank|krankheit", "malade|maladie"),
        "away": ("holiday|travel|vacation", "urlaub|reise|ferien", "vacances|voyage|absent"),
        "injured": ("injury", "verletzt|verletzung", "blessé|blessée|blessure"),
    },
    "place": {
        "rock": ("outdoor|outdoors|outside|crag", "fels|draußen|draussen", "rocher|extérieur"),
        "indoor": ("indoors|inside|gym", "halle|drinnen|innen", "salle|intérieur"),
    },
    "when": {
        "during": ("while", "während|dabei", "pendant"),
        "after": ("afterwards", "nach|danach|nachher", "après"),
        "morning": ("next morning", "morgen|morgens|am morgen", "matin|le matin"),
    },
    "site": {
        "index": ("index finger|pointer", "zeigefinger", "index"),
        "middle": ("middle finger", "mittelfinger", "majeur|médius"),
        "ring": ("ring finger", "ringfinger", "annulaire"),
        "little": ("little finger|pinky|pinkie", "kleiner finger|kleinfinger", "auriculaire"),
        "thumb": ("thumb", "daumen", "pouce"),
        "palm": ("palm", "handfläche|handteller", "paume"),
        "wrist": ("wrist", "handgelenk", "poignet"),
        "forearm": ("forearm", "unterarm", "avant bras"),
        "elbow_inner": (
            "inner elbow|elbow inner|inside elbow",
            "ellbogen innen|ellenbogen innen|innerer ellbogen",
            "coude intérieur|coude interne",
        ),
        "elbow_outer": (
            "outer elbow|elbow outer|outside elbow",
            "ellbogen außen|ellenbogen außen|äußerer ellbogen",
            "coude extérieur|coude externe",
        ),
        "shoulder": ("shoulder", "schulter", "épaule"),
    },
    "sign": {
        "pop": ("popped|a pop", "knall|schnalzer", "claquement"),
        "swelling": ("swollen", "schwellung|geschwollen", "gonflement|gonflé"),
        "stiff": ("stiffness", "steif|steifheit", "raide|raideur"),
    },
    "unit": {
        "s": ("sec|secs|second|seconds", "sek|sekunde|sekunden", "seconde|secondes"),
        "cm": ("centimetre|centimetres|centimeter", "zentimeter", "centimètre|centimètres"),
        "kg": ("kgs|kilo|kilos", "kilogramm", "kilogramme|kilogrammes"),
        "reps": ("rep|repetitions", "wdh|wiederholungen", "répétitions"),
    },
    "units": {
        "kg": ("kgs|kilo|kilos|kilograms|metric", "kilogramm", "kilogrammes"),
        "lb": ("lbs|pound|pounds", "pfund", "livres"),
    },
    "scale": {
        "french": ("french|sport", "französisch", "français|française|cotation française"),
        "yds": ("yosemite", "yds", "yds"),
        "uiaa": ("uiaa", "uiaa", "uiaa"),
        "font": ("fontainebleau|fb", "fontainebleau", "fontainebleau|bleau"),
        "v": ("v scale|v grade", "v skala", "échelle v"),
        "ewbank": ("australian", "australisch", "australienne"),
    },
    "style": {
        "onsight": ("on sight|os", "on sight", "à vue"),
        "flash": ("flashed", "geflasht", "flashé"),
        "redpoint": ("red point|rp|sent|send", "rotpunkt", "après travail|enchaîné"),
        "attempt": ("try|tried|project", "versuch|projekt", "essai|projet"),
    },
}

#: Words of a file's columns by file ("" where no file makes a difference) and language.
#: Units may follow in brackets.
COLUMNS: Final[Mapping[str, Mapping[str, Sequence[str]]]] = {
    "": {
        "athlete": ("who|climber|person|name", "athlet|athletin|wer|name", "athlète|grimpeur|nom"),
        "date": ("day", "datum|tag", "jour"),
        "session": ("workout|session name", "einheit", "séance"),
        "note": (
            "notes|comment|comments|remark|remarks",
            "notiz|notizen|bemerkung|bemerkungen|kommentar",
            "note|remarque|remarques|commentaire|commentaires",
        ),
        "hand": ("hands|arm", "hände", "main|mains|bras"),
        "side": ("side", "seite", "côté"),
        "place": ("location|where", "ort", "lieu"),
    },
    "hangs": {
        "order": ("no|number", "reihenfolge|nr|nummer", "ordre"),
        "sets": (
            "set count|number of sets",
            "sätze|anzahl sätze|satzzahl",
            "séries|nombre de séries",
        ),
        "exercise": ("type", "übung|art", "exercice"),
        "test": ("max test|maximal test", "maximaltest", "test max"),
        "warmup": ("warm up|warming up", "aufwärmen", "échauffement"),
        "grip": (
            "grip type|hold|position of fingers",
            "griff|griffart|grifftyp",
            "prise|préhension",
        ),
        "edge_mm": (
            "edge|edge depth|edge size|depth|hold size|mm",
            "leiste|leistentiefe|tiefe|kante",
            "réglette|profondeur|arête",
        ),
        "board": ("hangboard", "board", "poutre"),
        "added_kg": (
            "added|added weight|extra weight|weight|additional weight|load|kg",
            "zusatzgewicht|zusatz|zusatzlast|gewicht|last",
            "lest|poids ajouté|charge ajoutée|poids|charge",
        ),
        "scale_kg": ("scale|scale reading", "waage|waagenanzeige", "balance"),
        "stand_kg": ("standing|standing weight", "standgewicht", "poids debout"),
        "force_kg": ("force|gauge|lifted", "kraft|gehobenes gewicht", "force|force mesurée"),
        "hang_s": (
            "hang time|hold time|duration|planned seconds|hang|seconds|secs|sec",
            "hängezeit|haltezeit|dauer|sekunden|sek",
            "durée|temps de suspension|temps",
        ),
        "rest_s": ("rest|rest time|rest between reps", "pause|pausenzeit", "repos|récupération"),
        "reps": ("repetitions|holds", "wdh|wiederholungen", "répétitions"),
        "reps_done": ("reps finished|holds done", "wdh geschafft", "répétitions faites"),
        "failed_s": ("failed at|fell at|failed", "gefallen bei|abgefallen", "échec à"),
        "stopped": ("stopped because|why stopped", "abbruch|abbruchgrund", "arrêt"),
        "reserve_s": ("reserve|seconds left", "reserve|rest übrig", "réserve"),
        "reserve_reps": ("reps left|reps in reserve|rir", "wdh übrig", "répétitions en réserve"),
    },
    "body": {
        "body_mass_kg": (
            "body mass|body weight|bodyweight|weight|bw|mass",
            "körpergewicht|körpermasse|gewicht|kgw",
            "poids|poids de corps|poids du corps|masse",
        ),
    },
    "sessions": {
        "start": ("time|start time", "beginn|uhrzeit|start", "heure|début"),
        "kind": ("type|activity", "art|aktivität", "type|activité"),
        "until": ("to|end|until", "bis", "jusqu au|fin"),
        "minutes": ("duration|length|min|mins", "dauer|minuten", "durée|minutes"),
        "effort": (
            "rpe|srpe|session rpe|exertion",
            "anstrengung|rpe|belastung",
            "effort|rpe|difficulté ressentie",
        ),
    },
    "pain": {
        "when": ("when", "wann", "quand"),
        "site": ("where|location|body part|place", "wo|ort|stelle", "où|lieu|endroit"),
        "level": ("pain|pain level|intensity", "schmerz|stärke|schmerzen", "douleur|intensité"),
        "sign": ("signs|symptom", "zeichen|anzeichen", "signe"),
    },
    "measures": {
        "measure": ("what|test|exercise", "messung|was|übung", "mesure|quoi"),
        "value": ("result", "wert|ergebnis", "valeur|résultat"),
        "unit": ("units", "einheit", "unité"),
    },
    "climbs": {
        "grade": ("difficulty", "grad|schwierigkeit|schwierigkeitsgrad", "cotation|difficulté"),
        "scale": ("grading|grade scale", "skala", "échelle"),
        "style": ("ascent", "stil|begehung", "style"),
    },
    "athletes": {
        "name": ("full name|shown name", "anzeigename", "nom affiché"),
        "born": (
            "birth year|year of birth",
            "geboren|geburtsjahr|jahrgang",
            "né en|année de naissance",
        ),
        "fingers_since": (
            "fingers since|hangboarding since",
            "fingertraining seit",
            "doigts depuis",
        ),
        "units": ("unit", "einheiten|einheit", "unités"),
        "show_body_mass": ("show weight|show body mass", "gewicht zeigen", "montrer le poids"),
    },
}

#: Names of months from January on, by language; three letters are enough where they decide.
MONTHS: Final = (
    "january february march april may june july august september october november december",
    "januar februar märz april mai juni juli august september oktober november dezember",
    "janvier février mars avril mai juin juillet août septembre octobre novembre décembre",
)
#: Shorter names that aren't a month's first three letters, and other spellings.
_MORE_MONTHS: Final = {"sept": 9, "jänner": 1, "feber": 2, "mrz": 3, "juil": 7, "fev": 2, "dec": 12}
#: Days of the week from Monday on, by language, as they begin.
WEEKDAYS: Final = (
    "mon tue wed thu fri sat sun",
    "mo di mi do fr sa so",
    "lun mar mer jeu ven sam dim",
)
#: How a row of sums begins.
TOTALS: Final = (
    "total totals sum average mean avg",
    "summe gesamt durchschnitt mittel mittelwert schnitt",
    "somme moyenne totaux",
)

#: Units by dimension, as written, with what one is of the dimension's first.
_UNITS: Final[Mapping[str, Mapping[str, float]]] = {
    "mass": {
        **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogramm", "kilogramme"), 1.0),
        **dict.fromkeys(("lb", "lbs", "pound", "pounds", "livres", "#"), KG_PER_LB),
    },
    "length": {
        "mm": 1.0,
        "cm": 10.0,
        **dict.fromkeys(("in", "inch", "inches", '"', "″", "zoll"), MM_PER_INCH),
    },
    "time": {
        **dict.fromkeys(("s", "sec", "secs", "second", "seconds", "sek", "sekunden"), 1.0),
        **dict.fromkeys(("secondes", '"', "″"), 1.0),
        **dict.fromkeys(("min", "mins", "minute", "minutes", "minuten", "'", "′"), 60.0),
        **dict.fromkeys(("h", "hour", "hours", "std", "stunden", "heures"), 3600.0),
    },
    "count": dict.fromkeys(
        ("x", "×", "set", "sets", "satz", "sätze", "série", "séries", "rep", "reps", "wdh"), 1.0
    ),
    "tenths": {"/10": 1.0},
}
#: How a column's name ends, its dimension, and what one of its unit is of the dimension's first.
_DIMENSIONS: Final[Mapping[str, tuple[str, float]]] = {
    "_kg": ("mass", 1.0),
    "_mm": ("length", 1.0),
    "_s": ("time", 1.0),
    "minutes": ("time", 60.0),
    "effort": ("tenths", 1.0),
    "level": ("tenths", 1.0),
    "sets": ("count", 1.0),
    "reps": ("count", 1.0),
    "reps_done": ("count", 1.0),
}
_BODY_MASS: Final = r"(?:bw|body ?weight|körpergewicht|kgw|pdc|poids du corps)"

_QUANTITY = re.compile(
    r"([+\-\u2212]?)\s*(\d+(?:[.,]\d+)?|[.,]\d+)\s*([^\d\s+\-.,][^\d+\-]*|/\s*10)"
)
_BODY_AND = re.compile(rf"{_BODY_MASS}(?:\s*([+\-\u2212])\s*(\d.*))?", re.IGNORECASE)
_HOURS = re.compile(r"(\d{1,2})\s*h\s*(\d{1,2})(?:\s*min)?", re.IGNORECASE)
_YEAR_FIRST = re.compile(
    r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?)?"
)
_YEAR_LAST = re.compile(r"(\d{1,2})([./-])\s?(\d{1,2})\2\s?(\d{4}|\d{2})\.?")
_DAY_MONTH = re.compile(
    r"(\d{1,2})(?:\.|st|nd|rd|th|er)?\s*[- ]?\s*([^\W\d]+)\.?,?\s*[- ]?\s*(\d{4})"
)
_MONTH_DAY = re.compile(r"([^\W\d]+)\.?\s*(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})")
_WEEKDAY = re.compile(r"([^\W\d]{2,10})[.,]?\s+(?=\d|[^\W\d]+\.?\s*\d)")


def bare(text: str) -> str:
    """A word without case, accents and signs between its parts."""
    word = unicodedata.normalize("NFKD", text.casefold())
    word = "".join(c for c in word if not unicodedata.combining(c))
    return " ".join(re.split(r"[\s\-_./,:;()\[\]+']+", word)).strip()


def _by_word(table: Mapping[str, Sequence[str]]) -> dict[str, tuple[str, ...]]:
    """The meanings of each bare word of a table, the format's words among them."""
    meant: dict[str, list[str]] = {}
    for meaning, languages in table.items():
        for word in (meaning, *(w for words in languages for w in words.split("|"))):
            key = bare(word)
            if key and meaning not in meant.setdefault(key, []):
                meant[key].append(meaning)
    return {word: tuple(m) for word, m in meant.items()}


@cache
def _words_of(about: str) -> Mapping[str, tuple[str, ...]]:
    return _by_word(WORDS.get(about, {}))


@cache
def _columns_of(file: str) -> Mapping[str, tuple[str, ...]]:
    names = {c.name for c in FILES[file].columns}
    shared = {name: words for name, words in COLUMNS[""].items() if name in names}
    return _by_word(shared | dict(COLUMNS[file]))


def meanings(text: str, column: Column, allowed: Collection[str]) -> tuple[str, ...]:
    """
    The format's words that a cell of `column` may stand for, in the order of the tables.

    Parameters
    ----------
    allowed : the words that the column takes.
    """
    word = bare(text)
    same = tuple(a for a in allowed if a and bare(a) == word)
    if same:
        return same
    about = {"yes": "yes", "grip": "grip"}.get(column.kind, column.name)
    about = "hand" if column.name == "side" else about
    read = _words_of(about).get(word) or _words_of(about).get(word.replace(" ", ""), ())
    return tuple(m for m in read if m in allowed)


def number_in(text: str, column: Column, factor: float = 1.0) -> str | None:
    """
    A number with its unit, or body mass with what is added to it, as the number alone.

    Parameters
    ----------
    factor : what a number of this column is multiplied by, to have the unit of the column's name
        (pounds under `added_lb`: 0.4536).

    Returns
    -------
    The number in the column's unit, None where the cell holds no number or a unit of another
    dimension.
    """
    ending = _ending(column)
    if column.name == "added_kg" and (body := _BODY_AND.fullmatch(text.strip())):
        sign, rest = body.groups()
        if rest is None:
            return "0"
        number = rest.strip() if is_plain_number(rest) else number_in(rest, column, factor)
        return None if number is None else (sign.replace("\u2212", "-") + number).lstrip("+")
    if ending == "minutes" and (hours := _HOURS.fullmatch(text.strip())):
        return str(60 * int(hours.group(1)) + int(hours.group(2)))
    quantity = _QUANTITY.fullmatch(text.strip())
    if not ending or not quantity:
        return None
    sign, digits, unit = quantity.groups()
    scale = unit_factor(unit, column)
    if scale is None:
        return None
    scale /= factor
    number = sign.replace("\u2212", "-").replace("+", "") + digits.replace(",", ".")
    return number if abs(scale - 1) < 1e-9 else f"{float(number) * scale:.10g}"


def is_plain_number(text: str) -> bool:
    """Whether a cell is a number alone, with decimal point or comma and at most a sign."""
    return re.fullmatch(r"[+\-\u2212]?\s*(?:\d+(?:[.,]\d*)?|[.,]\d+)", text.strip()) is not None


def unit_factor(unit: str, column: Column) -> float | None:
    """What numbers in a unit are multiplied by for a column's unit; None in another dimension."""
    ending = _ending(column)
    if not ending:
        return None
    dimension, one = _DIMENSIONS[ending]
    written = _UNITS[dimension].get(unit.strip().rstrip(".").casefold().replace(" ", ""))
    return None if written is None else written / one


def _ending(column: Column) -> str:
    """The end of a column's name that names its unit, "" where it has none."""
    return next(
        (e for e in _DIMENSIONS if column.name == e or (e[0] == "_" and column.name.endswith(e))),
        "",
    )


@cache
def _months() -> Mapping[str, int]:
    """Month by bare name or beginning of at least three letters; those that may be two are out."""
    read: dict[str, set[int]] = {}
    for names in MONTHS:
        for number, name in enumerate(names.split(), 1):
            for k in range(3, len(bare(name)) + 1):
                read.setdefault(bare(name)[:k], set()).add(number)
    months = {name: min(numbers) for name, numbers in read.items() if len(numbers) == 1}
    return months | {bare(name): number for name, number in _MORE_MONTHS.items()}


def month_named(text: str) -> int | None:
    """The month (1 to 12) of a name, None where it is none or may be two ("jui")."""
    return _months().get(bare(text))


def _weekdays(word: str) -> set[int]:
    begin = bare(word)
    return {
        day
        for names in WEEKDAYS
        for day, name in enumerate(names.split())
        if begin.startswith(name)
        and (len(name) == 3 or len(begin) <= 3 or begin.endswith("g") or begin == "mittwoch")
    }


def proven_order(texts: Iterable[str]) -> DateOrder | None:
    """The order of day and month that a column's days prove, None where they don't."""
    proof = proof_of_order(texts)
    return proof[0] if proof else None


def year_last(text: str) -> bool:
    """Whether a day is written in numbers, with its year behind day and month."""
    return _YEAR_LAST.fullmatch(_without_weekday(text.strip())[0]) is not None


def proof_of_order(texts: Iterable[str]) -> tuple[DateOrder, str] | None:
    """
    The order of day and month that a column's days prove, and the day that does.

    One that can't be read the other way (17.09.2026) is enough, two that contradict each other
    prove nothing.

    A year of two digits proves it only after points or slashes: 17-09-26 may begin with its year.
    """
    proofs: dict[DateOrder, str] = {}
    for text in texts:
        match = _YEAR_LAST.fullmatch(_without_weekday(text.strip())[0])
        if not match or (len(match.group(4)) == 2 and match.group(2) == "-"):
            continue
        first, second = int(match.group(1)), int(match.group(3))
        if 12 < first <= 31 and 1 <= second <= 12:
            proofs.setdefault("day-first", text)
        if 12 < second <= 31 and 1 <= first <= 12:
            proofs.setdefault("month-first", text)
    return next(iter(proofs.items())) if len(proofs) == 1 else None


def may_be_two_days(text: str) -> bool:
    """Whether a day's text has its year last, and day and month may be either way round."""
    match = _YEAR_LAST.fullmatch(_without_weekday(text.strip())[0])
    return match is not None and match.group(1) != match.group(3)


def _without_weekday(text: str) -> tuple[str, set[int]]:
    """A day's text without the day of the week before it, and which days that may be."""
    match = _WEEKDAY.match(text)
    days = _weekdays(match.group(1)) if match and month_named(match.group(1)) is None else set()
    if match and days:
        return text[match.end() :], days
    return text, set()


def date_in(text: str, order: DateOrder | None, latest: dt.date) -> str | None:
    """
    A day as the format writes it (2026-12-05), None where it isn't sure.

    Parameters
    ----------
    order : of day and month, where it is known.
    latest : a year of two digits isn't read as one after it.
    """
    rest, weekdays = _without_weekday(text.strip())
    year = month = day = 0
    if match := _YEAR_FIRST.fullmatch(rest):
        year, month, day = (int(g) for g in match.groups())
    elif (match := _YEAR_LAST.fullmatch(rest)) and order:
        first, sign, second, last = match.groups()
        if len(last) == 2:
            if sign == "-" or 2000 + int(last) > latest.year:
                return None
            last = f"20{last}"
        year = int(last)
        day, month = (
            (int(first), int(second)) if order == "day-first" else (int(second), int(first))
        )
    elif (
        (match := _YEAR_LAST.fullmatch(rest))
        and len(match.group(4)) == 4
        and match.group(1) == match.group(3)
    ):
        year, month, day = int(match.group(4)), int(match.group(3)), int(match.group(1))
    elif match := _DAY_MONTH.fullmatch(rest):
        year, month, day = (
            int(match.group(3)),
            month_named(match.group(2)) or 0,
            int(match.group(1)),
        )
    elif match := _MONTH_DAY.fullmatch(rest):
        year, month, day = (
            int(match.group(3)),
            month_named(match.group(1)) or 0,
            int(match.group(2)),
        )
    try:
        date = dt.date(year, month, day)
    except ValueError:
        return None
    return date.isoformat() if not weekdays or date.weekday() in weekdays else None


class ColumnRead(NamedTuple):
    """A column that a header's name means, and what its numbers are multiplied by."""

    column: str
    factor: float


_HEADER_UNIT = re.compile(
    r"(.*?)[\s_]*[(\[]?\s*\b(kg|kgs|lb|lbs|mm|cm|in|inch|inches|s|sec|sek|min|mins|minuten)\.?\s*[)\]]?"
)


def columns_named(name: str, file: str) -> tuple[ColumnRead, ...]:
    """
    The columns of a file of the format that a header's name may mean; empty where none is known.

    Units in the name ("Leiste (cm)", "weight lbs") decide the factor; one of another dimension
    than the column's means another column.
    """
    words = _columns_of(file)
    whole = tuple(ColumnRead(c, 1.0) for c in words.get(bare(name), ()))
    match = _HEADER_UNIT.fullmatch(name.strip())
    if whole or not match:
        return whole
    stem, unit = match.group(1), match.group(2).casefold()
    factors = {
        column: unit_factor(unit, FILES[file].by_name[column])
        for column in words.get(bare(stem), ())
    }
    return tuple(ColumnRead(c, factor) for c, factor in factors.items() if factor is not None)


#: Names under which people write weight added, body mass, or the sum of both.
_ANY_MASS: Final = frozenset({"weight", "load", "gewicht", "last", "poids", "charge", "kg"})


def may_be_any_mass(name: str) -> bool:
    """Whether a header's name may as well mean weight added as body mass (`Weight`, `Gewicht`)."""
    match = _HEADER_UNIT.fullmatch(name.strip().casefold())
    return bool({bare(name), bare(match.group(1)) if match else ""} & _ANY_MASS)


def proves_added(
    cells: Iterable[str], factor: float = 1.0, body_masses: Iterable[str] = ()
) -> bool:
    """
    Whether the cells of a column called `weight` can only be weight added.

    A sign, body mass with something added to it (BW+5), or a figure that is below every body mass
    beside it proves it; where none stands beside, one below the least that the format takes.

    Parameters
    ----------
    factor : from the unit in the column's name to kg.
    body_masses : cells of a column of body mass in the same table.
    """
    column, body = FILES["hangs"].by_name["added_kg"], FILES["body"].by_name["body_mass_kg"]
    masses = [float(n) for text in body_masses if (n := _figure(text, body))]
    least = min(masses, default=body.low)
    for text in cells:
        if text.strip()[:1] in ("+", "-", "\u2212") or _BODY_AND.fullmatch(text.strip()):
            return True
        number = _figure(text, column)
        if number is not None and float(number) * factor < least:
            return True
    return False


def _figure(text: str, column: Column) -> str | None:
    number = text.strip() if is_plain_number(text) else number_in(text, column)
    return None if number is None else number.replace(",", ".").replace("\u2212", "-")


def is_total(text: str) -> bool:
    """Whether a row that begins with this cell is one of sums."""
    first = bare(text).split(" ")[0]
    return any(first in names.split() for names in TOTALS)
