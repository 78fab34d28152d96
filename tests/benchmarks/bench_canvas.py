"""The canvas against painting the same paths with QPainter directly and against a graphics view, in one run.

    python tests/benchmarks/bench_canvas.py [segments ...] [--shapes N] [--mode fill|outline]

Frames are what the window waits for: `repaint()` of the widget after each change of view, at 1600 × 1000, and the
work done between two frames, each for itself. Milliseconds are of the processor, for the machine may be shared; only
the ratios in one run mean anything. Nothing is asserted.

Bars (issue 4, two cores, no GPU): at 100,000 segments in 2,000 shapes no frame over 16 ms panning, zooming or dragging,
sharp within 150 ms after the last wheel step, an edit of one shape on screen within 50 ms; at 500,000 no frame over 33.
"""

import argparse
import gc
import os
import time
from collections.abc import Callable
from pathlib import Path as FilePath

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QBrush, QImage, QMouseEvent, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QApplication, QGraphicsPathItem, QGraphicsScene, QGraphicsView

from bladewise import operations
from bladewise.document import Colour, Job, Layer, Shape, Style, measure_together
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


def milliseconds(work: Callable[[], object]) -> float:
    """Return how long some work took."""
    begin = time.process_time()
    work()
    return (time.process_time() - begin) * 1e3


class Table:
    """Rows of times with their ratios to the two floors."""

    def __init__(self, direct: float, items: float | None = None) -> None:
        """Take what QPainter alone and the graphics view take for a frame."""
        self._direct, self._items = direct, items
        print(
            f"  {'':38}{'middle':>8}{'95 %':>8}{'worst':>8}{'/ direct':>10}{'/ items':>10}   ms, ratios of the middle"
        )

    def frames(self, label: str, times: list[float], items: float | None = None) -> None:
        """Print the middle, the 95th of a hundred and the worst of frames, and how the middle compares."""
        middle = float(np.median(times))
        other = items if items is not None else self._items
        ratio = f"{middle / other:10.3f}" if other else f"{'':10}"
        print(
            f"  {label:38}{middle:8.1f}{np.percentile(times, 95):8.1f}{max(times):8.1f}"
            f"{middle / self._direct:10.3f}{ratio}",
            flush=True,
        )

    def once(self, label: str, time_ms: float, note: str = "") -> None:
        """Print one time."""
        print(f"  {label:38}{'':16}{time_ms:8.1f}{time_ms / self._direct:10.3f}   {note}", flush=True)


def frames(application: QApplication, canvas: Canvas, change: Callable[[int], object], count: int) -> list[float]:
    """Return the time of each frame, and between them that of the slices of painting that would delay the next."""
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


def painter_paths(job: Job) -> list[QPainterPath]:
    """Return the shapes as Qt's paths, made as anybody would."""
    paths = []
    for shape in job.shapes():
        path = QPainterPath()
        path.moveTo(QPointF(*shape.path.points[0, 0]))
        for row in shape.path.points:
            path.cubicTo(QPointF(*row[1]), QPointF(*row[2]), QPointF(*row[3]))
        path.closeSubpath()
        paths.append(path)
    return paths


def look(mode: ViewMode) -> tuple[QPen, QBrush]:
    """Return pen and brush of a view mode."""
    pen = QPen(Qt.GlobalColor.black, 1.0)
    pen.setCosmetic(True)
    if mode is ViewMode.OUTLINE:
        return pen, QBrush(Qt.BrushStyle.NoBrush)
    return QPen(Qt.PenStyle.NoPen), QBrush(Qt.GlobalColor.darkCyan)


def direct(job: Job, paths: list[QPainterPath], mode: ViewMode) -> float:
    """Return how long QPainter alone takes for the same curves: the floor of painting all in every frame."""
    scale = WIDTH / job.width_mm
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_RGB32)

    def paint() -> None:
        image.fill(Qt.GlobalColor.white)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(scale, scale)
        pen, brush = look(mode)
        painter.setPen(pen)
        painter.setBrush(brush)
        for path in paths:
            painter.drawPath(path)
        painter.end()

    return float(np.median([milliseconds(paint) for _ in range(3)]))


