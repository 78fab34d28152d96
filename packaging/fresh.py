"""The two commands for a fresh machine, with nothing but Python on it.

    python3 packaging/fresh.py run [--no-window]     prepare the demo job in out/, then open the window on it
    python3 packaging/fresh.py test [PYTEST ...]     lint, types, imports, spelling and every test, without a screen

Both make `.venv`, install what is pinned by hash in packaging/lock-run.txt or packaging/lock-test.txt, and look for the
shared libraries that Qt needs. As root on Debian or Ubuntu they install what is missing; otherwise they print the exact
line to type. A stamp in `.venv` remembers what was installed, so the second start goes straight to work.

Only the standard library, and only syntax that an old Python can still read, so that it can be told it is too old.
"""

from __future__ import annotations

import argparse
import ctypes
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / "bladewise-stamp.json"
OUT = ROOT / "out"

OLDEST = (3, 11)
SCHEME = "1"  # changes when this script installs in another way, so that older folders are brought up to date

# What the Qt wheel expects from the system, and the Debian packages that carry it, newest name first.
LIBRARIES = {
    "libGL.so.1": ("libgl1",),
    "libEGL.so.1": ("libegl1",),
    "libglib-2.0.so.0": ("libglib2.0-0t64", "libglib2.0-0"),
    "libdbus-1.so.3": ("libdbus-1-3",),
    "libfontconfig.so.1": ("libfontconfig1",),
    "libxkbcommon.so.0": ("libxkbcommon0",),
}
# What a window on an X display needs besides.
WINDOW_LIBRARIES = {
    "libxcb-cursor.so.0": ("libxcb-cursor0",),
    "libxcb-icccm.so.4": ("libxcb-icccm4",),
    "libxcb-keysyms.so.1": ("libxcb-keysyms1",),
    "libxcb-shape.so.0": ("libxcb-shape0",),
    "libxkbcommon-x11.so.0": ("libxkbcommon-x11-0",),
}

# Programs of others that read our files again in the tests, and the Debian packages that carry them.
READERS = {
    "gs": ("ghostscript",),
    "mutool": ("mupdf-tools",),
    "pdftoppm": ("poppler-utils",),
    "qpdf": ("qpdf",),
}


class Stop(Exception):
    """The command cannot go on; the text says what to do."""


def say(text: str) -> None:
    """Tell the person at the keyboard, at once."""
    print(text, flush=True)


def call(command: list[str], *, environment: dict[str, str] | None = None) -> int:
    """Run a command in the project's folder, its output shown, and return its exit code."""
    done = subprocess.run(command, cwd=ROOT, stdin=subprocess.DEVNULL, env=environment, check=False)
    return done.returncode


# --- the system ---------------------------------------------------------------------------------------------------


def check_python() -> None:
    """Stop on a Python that is too old, naming the one that runs."""
    if sys.version_info < OLDEST:
        found = ".".join(str(number) for number in sys.version_info[:3])
        wanted = ".".join(str(number) for number in OLDEST)
        raise Stop(
            f"Bladewise needs Python {wanted} or newer; this is Python {found} ({sys.executable}).\n"
            f"Start this script with a newer one, for example: python{wanted} packaging/fresh.py run"
        )


