"""What every test shares: Qt without a screen, and hypothesis without a stopwatch."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# The same pictures on every desk: no scaling and no style taken from the desktop the tests happen to run on.
os.environ.setdefault("QT_STYLE_OVERRIDE", "Fusion")
for name in ("QT_SCALE_FACTOR", "QT_AUTO_SCREEN_SCALE_FACTOR", "QT_FONT_DPI"):
    os.environ.pop(name, None)

from hypothesis import settings

settings.register_profile("desk", deadline=None, max_examples=50)
settings.register_profile("ci", deadline=None, max_examples=50, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
