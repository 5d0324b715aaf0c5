"""A quote as it is shown: pages, and documents to print."""
