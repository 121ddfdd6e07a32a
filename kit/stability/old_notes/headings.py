"""What people write over the columns of their notes: names in English, German and French, and the units behind them.

The words are common practice; none is a rule.
"""

from __future__ import annotations

import re
from functools import lru_cache

from kit.visible_text import plain_letters

#: Words by which a column is known, in the order in which a field looks for its own.
WORDS: dict[str, tuple[str, ...]] = {
    "batch": (
        "batch", "lot", "batch no", "batch number", "charge", "sample", "bottle", "jar", "which jar", "which bottle",
        "specimen", "vial", "flask", "container", "probe", "chargennummer", "flasche", "glas", "tiegel",
        "muster", "los",
        "ansatz", "echantillon", "flacon", "pot", "bouteille",
    ),
    "condition": (
        "condition", "storage", "kept in", "kept at", "place", "stored", "chamber", "temperature", "where",
        "stored at",
        "stored in", "storage place", "location", "shelf", "spot",
        "temp", "lagerung", "lagerort", "ort", "lagertemperatur",
        "temperatur",
        "aufbewahrung", "standort", "wo", "stockage", "lieu", "endroit", "conservation", "conserve a", "ou",
    ),
    "time_point": (
        "time point", "time_point", "timepoint", "pull", "interval", "week", "weeks", "age", "time", "days",
        "days since start", "after", "zeitpunkt", "woche", "wochen", "tage", "alter", "nach", "semaine", "semaines",
        "jours", "echeance", "apres",
    ),
    "observed_on": (
        "observed on", "observed_on", "seen on", "date", "day", "measured on", "datum", "when", "read on",
        "checked on",
        "looked at on", "date seen", "date measured", "date of reading", "test date", "gesehen am",
        "gemessen am", "tag",
        "messdatum", "abgelesen am", "prufdatum", "wann", "jour", "vu le", "mesure le", "lu le",
        "date de mesure", "quand",
    ),
    "observer": (
        "observer", "by", "who", "initials", "operator", "name", "read by", "measured by", "seen by", "checked by",
        "von", "wer", "kurzel", "prufer", "gemessen von", "abgelesen von", "par", "qui", "initiales",
        "mesure par", "vu par",
    ),
    "note": (
        "note", "notes", "comment", "comments", "remarks", "bemerkung", "bemerkungen", "kommentar", "kommentare",
        "anmerkung", "notiz", "notizen", "commentaire", "commentaires", "remarque", "remarques", "observations",
    ),
    "replicate": (
        "replicate", "measurement", "measurement no", "repeat", "wiederholung", "messung nr", "repetition", "essai",
    ),
    "attribute": (
        "attribute", "test", "parameter", "property", "what", "thing", "merkmal", "was", "eigenschaft", "parametre",
        "propriete", "quoi",
    ),
    "value": (
        "value", "reading", "result", "found", "wert", "messwert", "ergebnis", "valeur", "resultat", "lecture",
    ),
    "unit": ("unit", "units", "einheit", "unite"),
}  # fmt: skip

#: Other names by which a column of readings goes, under the key of the attribute.
OTHER_NAMES: dict[str, tuple[str, ...]] = {
    "appearance": ("look", "looks", "aussehen", "aspect", "apparence"),
    "odour": ("odor", "smell", "smells", "scent", "geruch", "duft", "odeur"),
    "colour": ("color", "farbe", "couleur", "lab", "l a b"),
    "ph": ("ph value", "phwert"),
    "viscosity": ("viscosity", "thick", "thickness", "viskositat", "viscosite"),
    "density": ("density", "dichte", "densite", "masse volumique"),
    "mass": ("weight", "bottle weight", "jar weight", "gewicht", "masse", "poids", "flaschengewicht"),
    "lower_layer": (
        "height lower", "lower height", "height lower layer", "lower phase", "bottom layer", "height bottom",
        "water height",
        "height water", "water layer", "height water layer", "untere phase", "untere schicht", "hohe unten",
        "wasserphase",
        "hohe wasserphase", "unten", "phase inferieure", "couche inferieure", "hauteur inferieure", "hauteur bas",
    ),
    "middle_layer": ("middle height", "height middle", "mittlere phase", "mittlere schicht", "couche du milieu"),
    "upper_layer": (
        "height upper", "upper height", "height upper layer", "upper phase", "top layer", "height top", "oil height",
        "height oil", "oil layer", "height oil layer", "obere phase", "obere schicht", "hohe oben", "olphase",
        "hohe olphase", "oben", "phase superieure", "couche superieure", "hauteur superieure", "hauteur haut",
    ),
    "minutes_to_separate": (
        "separation time", "separation", "minutes to separate", "separated after", "trennzeit",
        "zeit bis zur trennung",
        "temps de separation",
    ),
    "shakes_to_remix": ("shakes", "shakes needed", "schutteln", "schuttelbewegungen", "secousses"),
    "colour_note": ("colour seen", "color note", "farbton", "teinte"),
    "separation": ("separated", "separates", "split", "splits", "trennung", "getrennt", "separe"),
    "leak": ("leaks", "leaking", "loose cap", "undicht", "leck", "fuite"),
    "microbes": ("microbes", "germs", "plate count", "total count", "keimzahl", "germes"),
    "remark": (),
}  # fmt: skip

