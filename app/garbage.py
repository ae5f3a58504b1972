"""Collects Python's cyclic garbage in the window's thread only.

Python collects in whatever thread happens to allocate. When that is a worker, it destroys
widgets that are garbage outside the window's thread, and Qt crashes. So the collector is
switched off and run from a timer of the window's thread, by the same thresholds.
"""

import gc

from PySide6.QtCore import QObject, QTimer

TICK_MS = 400


class GuiCollector(QObject):
    """Takes the collector over for as long as it lives; one is enough."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        gc.disable()
        timer = QTimer(self)
        timer.timeout.connect(self.tick)
        timer.start(TICK_MS)

    def tick(self) -> None:
        """Collect the oldest generation that is due."""
        due = zip(gc.get_count(), gc.get_threshold(), strict=True)
        generations = [i for i, (count, limit) in enumerate(due) if count > limit]
        if generations:
            gc.collect(generations[-1])


def collect_in_gui_thread(parent: QObject) -> None:
    """Take the collector over, unless that was done before."""
    if parent.findChild(GuiCollector) is None:
        GuiCollector(parent)
