"""Where a seam must go: proposals for lines that let film lie."""
