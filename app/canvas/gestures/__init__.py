"""What the mouse and keys do on the canvas, one object for each kind of action."""
