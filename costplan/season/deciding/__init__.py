"""What to decide, found by playing the machine with and without on the same draws: dates, spares, keeping or selling."""
