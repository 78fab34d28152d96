"""Frames of the canvas against painting the same paths with QPainter directly, in one run.

    python tests/benchmarks/bench_canvas.py [segments] [shapes]

Frames are what the window waits for: `repaint()` of the widget after each change of view, at 1600 × 1000.
Only the ratios in one run mean anything. Nothing is asserted.
"""

import os
import sys
import time
from collections.abc import Callable

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QImage, QMouseEvent, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QApplication

from bladewise import operations
from bladewise.document import Colour, Job, Layer, Shape, Style
from bladewise.geometry.path import Path, SegmentKind
from bladewise.window.canvas import Canvas
from bladewise.window.painting import ViewMode

WIDTH, HEIGHT = 1600, 1000


def field(segments: int, shapes: int) -> Job:
    """Return a job of wobbly closed outlines of cubics, scattered over a sheet of a metre."""
    random = np.random.default_rng(5)
    each = max(segments // shapes, 3)
    made = []
    for index in range(shapes):
        angle = np.linspace(0.0, 2.0 * np.pi, each, endpoint=False)
        radius = random.uniform(6.0, 16.0) * (1.0 + 0.25 * random.standard_normal(each))
        centre = random.uniform((0.0, 0.0), (1000.0, 620.0))
        nodes = centre + radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        ahead = np.roll(nodes, -1, axis=0)
        slope = (ahead - np.roll(nodes, 1, axis=0)) / 6.0
        points = np.stack([nodes, nodes + slope, ahead - np.roll(slope, -1, axis=0), ahead], axis=1)
        kinds = np.full(each, SegmentKind.CUBIC, np.uint8)
        path = Path(points, kinds, np.ones(each), np.zeros(1, np.int64), np.ones(1, bool))
        colour = Colour(*(int(channel) for channel in random.integers(30, 230, 3)))
        made.append(Shape(f"shape-{index}", path, Style(fill=colour)))
    return Job("Field", 1000.0, 620.0, (Layer("layer", "Layer", tuple(made)),))


def milliseconds(work: Callable[[], None]) -> float:
    """Return how long some work took."""
    begin = time.process_time()
    work()
    return (time.process_time() - begin) * 1e3


def spread(times: list[float]) -> str:
    """Return the middle, the 95th of a hundred and the worst."""
    return f"{np.median(times):6.1f} {np.percentile(times, 95):6.1f} {max(times):6.1f}"


def frames(application: QApplication, canvas: Canvas, change: Callable[[int], None], count: int) -> list[float]:
    """Return the time of each frame, the slices between frames counted to the frame they delay."""
    times = []
    for index in range(count):

        def frame(index: int = index) -> None:
            change(index)
            canvas.repaint()

        times.append(milliseconds(frame))
        times.append(milliseconds(application.processEvents))
    return times


def sharp_after(application: QApplication, canvas: Canvas) -> float:
    """Return how long it takes until the picture is complete."""
    begin = time.process_time()
    while not canvas.is_sharp:
        application.processEvents()
    return (time.process_time() - begin) * 1e3


def direct(job: Job, mode: ViewMode) -> float:
    """Return how long QPainter alone takes for the same curves: the floor of painting all in every frame."""
    scale = WIDTH / job.width_mm
    paths = []
    for shape in job.shapes():
        path = QPainterPath()
        path.moveTo(QPointF(*shape.path.points[0, 0]))
        for row in shape.path.points:
            path.cubicTo(QPointF(*row[1]), QPointF(*row[2]), QPointF(*row[3]))
        path.closeSubpath()
        paths.append(path)
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_RGB32)

    def paint() -> None:
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(scale, scale)
        pen = QPen(Qt.GlobalColor.black, 1.0)
        pen.setCosmetic(True)
        if mode is ViewMode.OUTLINE:
            painter.setPen(pen)
        else:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(Qt.GlobalColor.darkCyan)
        for path in paths:
            painter.drawPath(path)
        painter.end()

    return float(np.median([milliseconds(paint) for _ in range(5)]))


