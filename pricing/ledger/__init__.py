"""What jobs really took: the log, the stopwatch, and rates that learn from both."""
