"""Where the acid-base model says that the pH ends, held against the stated pH."""

from formcheck.bench.acidbase import Prediction
from formcheck.bench.adjusting import is_adjuster
from formcheck.bench.composition import Item
from formcheck.bench.errors import OutOfRange
from formcheck.bench.waterphase import WaterPhase, predicted
from formcheck.bench.worksheet import Worksheet
from formcheck.review.words import number
from formcheck_rules.ph._beyond import watery


def astray(
    sheet: Worksheet, phase: WaterPhase, target: tuple[float, float], margin: float, side: int = 0
) -> Prediction | None:
    """The prediction where its whole band misses the target by more than a margin; None where it does not.

    side: -1 only below, 1 only above, 0 either. The band is worked out only where the pH itself is astray. None as well
    where traces that nobody weighs decide the pH.
    """
    if phase.refusal:
        return None
    low, high = target[0] - margin, target[1] + margin
    pH = pH_of(phase)
    if pH is None or not ((pH < low and side <= 0) or (pH > high and side >= 0)):
        return None
    prediction, _ = predicted(sheet, phase)
    if prediction is None or (prediction.low <= high and prediction.high >= low):
        return None
    return prediction if _tells(sheet, phase, prediction, target) else None


def pH_of(phase: WaterPhase) -> float | None:
    """The pH without its band; None where the model has none, as without any water."""
    try:
        return phase.pH()
    except OutOfRange:
        return None


def _tells(sheet: Worksheet, phase: WaterPhase, prediction: Prediction, target: tuple[float, float]) -> bool:
    """Whether the prediction is worth a finding: its band narrow, the water buffered, and more than traces missing."""
    if prediction.high - prediction.low > sheet.limit("widest band of a predicted pH"):
        return False
    if prediction.buffer_capacity < sheet.limit("least buffer of a predicted pH"):
        return False
    end = target[0] if prediction.pH < target[0] else target[1]
    try:
        missing = phase.brought_to(end).extra_charge_mol - phase.extra_charge_mol
    except OutOfRange:
        return False
    return abs(missing) / phase.batch_kg >= sheet.limit("least acid or base that is missing")


def unpredictable(sheet: Worksheet) -> bool:
    """Whether nothing can be predicted of it whatever is stated: no water to speak of, soap, or too much solvent."""
    made = sheet.preservation.soap_percent >= sheet.limit("liquid soap")
    return not watery(sheet) or made or bool(sheet.water_phase.refusal)


def told(prediction: Prediction) -> str:
    """`3.1 (3 to 3.3)`."""
    band = f"{number(round(prediction.low, 1))} to {number(round(prediction.high, 1))}"
    return f"{number(round(prediction.pH, 1))} ({band})"


def adjuster_lines(sheet: Worksheet, side: int) -> list[Item]:
    """Lines that are there for their pH alone: acids (-1) or bases (1)."""
    return [
        item
        for item in sheet.items
        if item.amount > 0 and is_adjuster(sheet, item) and item.material.is_a("acid" if side < 0 else "base")
    ]
