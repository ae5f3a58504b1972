"""Writes the sample projects: ``python -m sample_projects.make_samples`` in the top folder."""

from pathlib import Path

from core.document.file import JobFile, save_job
from sample_projects.curved_parts import curved_parts
from sample_projects.first_steps import first_steps
from sample_projects.library_trike import library_trike

HERE = Path(__file__).parent


def samples() -> dict[str, JobFile]:
    """Return the samples by file name."""
    return {
        "first_steps.lapline": JobFile(first_steps()),
        "library_trike.lapline": JobFile(library_trike()),
        "curved_parts.lapline": curved_parts(),
    }


if __name__ == "__main__":
    for name, file in samples().items():
        save_job(HERE / name, file)
        print(f"wrote {HERE / name}")
