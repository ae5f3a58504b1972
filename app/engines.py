"""Stand-ins until the rooms below are finished; this file goes."""

# mypy: ignore-errors
# ruff: noqa
from dataclasses import dataclass, field
from collections.abc import Mapping

try:
    from core.plan.plan import plan_job
except ModuleNotFoundError:
    from shapely import Polygon
    from core.plan.model import JobPlan, PanelPlan, Region

    def _panel(p):
        poly = Polygon([n.at for n in p.outline])
        return PanelPlan(
            id=p.id,
            of=p.id,
            name=p.name,
            side=None,
            is_mirrored=False,
            outline=poly,
            extended=poly,
            regions=(Region(p.id + ".all", p.base_film, poly, ()),),
            stretches=(),
            pieces=(),
            tape_runs=(),
            findings=(),
        )

    def plan_job(job, variant=None):
        v = next((v for v in job.variants if v.id == variant), job.variants[0])
        return JobPlan(job=job, variant=v, panels=tuple(_panel(p) for p in job.panels))


try:
    from core.roll.rolls import RollReport, roll_plan
except ModuleNotFoundError:
    from core.roll.model import RollPlan

    @dataclass(frozen=True)
    class RollReport:
        rolls: object
        findings: tuple = ()

    def roll_plan(plan):
        return RollReport(RollPlan(()))


try:
    from core.document.file import JobFile, load_job, save_job
except ModuleNotFoundError:
    import msgspec
    from core.document.job import Job

    @dataclass(frozen=True)
    class JobFile:
        job: object
        photos: Mapping = field(default_factory=dict)

    def load_job(path):
        return JobFile(msgspec.json.decode(path.read_bytes(), type=Job))

    def save_job(path, file):
        path.write_bytes(msgspec.json.encode(file.job))