def items(job: Job, paths: list[QPainterPath], mode: ViewMode, count: int) -> tuple[list[float], list[float]]:
    """Return frames of panning and of zooming a graphics view with one item a shape."""
    pen, brush = look(mode)
    scene = QGraphicsScene(0.0, 0.0, job.width_mm, job.height_mm)
    for path in paths:
        item = QGraphicsPathItem(path)
        item.setPen(pen)
        item.setBrush(brush)
        scene.addItem(item)
    view = QGraphicsView(scene)
    view.setRenderHint(QPainter.RenderHint.Antialiasing)
    view.resize(WIDTH, HEIGHT)
    view.show()
    scale = 1.5 * WIDTH / job.width_mm
    view.scale(scale, scale)
    QApplication.processEvents()

    def pan(index: int) -> None:
        bar = view.horizontalScrollBar()
        bar.setValue(bar.value() + (6 if index % 20 < 10 else -6))
        view.viewport().repaint()

    def zoom(index: int) -> None:
        factor = 1.12 if index % 12 < 6 else 1 / 1.12
        view.scale(factor, factor)
        view.viewport().repaint()

    times = [[milliseconds(lambda i=i, act=act: act(i)) for i in range(count)] for act in (pan, zoom)]
    view.close()
    view.deleteLater()
    scene.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return times[0], times[1]


def mouse(
    canvas: Canvas,
    kind: QEvent.Type,
    at: QPointF,
    modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.AltModifier,
    button: Qt.MouseButton = Qt.MouseButton.LeftButton,
) -> None:
    """Send a mouse event as the platform would."""
    held = Qt.MouseButton.NoButton if kind is QEvent.Type.MouseButtonRelease else button
    QApplication.sendEvent(canvas, QMouseEvent(kind, at, canvas.mapToGlobal(at), button, held, modifiers))


def drag(application: QApplication, canvas: Canvas, ids: list[str]) -> tuple[list[float], list[float], float]:
    """Return the frames of dragging some shapes about, those of laying them down, and the time until all is sharp.

    What the desk's worker does in its thread (the step, the extents of what it made) is not counted.
    """
    job = canvas.job
    assert job is not None
    canvas.set_selection(frozenset(ids))
    canvas.finish_painting()
    canvas.repaint()
    wanted: list[operations.Step] = []
    canvas.step_wanted.connect(wanted.append)
    start = canvas.view.to_px(*job.element(ids[0]).path.points[0, 0])
    press, move = QEvent.Type.MouseButtonPress, QEvent.Type.MouseMove

    def act(index: int) -> None:
        if index == 0:
            mouse(canvas, press, start)
        else:
            mouse(canvas, move, start + QPointF(8.0 + 2.0 * index, index))

    moving = frames(application, canvas, act, 40)
    down = [milliseconds(lambda: mouse(canvas, QEvent.Type.MouseButtonRelease, start + QPointF(86.0, 39.0)))]
    canvas.step_wanted.disconnect()
    outcome = operations.apply(job, wanted[-1])
    measure_together(placed.leaf for placed in outcome.job.walk())
    down += [milliseconds(lambda: canvas.set_job(outcome.job, outcome.changes)), milliseconds(canvas.repaint)]
    sharp = sharp_after(application, canvas)
    canvas.set_job(job, outcome.job.changes_to(job))
    canvas.finish_painting()
    return moving, down, sharp


def band(application: QApplication, canvas: Canvas, modifiers: Qt.KeyboardModifier) -> tuple[list[float], float]:
    """Return the frames of stretching a rubber band about everything, and the time from letting go to pixels."""
    canvas.zoom_to_fit()
    canvas.set_selection(frozenset())
    canvas.finish_painting()
    box = canvas.window_box().adjusted(2.0, 2.0, -2.0, -2.0)
    reach = box.bottomRight() - box.topLeft()
    mouse(canvas, QEvent.Type.MouseButtonPress, box.topLeft(), modifiers)
    times = frames(
        application,
        canvas,
        lambda index: mouse(canvas, QEvent.Type.MouseMove, box.topLeft() + reach * ((index + 1) / 20.0), modifiers),
        20,
    )

    def release() -> None:
        mouse(canvas, QEvent.Type.MouseButtonRelease, box.bottomRight(), modifiers)
        canvas.repaint()

    return times, milliseconds(release)


def wheel_steps(application: QApplication, canvas: Canvas) -> list[float]:
    """Return the time to sharp after each of many wheel steps, in to sixty times and out again, each waited for."""
    times = []
    for factor in [0.8] * 4 + [1.25] * 18 + [0.8] * 14:
        canvas.zoom_by(factor)
        times.append(sharp_after(application, canvas))
    canvas.zoom_to_fit()
    sharp_after(application, canvas)
    return times


