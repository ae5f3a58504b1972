"""The one lock of the library that reads and renders PDF: it is not made for threads."""

import threading

RENDERER = threading.RLock()
"""Held while the library works. A thread may take it again: what is collected in between closes
its document then."""
