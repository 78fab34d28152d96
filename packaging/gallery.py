"""Make the gallery: pictures of the window, light and dark, at 100 % and 200 %, as the tests show it.

    python packaging/gallery.py FOLDER

For looking at, and for the pictures of the README. Runs inside `.venv`.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TESTS = {"1": ("test_gallery.py", "test_canvas_gallery.py"), "2": ("test_canvas_gallery.py",)}
"""Which tests take pictures at which scale; the first take theirs at other scales by themselves."""


def main() -> int:
    """Run the tests of the gallery once a scale, and say what came out."""
    if len(sys.argv) != 2:
        print(__doc__)
        return 2
    folder = Path(sys.argv[1]).resolve()
    for scale, names in TESTS.items():
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:randomly",
            *(f"tests/window/{name}" for name in names),
        ]
        settings = {"BLADEWISE_PICTURES": str(folder), "BLADEWISE_SCALE": scale}
        if done := subprocess.run(command, cwd=ROOT, env={**os.environ, **settings}, check=False).returncode:
            return done
    print(f"{sum(1 for _ in folder.glob('*.png'))} pictures in {folder}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
