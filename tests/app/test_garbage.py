import gc
import threading
import weakref

from app.jobs import Work


class Knot:
    """Garbage that only the collector can find."""

    def __init__(self):
        self.me = self


def test_a_worker_that_allocates_a_lot_never_collects(qtbot, qapp):
    freed_in = set()

    def allocate(_control):
        for _ in range(20_000):  # many times the threshold of the youngest generation
            knot = Knot()
            weakref.finalize(knot, lambda: freed_in.add(threading.current_thread()))

    assert not gc.isenabled()
    work = Work(allocate)
    with qtbot.waitSignal(work.ended, timeout=20_000):
        work.start()
    qtbot.waitUntil(lambda: bool(freed_in), timeout=20_000)
    assert freed_in == {threading.main_thread()}
