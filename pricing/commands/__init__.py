"""The command line: what is asked and told in a terminal."""
