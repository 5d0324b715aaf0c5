"""The builder's quote: shop book, work, price, allowances, totals; revisions, and the job that a quote becomes."""

from costplan.quote.asking import Asking
from costplan.quote.copies import Copy, customer_copy
from costplan.quote.desk import Desk, open_desk
from costplan.quote.quoting import make_quote
from costplan.quote.records import Allowance, Line, Margin, Quote
from costplan.quote.request import Asked, requests_in
from costplan.quote.shop import ShopBook

__all__ = [
    "Allowance",
    "Asked",
    "Asking",
    "Copy",
    "Desk",
    "Line",
    "Margin",
    "Quote",
    "ShopBook",
    "customer_copy",
    "make_quote",
    "open_desk",
    "requests_in",
]
