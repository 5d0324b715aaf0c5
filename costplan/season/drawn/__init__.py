"""Seasons drawn many times over: the drawing, its figures, and the answers that rest on them."""