def display_there() -> bool:
    """Tell whether a window could be shown."""
    if sys.platform in {"win32", "darwin"}:
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def missing_libraries(wanted: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Return those shared libraries that the system's loader does not find."""
    missing = {}
    for soname, packages in wanted.items():
        try:
            ctypes.CDLL(soname)
        except OSError:
            missing[soname] = packages
    return missing


def apt_there() -> bool:
    """Tell whether this is a system whose packages come through apt."""
    return sys.platform == "linux" and shutil.which("apt-get") is not None


def is_root() -> bool:
    """Tell whether packages may be installed without asking anyone."""
    ask = getattr(os, "geteuid", None)
    return ask is not None and ask() == 0


def apt_knows(package: str) -> bool:
    """Tell whether apt can install a package of this name."""
    try:
        done = subprocess.run(["apt-cache", "policy", package], capture_output=True, text=True, check=False)
    except OSError:
        return False
    return "Candidate:" in done.stdout and "Candidate: (none)" not in done.stdout


def apt_names(choices: list[tuple[str, ...]]) -> list[str]:
    """Return, for each choice of names, the one this release of Debian or Ubuntu uses."""
    return [next((name for name in names if apt_knows(name)), names[-1]) for names in choices]


def apt_install(choices: list[tuple[str, ...]], *, why: str) -> None:
    """Install packages as root, or stop with the line to type."""
    if not is_root():
        line = "sudo apt-get install -y " + " ".join(apt_names(choices))
        raise Stop(f"{why}\nType this line, then start again:\n\n    {line}\n")
    quiet = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
    if not all(any(apt_knows(name) for name in names) for names in choices):
        call(["apt-get", "update", "-q"], environment=quiet)  # a fresh machine has no lists yet
    names = apt_names(choices)
    say(f"{why} Installing {' '.join(names)} ...")
    install = ["apt-get", "install", "-y", "-q", "--no-install-recommends", *names]
    if call(install, environment=quiet) != 0:
        # Lists may be older than the archive they point into.
        call(["apt-get", "update", "-q"], environment=quiet)
        if call(install, environment=quiet) != 0:
            raise Stop("apt-get could not install them; its own words are above.")


def provide_system(*, window: bool) -> None:
    """Make sure the system has what Qt needs, for drawing and, if asked, for a window, and what `.venv` needs."""
    if sys.platform != "linux":
        return
    wanted = {**LIBRARIES, **WINDOW_LIBRARIES} if window else LIBRARIES
    missing = missing_libraries(wanted)
    if importlib.util.find_spec("ensurepip") is None and not same_python():
        missing["ensurepip (Python's venv)"] = (
            f"python{sys.version_info[0]}.{sys.version_info[1]}-venv",
            "python3-venv",
        )
    if not missing:
        return
    why = "This system lacks " + ", ".join(missing) + "."
    if not apt_there():
        raise Stop(f"{why}\nInstall the packages of your system that carry them, then start again.")
    apt_install(list(missing.values()), why=why)
    still = missing_libraries(wanted)
    if still:
        raise Stop("Still not found after installing: " + ", ".join(still))


def provide_readers() -> None:
    """Install the programs that read our files again, as root; without them the tests that ask them are skipped."""
    missing = {program: packages for program, packages in READERS.items() if shutil.which(program) is None}
    if not missing:
        return
    what = f"No {', '.join(missing)} here"
    if not apt_there() or not is_root():
        say(f"{what}: the tests that let other programs read our files are skipped.")
        return
    try:
        apt_install(list(missing.values()), why=f"{what}, which read our files again in the tests.")
    except Stop as reason:
        say(f"{reason}\n{what}: the tests that ask them are skipped.")


# --- the folder .venv ---------------------------------------------------------------------------------------------


def venv_python() -> Path:
    """Return where the interpreter of .venv is, or will be."""
    return VENV / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")


def key_of(lock: Path) -> str:
    """Return a digest of everything that decides what has to be installed."""
    total = hashlib.sha256(f"{SCHEME} {sys.version_info[:2]} {sys.platform} {ROOT}".encode())
    for path in (lock, ROOT / "pyproject.toml"):
        total.update(path.read_bytes())
    return total.hexdigest()


def stamps() -> dict[str, str]:
    """Return what was installed into .venv, by purpose."""
    try:
        found = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def same_python() -> bool:
    """Tell whether .venv exists and holds the Python version that runs this script."""
    try:
        text = (VENV / "pyvenv.cfg").read_text(encoding="utf-8")
    except OSError:
        return False
    version = next((line.partition("=")[2].strip() for line in text.splitlines() if line.startswith("version")), "")
    return venv_python().exists() and version.split(".")[:2] == [str(number) for number in sys.version_info[:2]]


def make_venv() -> None:
    """Make .venv, or make it anew when it belongs to another Python."""
    say(f"Making {VENV} ...")
    # From inside an activated folder the interpreter is a link into it; the one behind it must do the work.
    base = getattr(sys, "_base_executable", None) or sys.executable
    if call([base, "-m", "venv", "--clear", str(VENV)]) != 0:
        raise Stop(f"Could not make {VENV}; the reason is above.")


def provide_venv(purpose: str) -> Path:
    """Return the interpreter of a .venv that holds everything `purpose` (run or test) needs."""
    lock = ROOT / "packaging" / f"lock-{purpose}.txt"
    key = key_of(lock)
    have = stamps()
    # The programs in .venv know their place by its full name: a folder that was moved is made anew.
    if not same_python() or have.get("place", str(VENV)) != str(VENV):
        make_venv()
        have = {}
    python = venv_python()
    if have.get(purpose) == key:
        return python
    say(f"Installing what packaging/{lock.name} pins ...")
    pip = [str(python), "-m", "pip", "--disable-pip-version-check", "install", "--quiet", "--no-deps"]
    # No deps: the lock is complete. Only wheels: a fresh machine has no compiler.
    if call([*pip, "--require-hashes", "--only-binary=:all:", "-r", str(lock)]) != 0:
        raise Stop(
            "The packages could not be installed; pip's own words are above.\n"
            "This step needs the network once. If pip found no matching distribution, the window toolkit may have\n"
            "no build for this system: on 64-bit Arm Linux it needs Debian 13, Ubuntu 24.04 or newer."
        )
    if call([*pip, "--no-build-isolation", "--editable", str(ROOT)]) != 0:
        raise Stop("Bladewise itself could not be put into .venv; the reason is above.")
    have["place"] = str(VENV)
    have[purpose] = key
    if purpose == "test":
        have["run"] = key_of(ROOT / "packaging" / "lock-run.txt")  # the test lock holds the other whole
    STAMP.write_text(json.dumps(have), encoding="utf-8")
    return python


# --- run ----------------------------------------------------------------------------------------------------------


def main_demo_job() -> str:
    """Return the file that the window opens on, or nothing when the demo could not be made."""
    try:
        name = json.loads((OUT / "prepared.json").read_text(encoding="utf-8"))["main"]
    except (OSError, ValueError, KeyError):
        return ""
    return str(OUT / name) if name else ""


def run(*, window: bool) -> int:
    """Prepare the demo job and open the window on it; return the exit code."""
    show = window and display_there()
    provide_system(window=show)
    python = provide_venv("run")
    environment = dict(os.environ)
    if not show and sys.platform == "linux":
        environment.setdefault("QT_QPA_PLATFORM", "offscreen")
    code = call([str(python), str(ROOT / "packaging" / "demo.py"), str(OUT)], environment=environment)
    if not window:
        return code
    if not show:
        say("There is no display here (DISPLAY and WAYLAND_DISPLAY are empty), so the window was not opened.")
        return code
    main_job = main_demo_job()
    if not main_job:
        return code or 1
    say(f"Opening the window on {main_job} ...")
    command = [str(python), "-c", "import sys; from bladewise.cli import main; sys.exit(main(sys.argv[1:]))", main_job]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


# --- test ---------------------------------------------------------------------------------------------------------


def workers() -> list[str]:
    """Return how pytest shares its work; whoever is done takes from the others, since a few files hold most cases."""
    cores = min(os.cpu_count() or 1, 4)
    return ["-n", str(cores), "--dist", "worksteal"] if cores > 1 else []


def test(extra: list[str]) -> int:
    """Run every check, the tests last, and return 1 when any of them failed."""
    provide_system(window=False)
    provide_readers()
    python = str(provide_venv("test"))
    environment = dict(os.environ, QT_QPA_PLATFORM="offscreen")
    # lint-imports and codespell have no `-m` form everywhere; their scripts stand beside the interpreter.
    scripts = Path(python).parent
    suffix = ".exe" if sys.platform == "win32" else ""
    steps = {
        "outside data": [python, "packaging/outside_data.py"],
        "ruff check": [python, "-m", "ruff", "check", "--no-fix", "--output-format=concise", "."],
        "ruff format": [python, "-m", "ruff", "format", "--check", "--output-format=concise", "."],
        "mypy": [python, "-m", "mypy"],
        "import contracts": [str(scripts / f"lint-imports{suffix}"), "--no-cache", "--no-logo"],
        "codespell": [str(scripts / f"codespell{suffix}")],
        "pytest": [python, "-m", "pytest", *workers(), *extra],
    }
    lines = []
    failed = False
    for name, command in steps.items():
        say(f"\n=== {name}")
        start = time.perf_counter()
        code = call(command, environment=environment)
        failed = failed or code != 0
        lines.append(f"{name:18}{'ok' if code == 0 else f'FAILED ({code})':14}{time.perf_counter() - start:7.1f} s")
    say("\n=== summary\n" + "\n".join(lines))
    return 1 if failed else 0


def main(arguments: list[str]) -> int:
    """Do what was asked on the command line."""
    parser = argparse.ArgumentParser(prog="fresh.py", description="Start or check Bladewise on a fresh machine.")
    commands = parser.add_subparsers(dest="command", required=True)
    one = commands.add_parser("run", help="prepare the demo job in out/ and open the window on it")
    one.add_argument("--no-window", action="store_true", help="prepare the demo job only")
    commands.add_parser("test", help="run every check and test; what follows goes to pytest")
    given, extra = parser.parse_known_args(arguments)
    try:
        check_python()
        if given.command == "test":
            return test(extra)
        if extra:
            parser.error("unrecognized arguments: " + " ".join(extra))
        return run(window=not given.no_window)
    except Stop as reason:
        print(f"\n{reason}", file=sys.stderr, flush=True)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
