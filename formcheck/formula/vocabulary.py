"""The words of the formula file: keys, verbs and the values that are limited to a list."""

from __future__ import annotations

from ..records import NamedTuple

FILE_KEYS = (
    "formcheck", "name", "code", "version", "note", "product", "batch", "room", "phases", "materials", "procedure",
    "finished", "packaging", "claims", "deviations",
)  # fmt: skip
PRODUCT_KEYS = ("use", "form", "area", "users", "markets")
BATCH_KEYS = ("size", "balance")
LINE_KEYS = ("percent", "grams", "lot", "note")
FINISHED_KEYS = ("pH", "measured pH")
PACKAGING_KEYS = ("container", "material", "wall", "carton", "size")
DEVIATION_KEYS = ("rule", "of", "reason", "accepted by", "until")

USES = ("leave-on", "rinse-off")
WALLS = ("clear", "frosted", "amber", "cobalt", "green", "opaque")
USERS = ("adults", "children", "children under 3", "pregnant", "professionals")
FORMS = (
    "gel", "serum", "toner", "lotion", "cream", "balm", "oil", "cleanser", "shampoo", "conditioner", "mask", "powder",
    "bar", "spray", "mist", "scrub", "salve", "ointment", "lip balm", "stick", "deodorant", "antiperspirant", "mousse",
    "foam", "soap", "bath", "paste", "toothpaste", "mouthwash", "sunscreen", "perfume", "hand rub", "solution",
    "emulsion", "butter", "make-up", "wipe", "patch", "syrup", "hair dye", "shaving", "self-tanner", "aftershave",
    "aerosol", "roll-on", "shower gel", "body wash", "bath oil", "make-up remover", "essence", "tonic", "milk", "suspension",
    "lipstick", "mascara", "foundation", "eye shadow", "eyeliner", "nail varnish", "depilatory", "hair straightener", "ampoule",
    "solid perfume", "micellar water", "liquid soap", "bubble bath", "peel", "concentrate", "film", "liniment", "hydrogel",
)  # fmt: skip
OTHER_FORMS = {
    "after shave": "aftershave", "bath bomb": "bath", "bath salt": "bath", "bath salts": "bath", "foam bath": "bubble bath",
    "cologne": "perfume", "eau de cologne": "perfume", "eau de parfum": "perfume", "eau de toilette": "perfume",
    "dry shampoo": "powder", "emulgel": "gel", "fluid": "lotion", "face wash": "cleanser", "hand wash": "cleanser",
    "hand sanitiser": "hand rub", "hand sanitizer": "hand rub", "lip gloss": "lip balm", "mouth rinse": "mouthwash",
    "nail enamel": "nail varnish", "nail lacquer": "nail varnish", "nail polish": "nail varnish", "pomade": "balm",
    "nail polish remover": "solution", "nail varnish remover": "solution", "shaving cream": "shaving", "sun cream": "sunscreen",
    "shaving foam": "shaving", "shaving soap": "shaving", "sun lotion": "sunscreen", "tooth powder": "powder", "wipes": "wipe",
    "talc": "powder", "unguent": "ointment", "wet wipes": "wipe", "lacquer": "nail varnish",
}  # fmt: skip
"""Other words for a form of product, without regard to case and hyphens."""
AREA_WORDS = {
    "baby": "body", "beard": "beard", "body": "body", "day": "face", "diaper": "nappy area", "eye": "eye area", "face": "face",
    "facial": "face", "foot": "feet", "hair": "hair", "hand": "hands", "lip": "lips", "mouth": "mouth", "nail": "nails",
    "nappy": "nappy area", "scalp": "scalp", "shampoo": "hair", "sheet": "face", "tooth": "mouth", "underarm": "underarm",
    "antiperspirant": "underarm", "armpit": "underarm", "cuticle": "nails", "deodorant": "underarm", "pomade": "hair",
}  # fmt: skip
"""Words that say where a product goes, before its form (hand cream, beard oil) or by themselves."""
AREAS = (
    "face", "eye area", "lips", "hands", "body", "scalp", "hair", "underarm", "feet", "nails", "nappy area", "mouth",
    "intimate area", "beard", "legs", "neck",
)  # fmt: skip


def form_of(text: str) -> tuple[str, tuple[str, ...]]:
    """A form of product in the words of the vocabulary, and where it goes as far as its name says: `hand cream`.

    What is not understood comes back as it is, in lower case.
    """
    written = " ".join(text.lower().split())
    if written in FORMS:
        return written, ()
    words = written.replace("-", " ").split()
    areas = tuple(dict.fromkeys(AREA_WORDS[word] for word in words if word in AREA_WORDS))
    for start in range(len(words)):
        last = " ".join(words[start:])
        found = OTHER_FORMS.get(last) or next((form for form in FORMS if form.replace("-", " ") == last), None)
        if found:
            return found, areas
    return written, ()


def area_of(text: str) -> str:
    """An area in the words of the vocabulary (`hand` is hands); what is not understood in lower case."""
    written = text.lower().strip()
    return AREA_WORDS.get(written, written)


SETTING_PH = ("neutralise", "adjust pH")
"""Verbs after which the pH is another, whatever goes in for it."""


class Verb(NamedTuple):
    """What may stand on a step. object: what the verb takes; keys: its conditions."""

    object: str
    keys: tuple[str, ...]


VERBS: dict[str, Verb] = {
    "add": Verb("phases or materials", ("into", "at", "over")),
    "sprinkle": Verb("phases or materials", ("into", "at", "over")),
    "disperse": Verb("materials", ("in",)),
    "heat": Verb("phases", ("to", "hold")),
    "cool": Verb("phases", ("to",)),
    "hold": Verb("phases", ("at", "for")),
    "hydrate": Verb("phases or materials", ("for", "at")),
    "mix": Verb("phases", ("for", "with")),
    "homogenise": Verb("phases", ("for",)),
    "neutralise": Verb("phases", ("with", "to", "strength", "amount")),
    "adjust pH": Verb("phases", ("to", "with", "strength", "amount")),
    "measure pH": Verb("phases", ()),
    "rest": Verb("phases", ("for",)),
    "filter": Verb("phases", ()),
    "fill": Verb("phases", ("at",)),
}
OTHER_SPELLINGS = {
    "homogenize": "homogenise",
    "neutralize": "neutralise",
    "adjust ph": "adjust pH",
    "measure ph": "measure pH",
}
