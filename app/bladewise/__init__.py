"""Bladewise turns artwork into files a knife can follow.

Example::

    from bladewise import Job

    job = Job.open("cup.svg")
    job.do("merge", on={"fill": "#e69f00"})
    for finding in job.check():
        print(finding.message)
    job.export("out")
"""

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from bladewise.session import Session as Job

__all__ = ["Job", "__version__"]


def __getattr__(name: str) -> Any:
    """Load the session only when someone asks for it: the version must cost nothing."""
    if name == "Job":
        from bladewise.session import Session

        return Session
    msg = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(msg)
