"""The papers: drawings of a part, and the cut sheet as PDF, HTML and SVG."""
