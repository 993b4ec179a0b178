"""Run the benchmarks named, or all of them, each in a process of its own.

python -m benchmarks [NAME…]
"""

import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
CAN_RUN = 'if __name__ == "__main__":'


def main(names: list[str]) -> int:
    """Return 0 when every benchmark ran to its end, else the exit code of the last that failed."""
    known = runnable()
    if unknown := [name for name in names if name not in known]:
        print(f"There is no benchmark {unknown[0]!r}; there are {', '.join(known)}.")
        return 2
    worst = 0
    for name in names or known:
        print(f"== {name}", flush=True)
        worst = subprocess.run([sys.executable, "-m", f"benchmarks.{name}"]).returncode or worst
    return worst


def runnable() -> list[str]:
    """Return the names of the modules beside this one that can be run by themselves."""
    others = (path for path in FOLDER.glob("*.py") if not path.stem.startswith("_"))
    return sorted(path.stem for path in others if CAN_RUN in path.read_text())


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
