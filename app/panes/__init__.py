"""The panes around the canvas: one file a pane."""
