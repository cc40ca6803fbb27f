"""Write the reference of the JSON documents: docs/schema/*.json and docs/json.md.

python tools/write_schemas.py
"""

from pathlib import Path

from trialcut.services import document_page, document_schemas

DOCS = Path(__file__).parents[1] / "docs"


def main() -> None:
    """Write them all."""
    (DOCS / "schema").mkdir(parents=True, exist_ok=True)
    for name, text in document_schemas().items():
        (DOCS / "schema" / name).write_text(text, encoding="utf-8")
    (DOCS / "json.md").write_text(document_page(), encoding="utf-8")


if __name__ == "__main__":
    main()
