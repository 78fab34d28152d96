"""The job file: a plain layered SVG that shows the job, with the way to it inside.

Any program shows it as the art it is. In the metadata, in our own namespace, stand the materials, the
steps of the command stack, and the job they began with. A digest of what is shown tells whether
another program has changed the art since: then what is shown is the job, and the old steps, which led
somewhere else, are left off with a note.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Any

from bladewise.document import Job
from bladewise.errors import CannotRead
from bladewise.formats.atomic import write_atomically
from bladewise.formats.svg import own
from bladewise.formats.svg.names import OURS, PREFIX, SVG, VERSION
from bladewise.formats.svg.reader import Reader
from bladewise.formats.svg.tree import Node, Progress, Tree, read_tree
from bladewise.formats.svg.writer import Markup, document, escaped, svg_text
from bladewise.phrases import phrase

CHANGED_ELSEWHERE = (
    "The art was changed in another program since it was saved; it is as that program left it, "
    "and the old steps are gone."
)
STEPS_UNREADABLE = "The steps in the file could not be read; the art is complete, and the stack begins anew."


@dataclass(frozen=True)
class JobFile:
    """What a job file holds: the job as it began, as it stands, and the steps between.

    Parameters
    ----------
    base, current
        The job before the first step, and as it is shown.
    steps
        Plain values, one mapping a step: "do", "off", "values".
    position
        How many of the steps are done; the rest can be done again.
    is_job_file
        Whether it was read from a job file of ours, which saving may write to, and not from artwork.
    """

    base: Job
    current: Job
    steps: tuple[Mapping[str, Any], ...] = ()
    position: int = 0
    is_job_file: bool = field(default=False, compare=False)


def read_job_file(path: FilePath, *, progress: Progress | None = None) -> JobFile:
    """Return what a job file holds; a plain drawing is a job without steps.

    Raises
    ------
    CannotRead
        If the file cannot be read, or was written by a later version.
    """
    path = FilePath(path)
    tree = read_tree(path, progress=None if progress is None else lambda done: progress(done * 0.5))
    root = tree.root
    version = root.ours("version")
    if version not in (None, VERSION):
        raise CannotRead(
            phrase(
                "The job was saved by a later version of Bladewise (format {version}; this one reads {version2}).",
                version=version,
                version2=VERSION,
            ),
            where=path.name,
            hint="Open it with that version.",
        )
    later = None if progress is None else lambda done: progress(0.5 + done * 0.5)
    reader = Reader(tree, where=path.name, progress=later)
    shown = reader.job(path.stem)
    if progress is not None:
        progress(1.0)
    stack = next((entry for entry in own.data(root) if entry.name == "steps"), None)
    if stack is None:
        return JobFile(shown, shown)
    if stack.attributes.get("digest") != digest(shown):
        shown = replace(shown, notes=(*shown.notes, CHANGED_ELSEWHERE))
        return JobFile(shown, shown, is_job_file=True)
    try:
        steps = tuple(_step(entry.text) for entry in stack.children if entry.name == "step")
        position = int(stack.attributes.get("position", "0"))
        base = _base(root, path) or shown
    except (ValueError, CannotRead):
        shown = replace(shown, notes=(*shown.notes, STEPS_UNREADABLE))
        return JobFile(shown, shown, is_job_file=True)
    return JobFile(base, shown, steps, max(0, min(position, len(steps))), is_job_file=True)


def write_job_file(job_file: JobFile, path: FilePath) -> None:
    """Write a job file; saving what was opened gives the same bytes.

    Raises
    ------
    CannotWrite
        If the file cannot be written; what stood there before still stands.
    """
    write_atomically(FilePath(path), job_file_text(job_file).encode("utf-8"))


def job_file_text(job_file: JobFile) -> str:
    """Return the text of a job file."""
    indent = " " * 6
    head = f' position="{job_file.position}" digest="{digest(job_file.current)}"'
    lines = [f"{indent}<{PREFIX}:steps{head}>" if job_file.steps else f"{indent}<{PREFIX}:steps{head}/>"]
    if job_file.steps:
        lines += [
            f"{indent}  <{PREFIX}:step>{escaped(json.dumps(step, ensure_ascii=False, sort_keys=True))}</{PREFIX}:step>"
            for step in job_file.steps
        ]
        lines.append(f"{indent}</{PREFIX}:steps>")
    if job_file.base is not job_file.current and job_file.base != job_file.current:
        lines.append(f"{indent}<{PREFIX}:base>")
        lines += Markup(job_file.base, kept=True).lines(indent=f"{indent}  ")
        lines.append(f"{indent}</{PREFIX}:base>")
    return document(Markup(job_file.current).lines(lines))


def digest(job: Job) -> str:
    """Return a digest of all that a job shows and says, the same for the same job however its file is laid out."""
    return hashlib.sha256(svg_text(job).encode("utf-8")).hexdigest()


def _step(text: str) -> Mapping[str, Any]:
    step = json.loads(text)
    if not isinstance(step, dict) or not isinstance(step.get("do"), str):
        msg = "a step without a name"
        raise ValueError(msg)  # noqa: TRY004 - it is the file that is wrong, not the type
    return step


def _base(root: Node, path: FilePath) -> Job | None:
    held = next((entry for entry in own.data(root) if entry.name == "base"), None)
    if held is None:
        return None
    if not held.children:
        msg = "a base without a drawing"
        raise ValueError(msg)
    inner = held.children[0]
    for node in inner.walk():
        node.namespace = SVG
        if (identity := node.attributes.pop(f"{OURS} id", None)) is not None:
            node.attributes["id"] = identity
    inner.parent = None
    return Reader(Tree(inner, []), where=path.name).job("")
