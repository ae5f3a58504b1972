"""Linear algebra on one thread.

Sparse factors are made of many small dense blocks. On those a threaded library spends its time
waking threads: measured on a busy machine of two cores, one factor took 36 s in place of 1.1 s.
"""

from contextlib import AbstractContextManager
from functools import cache

from threadpoolctl import ThreadpoolController


def one_thread() -> AbstractContextManager[object]:
    """Return a context in which linear algebra keeps to one thread."""
    context: AbstractContextManager[object] = _controller().limit(limits=1, user_api="blas")
    return context


@cache
def _controller() -> ThreadpoolController:
    """Find the loaded libraries, which takes milliseconds; those loaded later go unlimited."""
    import scipy.sparse.linalg  # noqa: F401, PLC0415 - so that its library is among them

    return ThreadpoolController()
