"""What can go wrong, said so that the person at the bench can mend it.

LaplineError
├── InputError (also a ValueError): a value that was typed or passed is not usable
├── GeometryError: a shape cannot be worked with
├── EditRefused: an edit would break the job
├── ShelfConflict: what lies on the shelf was changed meanwhile
├── FileError
│   ├── NotAJob: not a Lapline job at all
│   ├── NewerVersion: written by a newer Lapline
│   ├── Damaged: a job whose content does not hold
│   └── MigrationFailed: an older job that cannot be brought up to date
├── ImportFailed
├── ExportFailed
└── Cancelled: the user stopped it; nothing to mend
"""


class LaplineError(Exception):
    """A refusal with what is wrong, where, and what mends it.

    Args:
        what: one sentence, what is wrong.
        where: the place (file and path in it, panel, seam), or "".
        mend: one sentence, what to do, or "".
    """

    def __init__(self, what: str, *, where: str = "", mend: str = "") -> None:
        self.what, self.where, self.mend = what, where, mend
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """Return the whole message on one line."""
        place = f"{self.where}: " if self.where else ""
        mend = f" {self.mend}" if self.mend else ""
        return f"{place}{self.what}{mend}"


class InputError(LaplineError, ValueError):
    """A value that was typed or passed is not usable."""


class GeometryError(LaplineError):
    """A shape cannot be worked with."""


class EditRefused(LaplineError):  # noqa: N818 - named for what happened, as the glossary has it
    """An edit would break the job; the job is unchanged."""


class ShelfConflict(LaplineError):  # noqa: N818
    """What lies on the shelf is not as it was seen; the shelf is unchanged."""


class FileError(LaplineError):
    """A job file cannot be read or written."""


class NotAJob(FileError):  # noqa: N818
    """The file is not a Lapline job."""


class NewerVersion(FileError):  # noqa: N818
    """The file was written by a newer Lapline."""


class Damaged(FileError):  # noqa: N818
    """The file's content does not hold."""


class MigrationFailed(FileError):  # noqa: N818
    """An older file cannot be brought up to date."""


class ImportFailed(LaplineError):  # noqa: N818
    """Nothing usable could be read."""


class ExportFailed(LaplineError):  # noqa: N818
    """Output could not be written; no half-written file is left."""


class Cancelled(LaplineError):  # noqa: N818
    """The user stopped it."""
