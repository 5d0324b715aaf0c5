"""Catalogs: parts with their prices, roles, lives and service steps, as suppliers and shops write them down."""

from costplan.catalog.attributes import ATTRIBUTES, Attribute
from costplan.catalog.catalog import Catalog
from costplan.catalog.checking import check_prices
from costplan.catalog.flows import FlowRow, LiftRow
from costplan.catalog.folder import TABLES, read_catalogs
from costplan.catalog.operations import Operation
from costplan.catalog.prices import Buying, Offer, Purchase, Terms, by_cost, holding, packs_for
from costplan.catalog.records import Header, Kit, KitContent, LifeRow, Part, PriceRow, Role, ServiceStep
from costplan.catalog.search import Condition, Found, PastPrice, history_of, look_up, read_condition

__all__ = [
    "ATTRIBUTES",
    "TABLES",
    "Attribute",
    "Buying",
    "Catalog",
    "Condition",
    "FlowRow",
    "Found",
    "Header",
    "Kit",
    "KitContent",
    "LifeRow",
    "LiftRow",
    "Offer",
    "Operation",
    "Part",
    "PastPrice",
    "PriceRow",
    "Purchase",
    "Role",
    "ServiceStep",
    "Terms",
    "by_cost",
    "check_prices",
    "history_of",
    "holding",
    "look_up",
    "packs_for",
    "read_catalogs",
    "read_condition",
]
