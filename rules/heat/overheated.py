"""Hotter, or hot for longer, than anything in the vessel needs."""

from collections.abc import Iterator

from formcheck.bench.thermal import Moment
from formcheck.bench.worksheet import Worksheet
from formcheck.review.rule import Finding, declare
from formcheck.review.words import celsius, time

rule = declare(
    finds="a vessel heated very high, or held hot for long, with no need",
    harm="untidy",
    why="Oils oxidise, water boils off and the percents shift; nothing in the vessel asks for it.",
    remedy="Heat to what the highest melting or dissolving point asks for, and cover the vessel.",
    needs=("procedure",),
    facts=("melting point", "dissolving temperature", "hot hydration temperature", "hot hydration time"),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
procedure:
  - heat: A
    to: 98 °C
  - cool: A
    to: 60 °C
  - fill: A
""",
    mended="""
formcheck: 1
name: Potting shed balm
product: {use: leave-on, form: balm}
phases:
  A: {Cera Alba: 20, Helianthus Annuus Seed Oil: q.s.}
procedure:
  - heat: A
    to: 75 °C
  - cool: A
    to: 60 °C
  - fill: A
""",
)


def check(sheet: Worksheet) -> Iterator[Finding]:
    for moment in sheet.thermal.moments:
        if moment.step is None or moment.celsius is None or moment.step.verb not in ("heat", "hold", "hydrate"):
            continue
        most = sheet.limit("overheated")
        if moment.celsius > most:
            most = max(most, _need(sheet, moment) + sheet.limit("room above the need"))
        if moment.celsius > most:
            yield _finding(sheet, moment, f"{celsius(moment.celsius)} at step {moment.step.number}; nothing in vessel {moment.vessel} "
                           f"needs more than {celsius(most)}", f"Heat to at most {celsius(most)}.", "overheated")  # fmt: skip
        elif (
            moment.celsius >= sheet.limit("hot")
            and moment.seconds > sheet.limit("held hot for long")
            and moment.seconds > _time(sheet, moment)
        ):
            yield _finding(sheet, moment, f"held at {celsius(moment.celsius)} for {time(moment.seconds)} at step {moment.step.number}; "
                           f"over {time(sheet.limit('held hot for long'))} hot wants a reason",
                           "Shorten the hold, or say in a note what needs it; cover the vessel and make up the lost water.",
                           "held hot for long")  # fmt: skip


def _finding(sheet: Worksheet, moment: Moment, message: str, remedy: str, limit: str) -> Finding:
    step = moment.step
    assert step is not None
    return rule.finding(step, message, remedy=remedy, source=sheet.cite_limit(limit), step=step.number)


def _need(sheet: Worksheet, moment: Moment) -> float:
    """The highest temperature that something in the vessel has to reach, °C."""
    needs = [0.0]
    for item in moment.items:
        for part in sheet.parts_of(item):
            melting = sheet.value(part.material, "melting point")
            if melting is not None and part.material.is_a("oil", "emulsifier"):
                needs.append(melting.high or melting.low or 0)
            for name in ("dissolving temperature", "hot hydration temperature"):
                needs.append(sheet.value(part.material, name) or 0)
    return max(needs)


def _time(sheet: Worksheet, moment: Moment) -> float:
    """The longest time that something in the vessel has to be kept hot, s."""
    times = [
        sheet.value(part.material, "hot hydration time") or 0 for item in moment.items for part in sheet.parts_of(item)
    ]
    return max(times, default=0)
