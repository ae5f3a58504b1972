"""Edits: the only writers of the job. Each is a pure function from a job to a new job.

An edit that would break the job raises ``EditRefused`` with what mends it. One that names a
thing that is not there raises ``KeyError``, for a caller works from the job it holds. What an
edit does not touch is shared with the old job, so that what was planned for it still holds.
"""
