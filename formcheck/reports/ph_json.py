"""The pH of a formula as data: a documented, versioned JSON document.

{"format": 1, "file", "name", "predicted pH", "band": [low, high], "not predicted": why or null,
 "left out": [name], "left out because": {name: why}, "target": [low, high] or null, "measured pH" or null,
 "windows": [{"name", "kind", "low", "high", "says", "certainty", "counts", "holds target", "source"}],
 "common range": [low, high] or null,
 "clash": {"range": [low, high], "agree": [name], "replace": [{"name", "alternatives": [name]}]} or null,
 "plan": {"reagent", "strength", "step", "start", "start pH", "target pH", "grams", "grams range": [low, high], "drops",
          "drop", "percent of batch", "buffer capacity", "steps": [{"grams", "drops", "expected pH", "then"}],
          "assumed": [text], "advice": [text]} or null,
 "plan missing": what to give, or null, "earlier plans": [{"step", "plan", "plan missing"}], "cautions": [text]}

Open ends of windows and ranges are null. strength, percent of batch: % w/w; drop: mL, null for a powder; buffer
capacity: mol/(L pH).
"""

from __future__ import annotations

import json
from typing import Any

from ..bench.adjusting import Planned
from ..bench.ph_overview import Overview
from ..bench.titration import Plan, Step
from ..bench.windows import SCALE, Window
from ..bench.worksheet import Worksheet

FORMAT = 1


def render(file: str, sheet: Worksheet, found: Overview) -> str:
    """The whole document, ending in a newline."""
    return json.dumps(as_data(file, sheet, found), indent=2) + "\n"


def as_data(file: str, sheet: Worksheet, found: Overview) -> dict[str, Any]:
    """The overview as plain data."""
    prediction = found.prediction
    return {
        "format": FORMAT,
        "file": file,
        "name": sheet.formula.name,
        "predicted pH": None if prediction is None else round(prediction.pH, 2),
        "band": None if prediction is None else [round(prediction.low, 2), round(prediction.high, 2)],
        "not predicted": found.not_predicted or None,
        "left out": [each.name for each in found.left_out],
        "left out because": {each.name: each.why for each in found.left_out},
        "target": None if found.target is None else list(found.target),
        "measured pH": found.measured,
        "windows": [_window(sheet, window, found.target) for window in found.windows],
        "common range": None if found.common is None else _ends(*found.common),
        "clash": _clash(found),
        "plan": _plan(sheet, found.planned),
        "plan missing": found.planned.missing or None,
        "earlier plans": [
            {"step": each.step, "plan": _plan(sheet, each), "plan missing": each.missing or None}
            for each in found.earlier
        ],
        "cautions": list(found.cautions),
    }


def _window(sheet: Worksheet, window: Window, target: tuple[float, float] | None) -> dict[str, Any]:
    return {
        "name": window.name,
        "kind": window.kind,
        "low": window.low,
        "high": window.high,
        "says": window.says,
        "certainty": window.certainty,
        "counts": window.counts,
        "holds target": None if target is None else holds(sheet, window, target),
        "source": sheet.cite(window.fact) if window.fact else "",
    }


def holds(sheet: Worksheet, window: Window, target: tuple[float, float]) -> bool:
    """Whether the middle of the target lies in a window, within the grace at its edge."""
    return window.apart((target[0] + target[1]) / 2) <= sheet.limit("grace at the edge of a pH window") + 1e-9


def _ends(low: float, high: float) -> list[float | None]:
    return [None if low <= SCALE[0] else low, None if high >= SCALE[1] else high]


def _clash(found: Overview) -> dict[str, Any] | None:
    if found.clash is None:
        return None
    return {
        "range": _ends(found.clash.low, found.clash.high),
        "agree": [each.name for each in found.clash.agreeing],
        "replace": [{"name": each.name, "alternatives": list(each.alternatives)} for each in found.replace],
    }


def _plan(sheet: Worksheet, planned: Planned) -> dict[str, Any] | None:
    plan = planned.plan
    if plan is None:
        return None
    return {
        "reagent": plan.reagent,
        "strength": plan.strength_percent,
        "step": planned.step,
        "start": plan.start,
        "start pH": round(plan.start_pH, 2),
        "target pH": round(plan.target_pH, 3),
        "grams": _rounded(plan.grams),
        "grams range": [_rounded(plan.low_g), _rounded(plan.high_g)],
        "drops": plan.drops,
        "drop": sheet.limit("drop") if _by_drops(plan) else None,
        "percent of batch": _rounded(plan.percent_of_batch),
        "buffer capacity": _rounded(plan.buffer_capacity),
        "steps": [_step(step) for step in plan.steps],
        "assumed": list(plan.assumed),
        "advice": list(plan.advice),
    }


def _by_drops(plan: Plan) -> bool:
    return plan.drops is not None


def _step(step: Step) -> dict[str, Any]:
    return {
        "grams": _rounded(step.grams),
        "drops": step.drops,
        "expected pH": round(step.expected_pH, 2),
        "then": step.then,
    }


def _rounded(value: float) -> float:
    """Four significant digits: more than a balance shows, fewer than floating point does."""
    return float(f"{value:.4g}")
