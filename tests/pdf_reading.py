"""What a PDF says, read by pikepdf and followed operator by operator: what is painted, where, how, on which layer.

Not ours but for the bookkeeping: pikepdf splits the content into operators (qpdf's tokenizer); what each
does is said in ISO 32000-1, 8.4 to 8.6 and 8.11.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pikepdf

if TYPE_CHECKING:
    from collections.abc import Iterator

IDENTITY = np.eye(3)


@dataclass(frozen=True)
class Look:
    """The graphics state, as far as tests ask for it."""

    place: Any = field(default_factory=lambda: IDENTITY)
    fill: tuple[str, tuple[Any, ...]] = ("DeviceGray", (0.0,))
    stroke: tuple[str, tuple[Any, ...]] = ("DeviceGray", (0.0,))
    width: float = 1.0
    cap: int = 0
    join: int = 0
    miter_limit: float = 10.0
    dash: tuple[tuple[float, ...], float] = ((), 0.0)
    fill_opacity: float = 1.0
    stroke_opacity: float = 1.0
    masked: bool = False
    overprint: tuple[bool, bool, int] = (False, False, 0)


@dataclass(frozen=True)
class Painted:
    """One painting: its operator, its path in points on the page, how it looks, the layers around it."""

    operator: str
    path: list[tuple[str, Any]]
    look: Look
    layers: tuple[str, ...]


def read_pdf(data: bytes) -> tuple[pikepdf.Pdf, list[Painted]]:
    """Return the opened file and all that its page paints, in order."""
    pdf = pikepdf.open(io.BytesIO(data))
    page = pdf.pages[0].obj
    return pdf, list(_content(page, page.Resources, Look(), ()))


def _content(stream: Any, resources: Any, look: Look, layers: tuple[str, ...]) -> Iterator[Painted]:
    stack: list[Look] = []
    path: list[tuple[str, Any]] = []
    for operands, operator in pikepdf.parse_content_stream(stream):
        name = str(operator)
        match name:
            case "q":
                stack.append(look)
            case "Q":
                look = stack.pop()
            case "cm":
                look = replace(look, place=_matrix(operands) @ look.place)
            case "w":
                look = replace(look, width=float(operands[0]))
            case "J":
                look = replace(look, cap=int(operands[0]))
            case "j":
                look = replace(look, join=int(operands[0]))
            case "M":
                look = replace(look, miter_limit=float(operands[0]))
            case "d":
                look = replace(look, dash=(tuple(float(one) for one in operands[0]), float(operands[1])))
            case "rg":
                look = replace(look, fill=("DeviceRGB", tuple(float(one) for one in operands)))
            case "RG":
                look = replace(look, stroke=("DeviceRGB", tuple(float(one) for one in operands)))
            case "cs":
                look = replace(look, fill=(_space(operands[0], resources), ()))
            case "CS":
                look = replace(look, stroke=(_space(operands[0], resources), ()))
            case "scn":
                look = replace(look, fill=(look.fill[0], _colour(operands)))
            case "SCN":
                look = replace(look, stroke=(look.stroke[0], _colour(operands)))
            case "gs":
                look = _state(look, resources.ExtGState[str(operands[0])])
            case "BDC":
                assert str(operands[0]) == "/OC"
                layers = (*layers, str(resources.Properties[str(operands[1])].Name))
            case "EMC":
                layers = layers[:-1]
            case "m" | "l" | "c":
                points = np.array([float(one) for one in operands]).reshape(-1, 2)
                path.append((name, points @ look.place[:2, :2] + look.place[2, :2]))
            case "h":
                path.append(("h", None))
            case "f" | "f*" | "S":
                yield Painted(name, path, look, layers)
                path = []
            case "Do":
                inner = resources.XObject[str(operands[0])]
                yield Painted(str(inner.Subtype)[1:], [], look, layers)
                if inner.Subtype == "/Form":
                    yield from _content(inner, inner.Resources, look, layers)
            case _:
                raise AssertionError(f"an operator no test knows: {name}")
    assert not stack
    assert not path


def _matrix(values: Any) -> Any:
    a, b, c, d, e, f = (float(one) for one in values)
    return np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]])


def _space(name: Any, resources: Any) -> str:
    if str(name) == "/Pattern":
        return "Pattern"
    space = resources.ColorSpace[str(name)]
    assert str(space[0]) == "/Separation"
    return f"Separation {str(space[1])[1:]}"


def _colour(operands: Any) -> tuple[Any, ...]:
    return tuple(str(one) if isinstance(one, pikepdf.Name) else float(one) for one in operands)


def _state(look: Look, state: Any) -> Look:
    if "/ca" in state:
        look = replace(look, fill_opacity=float(state.ca), stroke_opacity=float(state.CA))
    if "/SMask" in state:
        look = replace(look, masked=True)
    if "/OP" in state:
        look = replace(look, overprint=(bool(state.OP), bool(state.op), int(state.OPM)))
    return look
