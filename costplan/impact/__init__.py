"""The cost impact of a rule change: a field of entrants before and after it, each having answered it."""
