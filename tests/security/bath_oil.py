"""A formula in which nothing is wrong, to lay among things that are."""

OIL = """\
formcheck: 1
name: Garden bath oil
product: {use: rinse-off, form: bath}
phases:
  A: {Helianthus Annuus Seed Oil: q.s., Tocopherol: 0.5}
"""
