"""The one painter, for the screen and for pictures: what a job looks like, filled or as outlines only.

Terms and rules are those of SVG 2, "Painting: Filling, Stroking and Marker Symbols": fill, then stroke
(or the other way if asked), the opacity of a shape or a group applied to both together. A painter here
always counts in plain pixels; `View` says which part of the sheet they show.

In outline-only view every path is a hairline in its material's colour, as the knife sees it: areas,
stroke widths and gradients vanish, guides are dashed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from enum import StrEnum
from functools import lru_cache, partial
from typing import TYPE_CHECKING, TypeAlias

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QImage, QPainter, QPainterPath, QPen

from bladewise.document import Box, Colour, Element, Group, Job, Leaf, Picture, Placed
from bladewise.geometry.regions import FillRule
from bladewise.geometry.strokes import LineCap, LineJoin, stroke_outline
from bladewise.operations.painted import stroke_geometry
from bladewise.window.drawing import LONGEST_EXACT, PIECE, Drawing
from bladewise.window.paints import WHITE, material_pen, qt_brush, qt_transform
from bladewise.window.paths import REACH_PX, near_part, near_path
from bladewise.window.view import View

if TYPE_CHECKING:
    from bladewise.geometry.path import Path

_CAPS = {
    LineCap.BUTT: Qt.PenCapStyle.FlatCap,
    LineCap.ROUND: Qt.PenCapStyle.RoundCap,
    LineCap.SQUARE: Qt.PenCapStyle.SquareCap,
}
_JOINS = {
    LineJoin.MITER: Qt.PenJoinStyle.SvgMiterJoin,
    LineJoin.ROUND: Qt.PenJoinStyle.RoundJoin,
    LineJoin.BEVEL: Qt.PenJoinStyle.BevelJoin,
}


class ViewMode(StrEnum):
    """As printed, or as the knife sees it."""

    FILL = "fill"
    OUTLINE = "outline"


def paint_job(
    painter: QPainter, job: Job, view: View, *, mode: ViewMode = ViewMode.FILL, paper: Colour = WHITE
) -> None:
    """Paint a job's visible art; the sheet itself is left to the caller.

    Parameters
    ----------
    painter
        On an image, its transform left at pixels.
    job
        What to paint.
    view
        Where the sheet lies on the image, and how large.
    mode
        Filled, or as outlines only.
    paper
        What lies behind: hairlines too near to its colour are drawn a little darker or lighter.
    """
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    if mode is ViewMode.FILL:
        for layer in job.layers:
            if layer.visible:
                paint_elements(painter, layer.children, view)
        return
    for placed in job.walk():
        if placed.visible:
            paint_hairline(painter, Drawing(placed.leaf), view, hairline_pen(job, placed, paper))


def paint_elements(
    painter: QPainter,
    elements: Iterable[Element],
    view: View,
    drawing: Callable[[Leaf], Drawing] = Drawing,
) -> None:
    """Paint elements as printed, back to front; a group's opacity counts for all of it at once."""
    for element in elements:
        if not element.visible:
            continue
        if not isinstance(element, Group):
            paint_leaf(painter, drawing(element), view)
        elif element.opacity >= 1.0:
            paint_elements(painter, element.children, view, drawing)
        elif element.opacity > 0.0:
            boxes = [box for leaf in _leaves(element) if (box := drawing(leaf).bounds)]
            children = element.children
            _veiled(painter, _union(boxes), view, element.opacity, partial(_paint_children, children, drawing))


def _paint_children(
    children: tuple[Element, ...], drawing: Callable[[Leaf], Drawing], painter: QPainter, view: View
) -> None:
    paint_elements(painter, children, view, drawing)


def paint_leaf(painter: QPainter, drawing: Drawing, view: View) -> None:
    """Paint one leaf as printed."""
    leaf = drawing.leaf
    if isinstance(leaf, Picture):
        _paint_picture(painter, leaf, view)
        return
    style, path = leaf.style, drawing.path
    if not path or style.opacity <= 0.0 or not style.is_painted:
        return
    if style.opacity < 1.0 and style.fill is not None and style.stroke is not None:
        _veiled(painter, drawing.bounds, view, style.opacity, lambda p, v: _paint_both(p, drawing, v))
        return
    painter.setOpacity(style.opacity)
    _paint_both(painter, drawing, view)
    painter.setOpacity(1.0)


