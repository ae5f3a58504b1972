"""Measuring over a part with a tape: where it goes, what was read, what follows."""
