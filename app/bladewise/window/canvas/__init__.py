"""The canvas: the job to look at and to take hold of, with rulers, marks and ghosts."""

from bladewise.window.canvas.canvas import Canvas
from bladewise.window.canvas.marks import MarkShape, look_of, paint_mark_shape

__all__ = ["Canvas", "MarkShape", "look_of", "paint_mark_shape"]
