"""Surfaces of panels, and what becomes of film that is laid on them."""
