"""Write the golden papers anew: `python tests/papers/update_golden.py`.

Look at the difference before you keep it.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from sample_capability import golden_capabilities
from sample_evidence import golden_evidence
from sample_inspections import golden_inspections
from sample_offers import golden_offers
from sample_results import golden_papers

if __name__ == "__main__":
    folder = Path(__file__).parent / "golden"
    folder.mkdir(exist_ok=True)
    for name, text in (
        golden_papers() | golden_offers() | golden_inspections() | golden_evidence() | golden_capabilities()
    ).items():
        (folder / name).write_text(text, encoding="utf-8")
