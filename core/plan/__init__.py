"""What follows from a job: regions, stacking, pieces, tape runs and the review."""
