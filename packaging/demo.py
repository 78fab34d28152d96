"""Make the demo job: every recipe in demo_art/ run on its artwork, and what came out shown as pictures.

    python packaging/demo.py OUT

For each recipe OUT gets a folder with the layered SVG, one SVG a cut colour, the readiness report, and two pictures of
the result: as printed, and outlines only. `main-job.txt` names the job that the window opens on. Runs inside `.venv`;
packaging/fresh.py calls it. When neither the art nor the program has changed since, nothing is made again.
"""

import contextlib
import hashlib
import io
import json
import sys
import time
from collections.abc import Iterator
from pathlib import Path

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


def prepared(out: Path, wanted: str) -> bool:
    """Tell whether OUT already holds what this art and this program make."""
    try:
        note = json.loads((out / NOTE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return note.get("digest") == wanted and all((out / name).is_file() for name in note.get("files", []))


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


def make(recipe: Path, out: Path) -> Iterator[tuple[str, int, str]]:
    """Carry one recipe to files and pictures, yielding each command with its exit code and words."""
    art = recipe.with_suffix(".svg")
    folder = out / recipe.stem
    folder.mkdir(parents=True, exist_ok=True)
    yield ("run", *bladewise("run", str(recipe), str(art), "--out", str(folder)))
    job = str(folder / art.name)
    code, report = bladewise("check", job, "--json")
    (folder / "readiness.json").write_text(report, encoding="utf-8")
    yield ("check", code if code > 1 else 0, report)  # findings are for the operator to read, not a failure here
    for view in ("fill", "outline"):
        yield (f"render {view}", *bladewise("render", job, "--view", view, "--out", str(folder / f"{view}.png")))


def main() -> int:
    """Make what is missing, say where it is, and return 1 when a recipe failed."""
    out = Path(sys.argv[1]).resolve()
    wanted = digest()
    recipes = sorted(ART.glob("*.toml"))
    if prepared(out, wanted):
        print(f"The demo jobs are ready in {out}: {', '.join(recipe.stem for recipe in recipes)}.")
        return 0
    failed = not recipes
    for recipe in recipes:
        start = time.perf_counter()
        print(f"{recipe.stem}:", end=" ", flush=True)
        for command, code, words in make(recipe, out):
            if code != 0:
                failed = True
                print(f"{command} ended with {code}. {words.strip()}")
                break
        else:
            names = sorted(path.name for path in (out / recipe.stem).iterdir())
            print(f"{', '.join(names)} ({time.perf_counter() - start:.1f} s)")
    if failed:
        print("The demo did not come out whole; see above.")
        return 1
    (out / "main-job.txt").write_text(str(out / MAIN / f"{MAIN}.svg") + "\n", encoding="utf-8")
    files = [path.relative_to(out).as_posix() for path in sorted(out.rglob("*")) if path.is_file()]
    (out / NOTE).write_text(json.dumps({"digest": wanted, "files": files}), encoding="utf-8")
    print(f"Everything is in {out}.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
