"""causes.md: the ledger's causes, and its two views."""

from __future__ import annotations

from costplan.season.ledger import CAUSES
from costplan.writing.markdown import code, page, section, table

ACCOUNT = "opening + paid - used - unused = closing"


def causes_text() -> str:
    return page(
        "Causes of cost",
        "What each cause in the ledger of a season means, in the view of cash and in the view of wear.",
        "`costplan season SCENARIO --csv` gives the ledger, one row a cost: view, date, event, engine, slot, part, "
        "cause, amount (income is negative) and *why*, with the file and line that the figure comes from. `costplan "
        "season SCENARIO` sums it by cause.",
        section(
            "The two views",
            "**Cash** is what is paid when. **Wear** is what is used up when: a part's cost above its resale falls "
            "with the share of its assumed life used, and the labour of an opening is owed by the use that leads up "
            "to it. Both tell one season, and they are never added. For every position, and for the work owed on "
            "every level:",
            f"> {ACCOUNT}",
            "to the cent (see [method.md](method.md)).",
        ),
        section(
            "The causes",
            "An empty cell: no row of that view has this cause.",
            table(("Cause", "Cash", "Wear"), ((code(name), what.cash, what.wear) for name, what in CAUSES.items())),
        ),
    )
