"""What to decide, found by playing the machine with and without on like draws: dates, spares, keeping or selling."""
