"""PDF for printing and cutting: print art as live vectors, cut lines as spot colours on layers of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bladewise.formats.pdf.spots import CUT_KINDS, CUT_NAME, ProcessingStep, Spot

if TYPE_CHECKING:
    from bladewise.formats.pdf.writer import pdf_bytes, pdf_made, write_pdf

__all__ = ["CUT_KINDS", "CUT_NAME", "ProcessingStep", "Spot", "pdf_bytes", "pdf_made", "write_pdf"]


def __getattr__(name: str) -> Any:
    """Load the library of PDF objects only when a PDF is written: starting must not wait for it."""
    if name in ("pdf_bytes", "pdf_made", "write_pdf"):
        from bladewise.formats.pdf import writer

        return getattr(writer, name)
    msg = f"module {__name__!r} has no attribute {name!r}"
    raise AttributeError(msg)
