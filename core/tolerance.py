"""Every tolerance of the house, in one place, in millimetres unless the name says otherwise."""

JOIN_MM = 0.01
"""Ends nearer than this are one point."""

REACH_MM = 0.2
"""A line end this near to the rim or to another line is taken to lie on it."""

FLATTEN_MM = 0.05
"""Largest distance between a curve and the polyline that stands for it."""

QUANTUM_MM = 1e-4
"""Inputs are rounded to this once, before anything is computed from them."""

RUN_ON_MM = 1e-3
"""How far a line is run on past what it ends on, so that noding sees a crossing."""

EQUAL_REL = 1e-9
"""Relative tolerance of areas that must be equal."""

SLIVER_MM = 5.0
"""A region narrower than this cannot be laid; it is a finding."""

EXPORT_MM = 0.05
"""Exports read back agree with the plan to this."""
