"""Who ordered the job, under which number, by when, and which revision this is: said once, saved with the job."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bladewise.document import DETAILS, Job
from bladewise.operations.declaration import Operation, Progress, Result, wording
from bladewise.phrases import listing, phrase


@dataclass(frozen=True, kw_only=True)
class DescribeJob:
    """What the job ticket and the customer proof say of the order."""

    customer: str | None = wording(None, help="Who ordered it; left out: as it was")
    order_number: str | None = wording(None, help="The number of the order; left out: as it was")
    due_date: str | None = wording(None, help="When it is due, as you write dates; left out: as it was")
    revision: str | None = wording(None, help="Which revision this is; left out: as it was")
    remark: str | None = wording(None, help="A line for whoever makes it; left out: as it was")


def describe_job(job: Job, record: DescribeJob, progress: Progress) -> Result:
    """Put down what was said; what was left out stays."""
    progress(1.0)
    said = {name: value.strip() for name in DETAILS if (value := getattr(record, name)) is not None}
    return Result(replace(job, details=replace(job.details, **said)))


def _summary(record: DescribeJob) -> str:
    titles = {
        "customer": phrase("customer {value}", value=record.customer),
        "order_number": phrase("order {value}", value=record.order_number),
        "due_date": phrase("due {value}", value=record.due_date),
        "revision": phrase("revision {value}", value=record.revision),
        "remark": phrase("“{value}”", value=record.remark),
    }
    said = [text for name, text in titles.items() if getattr(record, name) is not None]
    return phrase("Job details: {said}", said=listing(said)) if said else phrase("Job details")


OPERATIONS = (
    Operation(
        "job-details",
        "Job details",
        "Say who ordered the job, by when, and which revision it is: the job ticket and the proof show it.",
        DescribeJob,
        describe_job,
        _summary,
        least=0,
    ),
)
