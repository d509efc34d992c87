"""An amount too small for the balance."""

from collections.abc import Iterator

from formcheck.bench.composition import Item
from formcheck.bench.errors import OutOfRange
from formcheck.bench.weighing import error, least_amount, predilution
from formcheck.bench.worksheet import Worksheet
from formcheck.formula.units import MOST_BATCH_G
from formcheck.review.rule import Finding, Option, declare
from formcheck.review.words import grams, names, number, percent

rule = declare(
    finds="weighings whose relative error on the given balance is too large at the batch size",
    harm="untidy",
    why=(
        "A balance can be off by half a step when it is tared and again when it is read. On a small amount that is a "
        "large part of it: a dose checked on paper is then not the dose in the jar."
    ),
    remedy="Use a finer balance, make a larger batch, or weigh the material as a solution in part of the batch's water or oil.",
    needs=("batch size", "balance"),
    options=(
        Option("error", 5, "%", "largest relative error that is let pass"),
        Option(
            "error of limited materials",
            20,
            "%",
            "relative error above which it is major for preservatives and limited actives",
        ),
    ),
    sources=("common-practice",),
    flawed="""
formcheck: 1
name: Garden hand gel
batch: {size: 50 g, balance: 0.1 g}
phases:
  A: {Aqua: q.s., Glycerin: 10, Panthenol: 1}
""",
    mended="""
formcheck: 1
name: Garden hand gel
batch: {size: 50 g, balance: 0.01 g}
phases:
  A: {Aqua: q.s., Glycerin: 10, Panthenol: 1}
""",
)

LIMITED = ("preservative", "retinoid", "exfoliant", "alpha-hydroxy acid", "beta-hydroxy acid", "UV filter", "peptide")


def check(sheet: Worksheet) -> Iterator[Finding]:
    step = float(sheet.formula.batch.balance_g or 0)
    most = rule.option("error", sheet)
    amounts = [item for item in sheet.items if _can_be(item)]
    if not amounts or _error(min(amounts, key=lambda item: item.grams or 0), step) <= most:
        return  # the smaller the amount, the larger the error
    small = [item for item in amounts if _error(item, step) > most]
    grave = [
        item
        for item in small
        if _limited(sheet, item) and _error(item, step) > rule.option("error of limited materials", sheet)
    ]
    rest = [item for item in small if item not in grave]
    for items, harm in ((grave, "fails"), (rest, "untidy")):
        if items:
            yield _finding(sheet, items, step, harm)


def _finding(sheet: Worksheet, items: list[Item], step: float, harm: str) -> Finding:
    worst = max(items, key=lambda item: _error(item, step))
    shown = names(f"{item.name} {grams(item.grams or 0)} ({_doubt(item, step)})" for item in items)
    return rule.finding(
        worst.line,
        f"too small for a balance that shows {grams(step)}: {shown}; ±{number(rule.option('error', sheet))} % is the most that is let pass",
        remedy=_remedy(sheet, worst, step),
        source=sheet.reference.cite(rule.sources),
        harm=harm,
        materials=[item.material.name for item in items],
    )


def _remedy(sheet: Worksheet, worst: Item, step: float) -> str:
    least = least_amount(step, rule.option("error", sheet))
    size = float(sheet.formula.batch.size_g or 0) * least / float(worst.grams or 1)
    text = f"This balance weighs {grams(least)} and more well enough"
    if size <= MOST_BATCH_G:
        text += f": a batch of {number(size, 3)} g would do"
    try:
        dissolves = not worst.material.is_a("thickener")
        stock = predilution(float(worst.grams or 0), step, rule.option("error", sheet)) if dissolves else None
    except OutOfRange:
        stock = None
    if stock is not None:
        text += (
            f"; or dissolve {grams(stock.active_g)} of {worst.name} to {grams(stock.stock_g)} "
            f"({percent(stock.strength_percent)}) in something of the formula that dissolves it, and take {grams(stock.portion_g)} of that"
        )
    return text + "; or use a finer balance."


def _can_be(item: Item) -> bool:
    """Whether it is an amount at all; the rules of the totals find what is not."""
    return item.percent is not None and 0 < item.percent <= 100


def _doubt(item: Item, step: float) -> str:
    share = _error(item, step)
    return f"±{number(share, 2)} %" if share <= 100 else "less than it shows"


def _error(item: Item, step: float) -> float:
    """Largest relative error of a tared weighing, %."""
    return error(float(item.grams or 0), step).relative_percent


def _limited(sheet: Worksheet, item: Item) -> bool:
    """Whether a wrong dose harms: not so of titanium dioxide and its like, which whiten more often than they protect."""
    materials = (item.material, *(part.material for part in sheet.parts_of(item)))
    return any(each.is_a(*LIMITED) and not each.is_a("powder", "pigment") for each in materials)
