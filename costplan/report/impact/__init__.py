"""The cost impact of rule changes for a reader: a meeting that votes on them."""
