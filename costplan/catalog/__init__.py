"""Catalogs: parts with their prices, roles and lives, as suppliers and shops write them down."""

from costplan.catalog.attributes import ATTRIBUTES, Attribute
from costplan.catalog.catalog import Catalog, read_catalogs
from costplan.catalog.records import Header, LifeRow, Part, Role

__all__ = ["ATTRIBUTES", "Attribute", "Catalog", "Header", "LifeRow", "Part", "Role", "read_catalogs"]
