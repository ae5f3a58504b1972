"""How often the interval stated for taped parts holds the truth, and what shared errors cost.

Run with ``pytest tests/bench/test_tape_bench.py --benchmark-only -s``; it takes minutes. The
ordinary tests draw 500 times (tests/core/shape/test_tape.py); here each part is read 100 times
for each way in which errors of 2 mm hang together, and drawn as whole pieces are.
"""

import numpy as np
import pytest

from core.shape.answer import answer_for
from core.shape.judging import judge
from core.shape.model import Window
from core.shape.surface import CurvedSurface, surface_of
from helpers.taped import PARTS, WHOLE, Errors, misread, true_network

DRAWS = 100
NOTHING_PCT = 0.1
LIMIT_PCT = Window(0.5, 1.0).range_pct
"""What the film takes that takes least."""


@pytest.mark.parametrize("errors", Errors, ids=lambda e: e.name.lower())
@pytest.mark.parametrize("name", PARTS)
def test_the_stated_interval_holds_the_truth(name, errors, benchmark) -> None:
    part, rng = PARTS[name], np.random.default_rng(100)
    true = judge(true_network(part), Window(2.0, 5.0)).range_pct
    grid = part.grid()

    def run():
        found = []
        for _ in range(DRAWS):
            surface = surface_of(misread(grid, rng, errors=errors))
            assert isinstance(surface, CurvedSurface)
            answer = answer_for(surface, WHOLE)
            found.append((answer.low_pct, answer.high_pct, len(surface.doubts)))
        return np.array(found)

    low, high, doubts = benchmark.pedantic(run, rounds=1).T
    held = float(np.mean((low - NOTHING_PCT <= true) & (true <= high)))
    benchmark.extra_info.update(
        true_pct=true, held=held, low_pct=float(low.mean()), high_pct=float(high.mean())
    )
    print(  # noqa: T201
        f"\n{name}, {errors}: true {true:.2f}, stated {low.mean():.2f} to {high.mean():.2f},"
        f" holds it in {100 * held:.0f} %, doubted {int((doubts > 0).sum())} of {DRAWS}"
    )
    assert held >= 0.9
    if name == "flat":
        assert (low <= LIMIT_PCT).all()  # never judged to need a seam
