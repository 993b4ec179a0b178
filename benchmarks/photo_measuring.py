"""What measuring a 12-megapixel phone photo adds to its bare decode, in time and in memory.

Run: python -m benchmarks.photo_measuring
"""

import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
from PIL import Image

from benchmarks import site  # noqa: F401  sets Django up, which photos.py needs
from palettes.colour.light import Box
from palettes.colour.reading import White, find_yarns, read_yarns
from palettes.photos import read_patch, read_photo

WIDTH, HEIGHT = 4032, 3024
ROUNDS = 5
COLOURS = ((140, 40, 50), (60, 90, 140), (210, 190, 150), (80, 110, 70), (120, 80, 130))


def make_photo() -> bytes:
    """Return a JPEG of five grainy skeins and a strip of paper on a pale table."""
    rng = np.random.default_rng(5)
    photo = np.full((HEIGHT, WIDTH, 3), (205, 200, 190), dtype=np.int16)
    for place, colour in enumerate(COLOURS):
        photo[600:2400, 80 + place * 740 : 760 + place * 740] = colour
    photo[200:2800, 3800:4000] = 238
    photo += rng.integers(-14, 15, photo.shape, dtype=np.int16)
    buffer = BytesIO()
    Image.fromarray(photo.clip(0, 255).astype(np.uint8)).save(buffer, "JPEG", quality=90)
    return buffer.getvalue()


def load_only(data: bytes) -> None:
    """Import everything and hold the file: the baseline of memory."""


def decode(data: bytes) -> None:
    """Decode the photo whole and do nothing with it: the baseline of time."""
    Image.open(BytesIO(data)).load()


def measure(data: bytes) -> None:
    """Do all that an upload and its measuring do, storage apart."""
    picture = read_photo(data)
    pixels = read_patch(BytesIO(picture.webp), Box(0, 0, 1, 1))
    white = White(Box(0.95, 0.1, 0.985, 0.9))
    found = read_yarns(pixels, find_yarns(pixels, count=5, white=white), white=white)
    assert len(found) == len(COLOURS)


STEPS: dict[str, Callable[[bytes], None]] = {
    step.__name__: step for step in (load_only, decode, measure)
}


def best_of(work: Callable[[bytes], None], data: bytes) -> float:
    """Return the shortest of five runs, in seconds."""
    spans = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work(data)
        spans.append(time.perf_counter() - start)
    return min(spans)


def peak_mib(step: str, photo: Path) -> float:
    """Return the peak resident memory, in MiB, of a fresh process that does `step` once."""
    command = [sys.executable, "-m", "benchmarks.photo_measuring", step, str(photo)]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def main() -> None:
    data = make_photo()
    bare, whole = best_of(decode, data), best_of(measure, data)
    print(f"Photo of {WIDTH * HEIGHT / 1e6:.1f} megapixels")
    print(f"  bare decode            {bare:.3f} s")
    print(f"  read, find and measure {whole:.3f} s: {whole / bare:.1f} times the bare decode")
    with tempfile.NamedTemporaryFile(suffix=".jpg") as file:
        file.write(data)
        file.flush()
        peaks = {step: peak_mib(step, Path(file.name)) for step in STEPS}
    for step, peak in peaks.items():
        print(f"  peak memory, {step:<9} {peak:5.0f} MiB ({peak / peaks['load_only']:.2f} times)")


if __name__ == "__main__":
    if len(sys.argv) == 3:
        STEPS[sys.argv[1]](Path(sys.argv[2]).read_bytes())
        # Not getrusage: its figure begins with that of the process that forked this one.
        status = Path("/proc/self/status").read_text()
        print(int(re.findall(r"VmHWM:\s+(\d+) kB", status)[0]) / 1024)
    else:
        main()
