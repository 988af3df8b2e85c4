"""Sets one paper: a job as JSON on stdin, the folder of templates as argument, PDF or PNG on stdout.

Started by itself, it loads the typesetter and nothing else of the program. Only the fonts that come with
the typesetter are used, so that a paper looks alike on every machine.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import typst


def main() -> None:
    """Read the job, write what it is set as."""
    job = json.load(sys.stdin)
    folder = Path(sys.argv[1])
    made = typst.compile(
        folder / job["template"],
        root=folder,
        sys_inputs={"data": json.dumps(job["values"])},
        ignore_system_fonts=True,
        **job["as"],
    )
    sys.stdout.buffer.write(made)


if __name__ == "__main__":
    main()
