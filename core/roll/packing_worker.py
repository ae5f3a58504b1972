"""The polygon solver in a process of its own: it may die, overrun or be ended at any time.

Run as a script, without the rest of the program. One line of JSON comes in (``gap``,
``seconds``, ``bins``: [rim, [holes]], ``pinned``: [bin, rim], ``items``: [id, ring, angles]);
lines of JSON go out: ``{"width": minus the area laid, "placed": [[id, angle, x, y], ...]}`` for
each better layout, at last ``{"done": true}`` or ``{"error": text}``. When its input closes,
its parent is gone: it ends.
"""

import json
import os
import sys
import threading
from typing import Any


def main() -> int:
    """Solve the one request on stdin; the exit code is 0 when the solver came to its end."""
    request = json.loads(sys.stdin.readline())
    threading.Thread(target=_end_with_parent, daemon=True).start()
    try:
        _solve(request)
    except BaseException as error:  # noqa: BLE001 - whatever it is, the parent is told
        _say({"error": f"{type(error).__name__}: {error}"})
        return 1
    _say({"done": True})
    return 0


def _end_with_parent() -> None:
    sys.stdin.read()
    os._exit(3)


def _solve(request: dict[str, Any]) -> None:
    import packingsolver.irregular as solver  # noqa: PLC0415 - a failing import is told, too

    builder = solver.InstanceBuilder()
    builder.set_objective(solver.Objective.Knapsack)
    builder.set_item_item_minimum_spacing(request["gap"])

    def shape(ring: list[list[float]]) -> Any:
        return solver.build_shape([tuple(point) for point in ring])

    for number, (rim, holes) in enumerate(request["bins"]):
        builder.add_bin_type(shape(rim), copies=1)
        for hole in holes:
            builder.add_defect(number, -1, solver.ShapeWithHoles(shape(hole), []))
    for number, rim in request["pinned"]:
        defect = builder.add_defect(number, -1, solver.ShapeWithHoles(shape(rim), []))
        builder.set_item_defect_minimum_spacing(number, defect, request["gap"])
    names = {}
    for name, ring, angles in request["items"]:
        turns = [(angle, angle, False) for angle in angles]
        names[builder.add_item_type(shape(ring), allowed_rotations=turns, copies=1)] = name
    parameters = solver.OptimizeParameters()
    parameters.time_limit = request["seconds"]
    parameters.verbosity_level = 0
    parameters.new_solution_callback = lambda output: _tell(output.solution, names)
    solver.optimize(builder.build(), parameters)


def _tell(solution: Any, names: dict[int, str]) -> None:
    placed = [
        [names[item.item_type_id], item.angle, item.bl_corner.x, item.bl_corner.y]
        for number in range(solution.number_of_different_bins())
        for item in solution.bin(number).items
    ]
    if placed:
        _say({"width": -solution.item_area(), "placed": placed})


def _say(message: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(message) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