def paint_hairline(painter: QPainter, drawing: Drawing, view: View, pen: QPen) -> None:
    """Paint one leaf as a hairline; a picture shows as its frame."""
    for _ in hairline_in_pieces(painter, drawing, view, pen):
        pass


def hairline_in_pieces(painter: QPainter, drawing: Drawing, view: View, pen: QPen) -> Iterator[None]:
    """Paint one leaf as a hairline, pausing after each piece of a long outline."""
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if isinstance(drawing.leaf, Picture):
        painter.setTransform(qt_transform(drawing.leaf.transform) * view.transform)
        painter.drawRect(QRectF(0.0, 0.0, 1.0, 1.0))
    elif len(drawing.path) > PIECE:
        window = _window(painter)
        around = view.box(QRectF(window[0], window[1], window[2] - window[0], window[3] - window[1]))
        for piece, box, shape in drawing.pieces:
            if box[0] <= around[2] and box[2] >= around[0] and box[1] <= around[3] and box[3] >= around[1]:
                painter.setPen(pen)
                _draw(painter, piece, box, shape, view)
                yield
    elif drawing.path:
        _draw(painter, drawing.path, drawing.bounds, drawing.curves, view)
    painter.resetTransform()
    yield


def _draw(painter: QPainter, path: Path, box: Box | None, shape: QPainterPath, view: View) -> None:
    if _is_far_box(box, view):
        painter.resetTransform()
        painter.drawPath(near_path(path, view, _window(painter)))
    else:
        painter.setTransform(view.transform)
        painter.drawPath(shape)
        painter.resetTransform()


def hairline_pen(job: Job, placed: Placed, paper: Colour) -> QPen:
    """Return the pen for a leaf in outline-only view: its material's colour, guides dashed."""
    return material_pen(job.material_of(placed), paper)


def _paint_both(painter: QPainter, drawing: Drawing, view: View) -> None:
    assert not isinstance(drawing.leaf, Picture)
    if drawing.leaf.style.stroke_first:
        _paint_stroke(painter, drawing, view)
        _paint_fill(painter, drawing, view)
    else:
        _paint_fill(painter, drawing, view)
        _paint_stroke(painter, drawing, view)


def _paint_fill(painter: QPainter, drawing: Drawing, view: View) -> None:
    assert not isinstance(drawing.leaf, Picture)
    style = drawing.leaf.style
    if style.fill is None or style.fill_opacity <= 0.0:
        return
    brush = qt_brush(style.fill, style.fill_opacity)
    if _is_far(drawing, view):
        _fill_near(painter, drawing.path, view, brush, style.fill_rule)
        return
    painter.setTransform(view.transform)
    painter.fillPath(drawing.area(view.scale), brush)
    painter.resetTransform()


def _paint_stroke(painter: QPainter, drawing: Drawing, view: View) -> None:
    assert not isinstance(drawing.leaf, Picture)
    stroke = drawing.leaf.style.stroke
    if stroke is None or stroke.width_mm <= 0.0 or stroke.opacity <= 0.0:
        return
    brush = qt_brush(stroke.paint, stroke.opacity)
    if _is_far(drawing, view):
        if stroke.dash:
            area = drawing.stroke_area
        else:
            window, reach = _window(painter), drawing.reach_mm
            low, high = view.to_mm(window[0], window[1]), view.to_mm(window[2], window[3])
            around = low[0] - reach, low[1] - reach, high[0] + reach, high[1] + reach
            area = stroke_outline(near_part(drawing.path, around), stroke_geometry(stroke))
        _fill_near(painter, area, view, brush, FillRule.NONZERO)
        return
    if stroke.dash or (drawing.exact_stroke and len(drawing.path) <= LONGEST_EXACT):
        painter.setTransform(view.transform)
        painter.fillPath(drawing.stroke_chords(view.scale), brush)
        painter.resetTransform()
        return
    pen = QPen(brush, stroke.width_mm, Qt.PenStyle.SolidLine, _CAPS[stroke.cap], _JOINS[stroke.join])
    pen.setMiterLimit(stroke.miter_limit)
    path, transform = drawing.curves, view.transform
    if stroke.pen is not None:
        if abs(stroke.pen.determinant) < 1e-12:
            return
        inverse = stroke.pen.inverse()
        path, transform = qt_transform(inverse).map(path), qt_transform(stroke.pen) * transform
        brush.setTransform(brush.transform() * qt_transform(inverse))
        pen.setBrush(brush)
    painter.setTransform(transform)
    painter.strokePath(path, pen)
    painter.resetTransform()