def mouse(canvas: Canvas, kind: QEvent.Type, at: QPointF, button: Qt.MouseButton = Qt.MouseButton.LeftButton) -> None:
    """Send a mouse event as the platform would."""
    held = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseButtonRelease else button
    QApplication.sendEvent(
        canvas, QMouseEvent(kind, at, canvas.mapToGlobal(at), button, held, Qt.KeyboardModifier.AltModifier)
    )


def drag(application: QApplication, canvas: Canvas, job: Job, ids: list[str]) -> list[float]:
    """Return the frames of dragging some shapes about."""
    canvas.set_selection(frozenset(ids))
    canvas.finish_painting()
    points = job.element(ids[0]).path.points[0, 0]
    start = canvas.view.to_px(*points)
    mouse(canvas, QEvent.Type.MouseButtonPress, start)
    if canvas.selection != frozenset(ids):
        canvas.set_selection(frozenset(ids))
    times = frames(
        application,
        canvas,
        lambda index: mouse(canvas, QEvent.Type.MouseMove, start + QPointF(8.0 + 2.0 * index, index)),
        40,
    )
    canvas.settle()
    return times


def run(application: QApplication, job: Job, mode: ViewMode) -> None:
    """Print the rows of one view mode."""
    floor = direct(job, mode)
    canvas = Canvas()
    canvas.resize(WIDTH, HEIGHT)
    canvas.show()
    canvas.set_view_mode(mode.value)
    canvas.set_job(job)
    first = sharp_after(application, canvas)
    print(f"\n{mode.value}: QPainter directly {floor:.1f} ms a frame; first sharp after {first:.0f} ms")

    def report(label: str, times: list[float], floor: float = floor) -> None:
        print(f"  {label:34} {spread(times)}   ratio to direct {np.median(times) / floor:6.3f}")

    report("pan, all in view", frames(application, canvas, lambda i: canvas.set_view(canvas.view.panned(6, 3)), 60))
    canvas.zoom_to_fit()
    canvas.zoom_by(4.0)
    sharp_after(application, canvas)
    report("pan, 4 times", frames(application, canvas, lambda i: canvas.set_view(canvas.view.panned(-9, 5)), 60))
    canvas.zoom_to_fit()
    sharp_after(application, canvas)
    sweep = frames(application, canvas, lambda i: canvas.zoom_by(1.12 if i % 80 < 40 else 1 / 1.12), 160)
    report("zoom sweep", sweep)
    print(f"  {'sharp after the last zoom':34} {sharp_after(application, canvas):6.1f}")
    canvas.zoom_to_fit()
    sharp_after(application, canvas)
    ids = [shape.id for shape in job.shapes()]
    for count in (1, 100, len(ids)):
        report(f"drag {count}", drag(application, canvas, job, ids[:count]))
        canvas.finish_painting()
    moved = operations.apply(job, operations.step("move", {"on": {"id": [ids[-1]]}, "dx_mm": 1.0}))
    edit = milliseconds(lambda: (canvas.set_job(moved.job, moved.changes), canvas.repaint())[0])
    print(f"  {'edit of one shape to pixels':34} {edit:6.1f}   at once: {canvas.is_sharp}")
    picks = [milliseconds(lambda x=x: canvas.row_at(QPointF(x, 400.0 + x / 9.0))) for x in range(100, 1500, 20)]
    print(f"  {'what is under the pointer':34} {spread(picks)}")
    canvas.stop()
    canvas.close()


def main() -> None:
    """Print the table."""
    segments = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    shapes = int(sys.argv[2]) if len(sys.argv) > 2 else 2_000
    application = QApplication.instance() or QApplication([])
    job = field(segments, shapes)
    print(f"{segments} cubics in {shapes} shapes, {WIDTH} × {HEIGHT}: middle, 95 %, worst in ms")
    for mode in ViewMode:
        run(application, job, mode)


if __name__ == "__main__":
    main()
