"""The bases of a formula, wherever they stand, and whether acid polymers get one."""

from __future__ import annotations

from formcheck.bench.composition import Part
from formcheck.bench.worksheet import Worksheet, once
from formcheck.reference.material import Material
from formcheck_rules.thickening._water import thickeners

BASES = ("base", "soap")
PH_STEPS = ("neutralise", "adjust pH")


@once
def bases(sheet: Worksheet) -> list[Material]:
    """Every base of the formula, once, in the order of mention."""
    found = {part.material.name: part.material for part in sheet.inside(*BASES)}
    for step in sheet.formula.procedure:
        if step.verb in PH_STEPS:
            for name in step.with_:
                material = sheet.book.find(name)
                if material is not None and material.is_a(*BASES):
                    found.setdefault(material.name, material)
    return list(found.values())


@once
def acid_polymers(sheet: Worksheet) -> list[Part]:
    """Thickeners that thicken only once a base has come to them."""
    return [part for part in thickeners(sheet) if sheet.value(part.material, "needs neutralising")]


@once
def neutralised(sheet: Worksheet) -> bool:
    """A base among the phases or in a step, a step that neutralises with something unnamed, or an alkaline material."""
    if bases(sheet) or any(step.verb in PH_STEPS and not step.with_ for step in sheet.formula.procedure):
        return True
    if any(step.verb == "neutralise" for step in sheet.formula.procedure):
        return True
    own = [sheet.value(part.material, "as supplied pH") for part in sheet.parts]
    basic = sheet.limit("alkaline enough to neutralise")
    return any(pH is not None and pH.low is not None and pH.low >= basic for pH in own) or _by_buffers(sheet)


def _by_buffers(sheet: Worksheet) -> bool:
    """Whether salts such as phosphate neutralise at least half of the acid groups: the predicted pH passes their pKa,
    and the whole of its band lies where the polymer thickens. Lactate and the like stay below."""
    predicted = sheet.predicted_pH if sheet.holds("buffer") else None
    if predicted is None:
        return False
    polymers = acid_polymers(sheet)
    constants = [pKa for part in polymers for pKa in sheet.value(part.material, "pKa") or ()]
    windows = [sheet.value(part.material, "pH window") for part in polymers]
    least = max((window.low for window in windows if window is not None and window.low is not None), default=0.0)
    return bool(constants) and bool(predicted.pH >= max(constants)) and bool(predicted.low >= least)