def _fill_near(painter: QPainter, path: Path, view: View, brush: QBrush, rule: FillRule) -> None:
    brush.setTransform(brush.transform() * view.transform)
    painter.resetTransform()
    painter.fillPath(near_path(path, view, _window(painter), rule), brush)


def _paint_picture(painter: QPainter, picture: Picture, view: View) -> None:
    image = _decoded(picture.data)
    if image.isNull() or picture.opacity <= 0.0:
        return
    place = qt_transform(picture.transform) * view.transform
    across, down = math.hypot(place.m11(), place.m12()), math.hypot(place.m21(), place.m22())
    image = _shrunk(picture.data, _halvings(image.width(), across), _halvings(image.height(), down))
    painter.setOpacity(picture.opacity)
    painter.setTransform(place)
    painter.drawImage(QRectF(0.0, 0.0, 1.0, 1.0), image)
    painter.resetTransform()
    painter.setOpacity(1.0)


@lru_cache(maxsize=64)
def _decoded(data: bytes) -> QImage:
    return QImage.fromData(data)


@lru_cache(maxsize=64)
def _shrunk(data: bytes, across: int, down: int) -> QImage:
    """Return a picture halved so many times: a painter that shrinks further than by half drops pixels."""
    image = _decoded(data)
    if not across and not down:
        return image
    return image.scaled(
        max(image.width() >> across, 1),
        max(image.height() >> down, 1),
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )


def _halvings(pixels: int, shown: float) -> int:
    return max(0, math.floor(math.log2(pixels / max(shown, 1.0)))) if pixels else 0


Brushwork: TypeAlias = Callable[[QPainter, View], None]


def _veiled(painter: QPainter, box: Box | None, view: View, opacity: float, work: Brushwork) -> None:
    """Paint onto a sheet of glass the size of what is seen, and lay it down with an opacity."""
    if box is None:
        return
    window = QRectF()
    low_x, low_y, high_x, high_y = _window(painter)
    window.setCoords(low_x, low_y, high_x, high_y)
    rect = view.rect(box).adjusted(-2.0, -2.0, 2.0, 2.0).intersected(window).toAlignedRect()
    if rect.isEmpty():
        return
    glass = QImage(rect.size(), QImage.Format.Format_ARGB32_Premultiplied)
    glass.fill(Qt.GlobalColor.transparent)
    inner = QPainter(glass)
    inner.setRenderHints(painter.renderHints())
    work(inner, view.panned(-rect.x(), -rect.y()))
    inner.end()
    painter.setOpacity(opacity)
    painter.drawImage(rect.topLeft(), glass)
    painter.setOpacity(1.0)


def _window(painter: QPainter) -> Box:
    """Return the pixels that a painter can reach."""
    if painter.hasClipping():
        rect = painter.clipBoundingRect()
        return rect.left(), rect.top(), rect.right(), rect.bottom()
    device = painter.device()
    return 0.0, 0.0, float(device.width()), float(device.height())


def _is_far(drawing: Drawing, view: View) -> bool:
    return _is_far_box(drawing.bounds, view)


def _is_far_box(box: Box | None, view: View) -> bool:
    """Whether a box is too large on the screen for the rasteriser to be given all of it."""
    return box is not None and max(box[2] - box[0], box[3] - box[1]) * view.scale > REACH_PX / 2.0


def _leaves(group: Group) -> Iterable[Leaf]:
    for child in group.children:
        if isinstance(child, Group):
            yield from _leaves(child)
        else:
            yield child


def _union(boxes: list[Box]) -> Box | None:
    if not boxes:
        return None
    low_x, low_y, high_x, high_y = zip(*boxes, strict=True)
    return min(low_x), min(low_y), max(high_x), max(high_y)
