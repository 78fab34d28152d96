"""Make the demo job: every recipe in demo_art/ run on its artwork, and what came out shown as pictures.

    python packaging/demo.py OUT

For each recipe OUT gets a folder with the layered SVG, one SVG a cut colour, the readiness report, and two pictures of
the result: as printed, and outlines only. `prepared.json` names the job that the window opens on. Runs inside `.venv`;
packaging/fresh.py calls it. When neither the art nor the program has changed since, nothing is made again.
"""

import contextlib
import hashlib
import io
import itertools
import json
import sys
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
ART = ROOT / "demo_art"
MAIN = "mascot"  # the job that shows most; the window opens on it
NOTE = "prepared.json"


def digest() -> str:
    """Return a digest of everything that decides how the demo comes out."""
    total = hashlib.sha256()
    sources = [*ART.rglob("*"), *(ROOT / "app").rglob("*.py"), Path(__file__)]
    for path in sorted(path for path in sources if path.is_file()):
        total.update(path.relative_to(ROOT).as_posix().encode() + b"\0" + path.read_bytes())
    return total.hexdigest()


def read_note(out: Path) -> dict[str, Any]:
    """Return what the last preparation noted: its digest, the main job, and each file with its hash."""
    try:
        note = json.loads((out / NOTE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return note if isinstance(note, dict) else {}


def hash_of(path: Path) -> str:
    """Return a file's SHA-256, or nothing when it is gone."""
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def clear(out: Path, files: dict[str, str]) -> None:
    """Take away what an earlier preparation made; what someone has worked on since stays, under a name of its own."""
    for name, sha256 in files.items():
        path = out / name
        if hash_of(path) == sha256:
            path.unlink()
        elif path.is_file():
            kept = (path.with_name(f"{path.stem} (kept {number}){path.suffix}") for number in itertools.count(1))
            path.rename(next(other for other in kept if not other.exists()))


def bladewise(*arguments: str) -> tuple[int, str]:
    """Run one command line in this process; return its exit code and what it printed."""
    from bladewise.cli import main  # here, because a start with nothing to do must not pay for it

    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        try:
            code = main(list(arguments))
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else 2
    return code or 0, said.getvalue()


def make(recipe: Path, folder: Path) -> tuple[str, str]:
    """Carry one recipe to files and pictures in a folder.

    Returns
    -------
    The job file, and what is wrong (nothing when the job is ready to cut).
    """
    folder.mkdir(parents=True, exist_ok=True)
    code, words = bladewise("run", str(recipe), str(recipe.with_suffix(".svg")), "--out", str(folder), "--json")
    try:
        summary = json.loads(words)
    except ValueError:
        return "", f"run ended with {code}"
    report = {"ready": summary["ready"], "findings": summary["findings"]}  # the same form as `check --json`
    (folder / "readiness.json").write_text(json.dumps(report, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    job = str(summary["files"][0])
    troubles = [step["failure"] for step in summary["steps"]]
    if not summary["ready"]:  # what is only wasteful stands in the report
        troubles += [one["message"] for one in summary["findings"]]
    for view in ("fill", "outline"):
        code, _ = bladewise("render", job, "--view", view, "--out", str(folder / f"{view}.png"))
        troubles += [f"render --view {view} ended with {code}"] if code else []
    return job, "; ".join(text for text in [*troubles, summary["refused"]] if text)


def main() -> int:
    """Make what is missing, say where it is, and return 1 when a job is not ready to cut."""
    out = Path(sys.argv[1]).resolve()
    wanted = digest()
    recipes = sorted(ART.glob("*.toml"))
    note = read_note(out)
    files: dict[str, str] = note.get("files", {})
    if note.get("digest") == wanted and all((out / name).is_file() for name in files):
        print(f"The demo jobs are in {out}, as they were made before.")
        return tell(note["troubles"])
    clear(out, files)
    before = {path for path in out.rglob("*") if path.is_file()}
    jobs = {}
    troubles = {} if recipes else {"demo_art": "there is no recipe in it"}
    for recipe in recipes:
        start = time.perf_counter()
        folder = out / recipe.stem
        jobs[recipe.stem], trouble = make(recipe, folder)
        if trouble:
            troubles[recipe.stem] = trouble
        state = "see below" if trouble else "ready to cut"
        count = sum(1 for _ in folder.iterdir())
        print(f"{recipe.stem}: {state}, {count} files in {folder} ({time.perf_counter() - start:.1f} s)", flush=True)
    made = sorted({path for path in out.rglob("*") if path.is_file()} - before - {out / NOTE})
    fresh = {
        "digest": wanted,
        "main": Path(jobs[MAIN]).relative_to(out).as_posix() if jobs.get(MAIN) else "",
        "troubles": troubles,
        "files": {path.relative_to(out).as_posix(): hash_of(path) for path in made},
    }
    out.mkdir(parents=True, exist_ok=True)
    (out / NOTE).write_text(json.dumps(fresh, indent=2), encoding="utf-8")
    return tell(troubles)


def tell(troubles: dict[str, str]) -> int:
    """Say which jobs are not ready to cut; return 1 when there are any."""
    for name, trouble in troubles.items():
        print(f"{name} is not ready to cut: {trouble}")
    return 1 if troubles else 0


if __name__ == "__main__":
    sys.exit(main())
