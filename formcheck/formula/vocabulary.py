"""The words of the formula file: keys, verbs and the values that are limited to a list."""

from __future__ import annotations

from typing import NamedTuple

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
    "solid perfume", "micellar water", "liquid soap", "peel", "concentrate", "film", "liniment", "hydrogel",
)  # fmt: skip
AREAS = (
    "face", "eye area", "lips", "hands", "body", "scalp", "hair", "underarm", "feet", "nails", "nappy area", "mouth",
    "intimate area", "beard", "legs", "neck",
)  # fmt: skip


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
