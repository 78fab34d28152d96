"""Write the two lock files: what `run` needs and what `test` needs, every wheel pinned by its hash.

Needs pip-tools in the interpreter that runs it. Both locks come from the one list in pyproject.toml, and the second is
held to the versions of the first, so that a folder made by `run` only grows when `test` comes after it. The hashes are
those of every file of a release: the same lock serves Linux, macOS and Windows. No index is named in them.
"""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

PACKAGING = Path(__file__).resolve().parent
ROOT = PACKAGING.parent

# setuptools puts the project itself into the folder, without asking any index.
BUILD = "setuptools>=77\n"

# The resolver sees only the machine it runs on; these are asked for elsewhere.
ELSEWHERE = {"colorama": 'sys_platform == "win32"'}  # click and pytest, for colours in the Windows console

HEAD = """\
# Written by packaging/make_lock.py from pyproject.toml. Do not edit: change pyproject.toml and run it again.
"""


def compile_lock(arguments: list[str], *, constraints: str, upgrade: bool) -> str:
    """Resolve and return the lock as text, one pinned package with its hashes after the other."""
    with tempfile.TemporaryDirectory() as folder:
        limit = Path(folder, "constraints.txt")
        limit.write_text(constraints, encoding="utf-8")
        out = Path(folder, "lock.txt")
        options = ["--generate-hashes", "--no-emit-index-url", "--no-emit-find-links", "--no-emit-trusted-host"]
        options += ["--allow-unsafe", "--strip-extras", "--no-header", "--no-annotate", "--quiet"]
        options += ["--constraint", str(limit), "--output-file", str(out)] + (["--upgrade"] if upgrade else [])
        subprocess.run([sys.executable, "-m", "piptools", "compile", *options, *arguments], cwd=ROOT, check=True)
        lines = out.read_text(encoding="utf-8").splitlines()
    return "".join(line + "\n" for line in lines if line.strip() and not line.startswith("#"))


def pins(lock: str) -> str:
    """Return the `name==version` lines of a lock, without hashes, as constraints."""
    return "".join(line.split(" ")[0] + "\n" for line in lock.splitlines() if "==" in line and line[0] != " ")


def elsewhere(constraints: str) -> str:
    """Return the locked lines of packages that other systems ask for, with their markers."""
    text = ""
    with tempfile.TemporaryDirectory() as folder:
        for name, marker in ELSEWHERE.items():
            wish = Path(folder, f"{name}.in")
            wish.write_text(name + "\n", encoding="utf-8")
            first, rest = compile_lock([str(wish)], constraints=constraints, upgrade=False).split(" \\\n", 1)
            text += f"{first} ; {marker} \\\n{rest}"
    return text


def main() -> int:
    """Write both locks; without `--upgrade` the versions already locked are kept."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--upgrade", action="store_true", help="move every package to its newest version")
    upgrade = parser.parse_args().upgrade
    kept = PACKAGING / "lock-test.txt"
    constraints = "" if upgrade or not kept.exists() else pins(kept.read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        build = Path(folder, "build.in")
        build.write_text(BUILD, encoding="utf-8")
        test = compile_lock(["--extra", "test", "pyproject.toml", str(build)], constraints=constraints, upgrade=upgrade)
        run = compile_lock(["pyproject.toml", str(build)], constraints=pins(test), upgrade=False)
    test += elsewhere(constraints)
    kept.write_text(HEAD + test, encoding="utf-8", newline="\n")
    (PACKAGING / "lock-run.txt").write_text(HEAD + run, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
