"""The canvas: the panels of the job, drawn and edited."""
