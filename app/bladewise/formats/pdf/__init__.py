"""PDF for printing and cutting: print art as live vectors, cut lines as spot colours on layers of their own."""

from __future__ import annotations

from bladewise.formats.pdf.spots import CUT_NAME, ProcessingStep, Spot
from bladewise.formats.pdf.writer import pdf_bytes, write_pdf

__all__ = ["CUT_NAME", "ProcessingStep", "Spot", "pdf_bytes", "write_pdf"]
