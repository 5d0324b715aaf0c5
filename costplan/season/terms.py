"""The terms of who is ordered from or booked at, and how many days an order takes with them."""

from __future__ import annotations

from collections.abc import Sequence

from costplan.catalog import Offer
from costplan.season.inputs import SeasonFiles
from costplan.season.records import Supplier

#: The terms of who has no row in suppliers.csv: nothing with the order, no queue.
NO_TERMS = Supplier(supplier="anybody")


def terms_of(files: SeasonFiles, name: str) -> Supplier:
    """The terms of a supplier or a shop; one without a row asks nothing."""
    return next((row for row in files.suppliers if row.supplier == name), NO_TERMS)


def lead_days(files: SeasonFiles, offers: Sequence[Offer], g: int) -> int:
    """Days from ordering to having it, for the gap before a run: the offer's own and its supplier's queue.

    None for what nobody sells, as a service.
    """
    if not offers:
        return 0
    return offers[g].lead_days + terms_of(files, offers[g].supplier).queue_days
