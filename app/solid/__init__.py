"""Parts with a shape: the view of a scan, its choosing, strain shown on it."""
