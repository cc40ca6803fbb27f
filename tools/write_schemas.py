"""Write the JSON Schema of every document into docs/schema/.

python tools/write_schemas.py
"""

from pathlib import Path

from trialcut.services.documents import document_schemas

FOLDER = Path(__file__).parents[1] / "docs" / "schema"


def main() -> None:
    """Write them all."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in document_schemas().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
        print(FOLDER / name)


if __name__ == "__main__":
    main()
