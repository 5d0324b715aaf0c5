"""Reports: answers as pages on a terminal, as JSON and as CSV. Nothing is calculated here."""
