"""What is drawn on the canvas; each file draws one kind of thing."""
