"""The strip solver in a process of its own: it may die, overrun or be ended at any time.

Run as a script, without the rest of the program, so that it starts fast. One line of JSON comes
in (``height``, ``gap``, ``seconds``, ``threads``, ``seed``, ``items``: [id, ring, angles]);
lines of JSON go out: ``{"width", "placed": [[id, angle, x, y], ...]}`` for each better layout,
at last ``{"done": true}`` or ``{"error": text}``. When its input closes, its parent is gone: it
ends.
"""

import json
import os
import sys
import threading
from typing import Any

_DRAIN_SECONDS = 0.05
_QUADTREE_DEPTH = 3
"""Of the solver's collision search: open instances came out 0.3 % denser than with its 4."""
_EXPLORING = 0.8
"""Share of the time for finding an arrangement; the rest goes into pressing it together."""


def main() -> int:
    """Solve the one request on stdin; the exit code is 0 when the solver came to its end."""
    request = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        _solve(request)
    except BaseException as error:  # noqa: BLE001 - the solver's panics are no Exceptions
        _say({"error": f"{type(error).__name__}: {error}"})
        return 1
    _say({"done": True})
    return 0


def _end_with_parent() -> None:
    sys.stdin.read()
    os._exit(3)


def _solve(request: dict[str, Any]) -> None:
    import spyrrow  # noqa: PLC0415 - a failing import is told like any other failure

    items = [
        spyrrow.Item(name, [tuple(point) for point in ring], 1, angles)
        for name, ring, angles in request["items"]
    ]
    instance = spyrrow.StripPackingInstance("film", request["height"], items)
    seconds = max(2, int(request["seconds"]))
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        quadtree_depth=_QUADTREE_DEPTH,
        min_items_separation=request["gap"] or None,
        total_computation_time=None,
        exploration_time=max(1, round(seconds * _EXPLORING)),
        compression_time=max(1, seconds - round(seconds * _EXPLORING)),
        num_workers=request["threads"],
        seed=request["seed"],
    )
    queue = spyrrow.ProgressQueue()
    stop = threading.Event()
    least = [float("inf")]

    def drain() -> None:
        while not stop.wait(_DRAIN_SECONDS):
            _tell_best(queue.drain(), least)

    drainer = threading.Thread(target=drain)
    drainer.start()
    try:
        solution = instance.solve(config, queue)
    finally:
        stop.set()
        drainer.join()
    _tell(solution, least)


def _tell_best(reports: list[Any], least: list[float]) -> None:
    """Tell the best layout of those without collisions, if it beats what was told before."""
    sound = [s for kind, s in reports if int(kind) in (0, 3, 4)]
    if sound:
        _tell(min(sound, key=lambda s: s.width), least)


def _tell(solution: Any, least: list[float]) -> None:
    if solution.width >= least[0]:
        return
    least[0] = solution.width
    placed = [[p.id, p.rotation, *p.translation] for p in solution.placed_items]
    _say({"width": solution.width, "placed": placed})


def _say(message: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
