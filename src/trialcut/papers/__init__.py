"""The papers: drawings of a part, and the cut sheet as PDF, HTML and SVG."""

from trialcut.papers.canvas import Look
from trialcut.papers.cut_sheet import cut_sheet_content
from trialcut.papers.cut_sheet_html import cut_sheet_html
from trialcut.papers.cut_sheet_pdf import cut_sheet_pdf
from trialcut.papers.edge_values import ColourBy, edge_values
from trialcut.papers.legend import EdgeValues
from trialcut.papers.part_svg import part_svg

__all__ = [
    "ColourBy",
    "EdgeValues",
    "Look",
    "cut_sheet_content",
    "cut_sheet_html",
    "cut_sheet_pdf",
    "edge_values",
    "part_svg",
]
