"""Make the one bundled file of three.js that the window serves: only what `three_entry.js` names.

Needs node's package client, once, on a developer's machine; whoever runs Trialcut needs neither. The versions
are pinned, so the file comes out the same byte for byte.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

THREE = "0.187.0"
ESBUILD = "0.28.2"
HERE = Path(__file__).resolve().parent
VENDOR = HERE.parent / "src" / "trialcut" / "app" / "static" / "vendor"


def main() -> None:
    """Fetch, bundle, and put file and licence beside the other vendored scripts."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "package.json").write_text('{"private": true}\n', encoding="utf-8")
        wanted = [f"three@{THREE}", f"esbuild@{ESBUILD}"]
        subprocess.run(["npm", "install", "--ignore-scripts", *wanted], cwd=folder, check=True)
        shutil.copy(HERE / "three_entry.js", folder / "entry.js")
        made = VENDOR / f"three-{THREE}.min.js"
        subprocess.run(
            [
                folder / "node_modules" / ".bin" / "esbuild",
                "entry.js",
                "--bundle",
                "--minify",
                "--format=esm",
                "--target=es2022",
                "--legal-comments=none",
                f"--banner:js=/* three.js {THREE}, MIT, see three-{THREE}.LICENSE */",
                f"--outfile={made}",
            ],
            cwd=folder,
            check=True,
        )
        shutil.copy(folder / "node_modules" / "three" / "LICENSE", VENDOR / f"three-{THREE}.LICENSE")


if __name__ == "__main__":
    main()
