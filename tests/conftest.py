"""What every test shares: Qt without a screen, and hypothesis without a stopwatch."""

import os
import threading
import time
from collections.abc import Iterator

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# The same pictures on every desk: no scaling and no style taken from the desktop the tests happen to run on.
os.environ.setdefault("QT_STYLE_OVERRIDE", "Fusion")
for name in ("QT_SCALE_FACTOR", "QT_AUTO_SCREEN_SCALE_FACTOR", "QT_FONT_DPI"):
    os.environ.pop(name, None)
if scale := os.environ.get("BLADEWISE_SCALE"):  # packaging/gallery.py asks for pictures at 200 %
    os.environ["QT_SCALE_FACTOR"] = scale

import pytest
from hypothesis import settings

settings.register_profile("desk", deadline=None, max_examples=50)
settings.register_profile("ci", deadline=None, max_examples=50, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")


@pytest.fixture(autouse=True)
def no_thread_outlives_its_test() -> Iterator[None]:
    """Fail a test that leaves a thread behind: whatever starts work also waits for it or cancels it."""
    before = set(threading.enumerate())
    yield
    patience = time.monotonic() + 5.0
    while (left := [one for one in threading.enumerate() if one not in before and not one.daemon]) and (
        time.monotonic() < patience
    ):
        time.sleep(0.02)
    assert not left, f"threads still at work after the test: {[one.name for one in left]}"
