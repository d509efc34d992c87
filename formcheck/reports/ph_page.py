"""The pH of a formula on one page of a terminal: all windows on one scale, the prediction, and the way to the target.

The chart uses plain characters and needs no colour: [===] where something works, [---] where it only keeps, < and >
where an end is open, # the target, ~o~ the prediction with its band, x what was measured.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..bench.acidbase import Prediction
from ..bench.adjusting import Planned
from ..bench.ph_overview import Overview
from ..bench.titration import Plan
from ..bench.windows import KEEPS, SCALE, Window
from ..bench.worksheet import Worksheet
from ..review.words import grams, listed, number, span
from .ph_json import holds
from .safe_text import visible
from .wrapping import wrap

SHOWN = (2.0, 12.0)
_LABEL = 23
_TAIL = 13
_WIDE_BAND = 4.0


class PHPage:
    """Writes the page. width: columns; colour: whether headings may be bold."""

    def __init__(self, sheet: Worksheet, found: Overview, width: int = 80, colour: bool = False) -> None:
        self.sheet = sheet
        self.found = found
        self.width = width
        self.colour = colour
        self.step = max(2, (width - _LABEL - _TAIL - 4) // int(SHOWN[1] - SHOWN[0]))
        self.columns = int(SHOWN[1] - SHOWN[0]) * self.step + 1

    def lines(self, file: str) -> Iterator[str]:
        """The whole page."""
        formula = self.sheet.formula
        code = f" ({visible(formula.code)})" if formula.code else ""
        yield self.head(visible(formula.name) + code)
        yield visible(file)
        yield ""
        yield from self.facts()
        if self.found.windows:
            yield ""
            yield from self.chart()
            yield ""
            yield from self.agreement()
        yield ""
        yield from self.left_out()
        for planned in (*self.found.earlier, self.found.planned):
            yield from self.plan(planned)
        if self.found.cautions:
            yield self.head("Mind")
            for caution in self.found.cautions:
                yield from self.wrap(caution, "  ! ", "    ")

    def head(self, text: str) -> str:
        return f"\x1b[1m{text}\x1b[0m" if self.colour else text

    def wrap(self, text: str, first: str = "", rest: str = "") -> Iterator[str]:
        yield from wrap(visible(text), self.width, first, rest)

    # --- what is known

    def facts(self) -> Iterator[str]:
        found = self.found
        target = "not stated" if found.target is None else _range(*found.target)
        yield from self.fact("Target", target)
        if found.measured is not None:
            yield from self.fact("Measured", number(found.measured))
        if found.prediction is None:
            yield from self.fact("Predicted", f"not possible: {found.not_predicted}")
        else:
            yield from self.fact("Predicted", _predicted(found.prediction))

    def fact(self, label: str, text: str) -> Iterator[str]:
        yield from self.wrap(text, f"{label:<11}", " " * 11)

    def left_out(self) -> Iterator[str]:
        if not self.found.left_out:
            return
        yield self.head("Left out of the prediction, or doubtful in it")
        for each in self.found.left_out:
            yield from self.wrap(f"{each.name}, {number(each.percent, 3)} %: {each.why}", "  ", "    ")
        yield ""

    # --- the chart

    def chart(self) -> Iterator[str]:
        yield " " * (_LABEL + 1) + self.scale()
        for window in self.found.windows:
            yield self.row(_label(window), self.bar(window), self.tail(window))
        if self.found.target is not None:
            yield self.row("target", self.marks(self.found.target, "#"), _range(*self.found.target))
        if self.found.prediction is not None:
            prediction = self.found.prediction
            cells = self.marks((prediction.low, prediction.high), "~")
            cells[self.column(prediction.pH)] = "o"
            yield self.row("predicted", cells, number(round(prediction.pH, 1)))
        if self.found.measured is not None:
            yield self.row(
                "measured", self.marks((self.found.measured, self.found.measured), "x"), number(self.found.measured)
            )
        yield from self.legend()

    def legend(self) -> Iterator[str]:
        text = "[===] works, [---] only keeps, < > open end"
        target = self.found.target
        if target is not None and any(self.missed(window) for window in self.found.windows):
            text += "; ! the target lies outside"
        yield from self.wrap(text, " " * (_LABEL + 1), " " * (_LABEL + 1))

    def scale(self) -> str:
        line = ""
        for pH in range(int(SHOWN[0]), int(SHOWN[1]) + 1):
            line = line.ljust((pH - int(SHOWN[0])) * self.step) + str(pH)
        return line

    def column(self, pH: float) -> int:
        inside = min(max(pH, SHOWN[0]), SHOWN[1])
        return round((inside - SHOWN[0]) * self.step)

    def blank(self) -> list[str]:
        return ["." if column % self.step == 0 else " " for column in range(self.columns)]

    def marks(self, pH: tuple[float, float], mark: str) -> list[str]:
        cells = self.blank()
        for column in range(self.column(pH[0]), self.column(pH[1]) + 1):
            cells[column] = mark
        return cells

    def bar(self, window: Window) -> list[str]:
        low, high = window.ends
        cells = self.marks((low, high), "-" if window.says == KEEPS else "=")
        first, last = self.column(low), self.column(high)
        cells[first] = "<" if window.low is None or low < SHOWN[0] else "["
        cells[last] = ">" if window.high is None or high > SHOWN[1] else "]"
        return cells

    def tail(self, window: Window) -> str:
        mark = " !" if self.missed(window) else ""
        return span(window.range) + mark

    def missed(self, window: Window) -> bool:
        target = self.found.target
        return target is not None and window.counts and not holds(self.sheet, window, target)

    @staticmethod
    def row(label: str, cells: list[str], tail: str) -> str:
        return f"{label:<{_LABEL}} {''.join(cells)}  {tail}".rstrip()

    def agreement(self) -> Iterator[str]:
        found = self.found
        if found.clash is not None:
            kept = listed([each.name for each in found.clash.agreeing])
            yield from self.wrap(f"No pH suits all. {_between(found.clash.low, found.clash.high)} suits {kept}.")
            for each in found.replace:
                instead = f"; of its kind {listed(list(each.alternatives), 'or')} would do" if each.alternatives else ""
                yield from self.wrap(f"Replace {each.name}{instead}.", "  ", "    ")
        elif found.common is not None:
            yield from self.wrap(f"All agree at {_between(*found.common)}.")

    # --- the plan

    def plan(self, planned: Planned) -> Iterator[str]:
        step = f", step {planned.step}" if planned.step else ""
        if planned.plan is None:
            yield self.head(f"No plan{step}")
            yield from self.wrap(_sentence(planned.missing), "  ", "  ")
            yield ""
            return
        plan = planned.plan
        yield self.head(f"Plan{step}: from {number(plan.start_pH, 3)} ({plan.start}) to {number(plan.target_pH, 3)}")
        yield from self.wrap(self.amount(plan), "  ", "  ")
        for count, portion in enumerate(plan.steps, 1):
            drops = f" ({_drops(portion.drops)})" if portion.drops else ""
            text = f"{grams(_short(portion.grams))}{drops}, {portion.then}; the model expects {number(portion.expected_pH, 3)}"
            yield from self.wrap(text, f"  {count}. ", "     ")
        for text in plan.advice:
            yield from self.wrap(_sentence(text), "  ", "  ")
        if self.found.measured is not None and plan.start != "measured":
            shown = number(self.found.measured)
            text = f"The file gives pH {shown} as measured. If this batch shows that now, plan from it: --measured {shown}."
            yield from self.wrap(text, "  ", "  ")
        yield from self.wrap("Taken for granted:", "  ")
        for text in plan.assumed:
            yield from self.wrap(text, "    ", "      ")
        yield ""

    def amount(self, plan: Plan) -> str:
        if not plan.grams:
            return "The batch is there already; nothing to add."
        strength = f", {number(plan.strength_percent)} % w/w" if plan.strength_percent < 100 else ""
        drops = f", about {_drops(plan.drops)}" if plan.drops else ""
        size = ""
        if self.sheet.formula.batch.size_g is not None:
            size = f" for {grams(self.sheet.formula.batch.size_g)}"
        return (
            f"{plan.reagent}{strength}: {grams(_short(plan.grams))}{size}{drops}; "
            f"likely between {grams(_short(plan.low_g))} and {grams(_short(plan.high_g))}."
        )


def _predicted(prediction: Prediction) -> str:
    about = number(round(prediction.pH, 1))
    band = f"{number(round(prediction.low, 1))} to {number(round(prediction.high, 1))}"
    if prediction.high - prediction.low > _WIDE_BAND:
        return f"about {about} before adjusting, but anywhere from {band}: too little of it is known, so measure first"
    return f"{about}, likely {band}, before adjusting"


def _label(window: Window) -> str:
    name = visible(window.name if window.part is None or window.material is None else window.material.name)
    return name if len(name) <= _LABEL else name[: _LABEL - 2].rstrip(" ,(/-") + ".."


def _range(low: float, high: float) -> str:
    return number(low) if high - low < 1e-9 else f"{number(low)} to {number(high)}"


def _between(low: float, high: float) -> str:
    if low <= SCALE[0]:
        return f"pH up to {number(high)}" if high < SCALE[1] else "any pH"
    if high >= SCALE[1]:
        return f"pH {number(low)} and above"
    return f"pH {_range(low, high)}"


def _short(value: float) -> float:
    return float(f"{value:.2g}")


def _drops(count: int | None) -> str:
    return "1 drop" if count == 1 else f"{count} drops"


def _sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "!", "?")) else f"{text}."
