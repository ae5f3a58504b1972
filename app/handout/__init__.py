"""Where work is handed out: what is written and printed, seen before it is."""
