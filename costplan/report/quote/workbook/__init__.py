"""A quote as a workbook: the customer's, made from the copy alone, and the shop's own with its costs and margin.

Amounts, taxes and totals are formulas, each kept with the quote's own figure for readers that do not recompute. All
texts are written as texts, whatever they begin with. The same quote gives the same bytes.
"""

from costplan.report.quote.workbook.customer import customer_xlsx
from costplan.report.quote.workbook.shop import shop_xlsx

__all__ = ["customer_xlsx", "shop_xlsx"]