def resident() -> int:
    """Return the memory the process holds, in bytes, where the system tells."""
    gc.collect()
    try:
        pages = int(FilePath("/proc/self/statm").read_text(encoding="ascii").split()[1])
    except (OSError, ValueError, IndexError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE")


def run(application: QApplication, job: Job, mode: ViewMode, segments: int) -> None:
    """Print the rows of one view mode."""
    paths = painter_paths(job)
    floor = direct(job, paths, mode)
    item_pan, item_zoom = items(job, paths, mode, 24 if segments <= 100_000 else 8)
    del paths
    gc.collect()
    print(
        f"\n{mode.value}, {segments} segments: QPainter directly {floor:.1f} ms a frame, a graphics view "
        f"{np.median(item_pan):.1f} ms panning (worst {max(item_pan):.0f}), {np.median(item_zoom):.1f} ms zooming "
        f"(worst {max(item_zoom):.0f})"
    )
    panned, zoomed = float(np.median(item_pan)), float(np.median(item_zoom))
    table = Table(floor)
    before = resident()
    canvas = Canvas()
    canvas.resize(WIDTH, HEIGHT)
    canvas.show()
    canvas.set_view_mode(mode.value)
    loaded = milliseconds(lambda: canvas.set_job(job))
    table.once("first sharp", sharp_after(application, canvas), f"after {loaded:.0f} ms of taking the job")
    pan = frames(application, canvas, lambda i: canvas.set_view(canvas.view.panned(6, 3)), 60)
    table.frames("pan, all in view", pan, panned)
    canvas.zoom_to_fit()
    canvas.zoom_by(4.0)
    sharp_after(application, canvas)
    pan = frames(application, canvas, lambda i: canvas.set_view(canvas.view.panned(-9, 5)), 60)
    table.frames("pan, 4 times", pan, panned)
    canvas.zoom_to_fit()
    sharp_after(application, canvas)
    sweep = frames(application, canvas, lambda i: canvas.zoom_by(1.12 if i % 80 < 40 else 1 / 1.12), 160)
    table.frames("zoom sweep to 90 times and back", sweep, zoomed)
    table.once("sharp after the sweep", sharp_after(application, canvas))
    steps = wheel_steps(application, canvas)
    table.frames("sharp after a wheel step, any zoom", steps)
    ids = [shape.id for shape in job.shapes()]
    for count in (1, 100, len(ids)):
        moving, down, sharp = drag(application, canvas, ids[:count])
        table.frames(f"drag {count}, from the press on", moving, panned)
        table.frames(f"lay down {count}", down)
        table.once(f"sharp after laying down {count}", sharp)
    moved = operations.apply(job, operations.step("move", {"on": {"id": [ids[-1]]}, "dx_mm": 1.0}))
    edit = milliseconds(lambda: (canvas.set_job(moved.job, moved.changes), canvas.repaint()))
    table.once("edit of one shape to pixels", edit, f"at once: {canvas.is_sharp}")
    for label, modifiers in (
        ("rubber band", Qt.KeyboardModifier.NoModifier),
        ("rubber band, touching too", Qt.KeyboardModifier.AltModifier),
    ):
        stretching, chosen = band(application, canvas, modifiers)
        table.frames(f"{label}: stretching", stretching)
        table.once(f"{label}: {len(canvas.selection)} selected", chosen)
    picks = [milliseconds(lambda x=x: canvas.row_at(QPointF(x, 400.0 + x / 9.0))) for x in range(100, 1500, 20)]
    table.frames("what is under the pointer", picks)
    used = resident() - before
    picture = 4 * WIDTH * HEIGHT
    print(
        f"  memory: {used / 1e6:.1f} MB with pictures of {picture / 1e6:.1f} MB, {used / segments:.0f} bytes a segment"
    )
    canvas.stop()
    canvas.close()
    canvas.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="Frames of the canvas as ratios.")
    parser.add_argument("segments", type=int, nargs="*", default=[10_000, 100_000, 500_000])
    parser.add_argument("--shapes", type=int, default=2_000)
    parser.add_argument("--mode", choices=[mode.value for mode in ViewMode])
    options = parser.parse_args()
    application = QApplication.instance() or QApplication([])
    print(f"{options.shapes} shapes, {WIDTH} × {HEIGHT}")
    for segments in options.segments:
        job = field(segments, options.shapes)
        count = sum(len(shape.path) for shape in job.shapes())
        measure_together(job.shapes())
        for mode in ViewMode:
            if options.mode in (None, mode.value):
                run(application, job, mode, count)


if __name__ == "__main__":
    main()