#: Words that change nothing about what a column holds.
_FILLERS = frozenset(
    {
        "measured", "measure", "measurement", "value", "values", "reading", "readings", "read", "seen",
        "observed", "found", "now", "today", "then",
        "the", "a", "of", "in", "at", "as", "no", "nr", "number", "gemessen",
        "gemessener", "gemessene", "gemessenes", "wert", "werte", "messwert", "der", "die", "das", "des",
        "nummer", "mesure", "mesuree", "valeur", "lu", "le", "la", "les", "l", "du", "de", "d", "en",
        "numero", "n", "which", "welche", "welches", "welcher", "quel", "quelle",
    }
)  # fmt: skip
#: A unit as it may stand over a column, without blanks and in small letters → as the kit writes it.
_UNITS: dict[str, str] = {
    **dict.fromkeys(("mm", "millimeter", "millimeters", "millimetre", "millimetres"), "mm"),
    **dict.fromkeys(("cm", "zentimeter", "centimeter", "centimeters", "centimetre", "centimetres"), "cm"),
    **dict.fromkeys(("in", "in.", "inch", "inches", '"', "″", "zoll", "pouce", "pouces"), "inch"),
    **dict.fromkeys(("°c", "ºc", "c", "degc", "celsius", "gradcelsius"), "°C"),
    **dict.fromkeys(("°f", "ºf", "f", "degf", "fahrenheit"), "°F"),
    **dict.fromkeys(("g", "gram", "grams", "gramm", "gramme", "grammes"), "g"),
    **dict.fromkeys(("kg", "kilogram", "kilogramm"), "kg"),
    **dict.fromkeys(("mg",), "mg"),
    **dict.fromkeys(("oz", "ounce", "ounces"), "oz"),
    **dict.fromkeys(("ml", "milliliter", "millilitre"), "mL"),
    **dict.fromkeys(("%", "percent", "prozent", "pourcent"), "%"),
    **dict.fromkeys(("mpa·s", "mpas", "mpa.s", "mpa*s", "mpa⋅s", "mpa-s"), "mPa·s"),
    **dict.fromkeys(("cp", "cps", "centipoise"), "cP"),
    **dict.fromkeys(("pa·s", "pas", "pa.s", "pa*s", "pa⋅s"), "Pa·s"),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds", "sek", "sekunden", "secondes"), "s"),
    **dict.fromkeys(("min", "mins", "minute", "minutes", "minuten"), "min"),
    **dict.fromkeys(("h", "hr", "hrs", "hours", "std", "stunden", "heures"), "h"),
    **dict.fromkeys(("g/ml", "g/cm3", "g/cm³", "g/ccm"), "g/mL"),
    **dict.fromkeys(("kg/m3", "kg/m³"), "kg/m³"),
    **dict.fromkeys(("cfu/g", "kbe/g", "ufc/g"), "CFU/g"),
    **dict.fromkeys(("cfu/ml", "kbe/ml", "ufc/ml"), "CFU/mL"),
}
#: Units that a maker can say where a heading leaves it open.
SAYABLE = ("mm", "cm", "inch", "g", "kg", "oz", "mPa·s", "cP", "Pa·s", "s", "min", "h", "g/mL", "kg/m³", "°C", "°F")
_IN_BRACKETS = re.compile(r"[\[(]\s*([^\[\]()]{1,20}?)\s*[\])]\s*$")
_WEEKS = frozenset({"week", "weeks", "wk", "woche", "wochen", "semaine", "semaines"})
_DAYS = frozenset({"day", "days", "tag", "tage", "jour", "jours"})


def written_unit(text: str) -> str:
    """A unit as the kit writes it; empty where the text is none that is known here.

    Examples
    --------
    >>> written_unit("Inches"), written_unit("mPa s"), written_unit("left jar")
    ('inch', 'mPa·s', '')
    """
    return _UNITS.get("".join(text.split()).casefold(), "")


@lru_cache(maxsize=1024)
def split_head(head: str) -> tuple[str, str]:
    """A heading without the unit at its end, and that unit as it stands there; "" where there is none.

    Examples
    --------
    >>> split_head("Height lower cm"), split_head("Lower layer [cm]"), split_head("Weight in g"), split_head("pH")
    (('Height lower', 'cm'), ('Lower layer', 'cm'), ('Weight', 'g'), ('pH', ''))
    """
    if found := _IN_BRACKETS.search(head):
        return head[: found.start()].strip(" ,;:-–/"), found[1]
    words = head.split()
    for count in (2, 1):
        unit = " ".join(words[-count:])
        if len(words) > count and written_unit(unit.strip("/,")):
            name = " ".join(words[:-count]).strip(" ,;:-–/")
            return re.sub(r"\s+(in|en|at|a|à)$", "", name, flags=re.IGNORECASE).strip(" ,;:-–/"), unit.strip("/,")
    return head, ""


def heading_key(name: str) -> frozenset[str]:
    """What a heading says, whatever the order of its words: without unit, fillers, accents and capitals.

    Examples
    --------
    >>> heading_key("Gemessener pH-Wert") == heading_key("pH measured")
    True
    """
    plain = plain_letters(re.sub(r"[\[(].*?[\])]|[_#°º*.:/]", " ", split_head(name)[0]))
    return frozenset(plain.split()) - _FILLERS


def counted_pull(head: str, text: str) -> str:
    """A bare number under "Week" counts weeks, one under "Days" days."""
    key = heading_key(head) | frozenset(plain_letters(head).split())
    if text.strip().isdigit():
        if key & _WEEKS:
            return f"{text.strip()} weeks"
        if key & _DAYS:
            return f"{text.strip()} days"
    return text
