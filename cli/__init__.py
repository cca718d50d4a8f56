"""The shell: the only room that prints, reads the clock and parses command lines."""
