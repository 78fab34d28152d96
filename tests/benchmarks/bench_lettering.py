"""Times of setting and merging lettering as ratios to HarfBuzz and plain shapely, all from one run.

    python tests/benchmarks/bench_lettering.py

Rows: a text of 10,000 letters shaped, outlined, and merged word by word, against HarfBuzz' shaping alone and
against shapely's union of the flattened words; a roster of 500 names. No time is asserted anywhere.
"""

from __future__ import annotations

import time
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
import uharfbuzz

from bladewise.document import BLACK, Job, Layer, Lettering, Style
from bladewise.geometry.booleans import merge_each
from bladewise.geometry.flatten import flatten
from bladewise.geometry.regions import Region
from bladewise.geometry.tolerances import FLATTENING_MM
from bladewise.lettering import find_face, search_also, set_outline
from bladewise.lettering.setting import set_block, word_letters
from bladewise.operations.declaration import quiet
from bladewise.operations.roster import FillRoster, filled

if TYPE_CHECKING:
    from collections.abc import Callable

WORDS = (
    "numerous",
    "camoes",
    "bakery",
    "puddle",
    "wick",
    "heron",
    "cart",
    "sleeve",
    "brew",
    "stripe",
    "awning",
    "roll",
)


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Return processor time in seconds and what came of the work."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def text_of(letters: int) -> str:
    """Return words in lines of a dozen, of so many letters."""
    rng = np.random.default_rng(3)
    words: list[str] = []
    while sum(map(len, words)) < letters:
        words.append(WORDS[int(rng.integers(len(WORDS)))])
    return "\n".join(" ".join(words[at : at + 12]) for at in range(0, len(words), 12))


def harfbuzz_alone(text: str, file: FilePath) -> int:
    """Shape the lines with HarfBuzz and nothing else."""
    font = uharfbuzz.Font(uharfbuzz.Face(file.read_bytes()))
    count = 0
    for line in text.split("\n"):
        buffer = uharfbuzz.Buffer()
        buffer.add_str(line)
        buffer.guess_segment_properties()
        uharfbuzz.shape(font, buffer)
        count += len(buffer.glyph_infos)
    return count


def plain_unions(words: list[list[Region]]) -> list[Any]:
    """Return shapely's union of each word's flattened letters."""
    done = []
    for word in words:
        polygons = []
        for region in word:
            flat = flatten(region.path, FLATTENING_MM)
            ends = np.append(flat.starts[1:], len(flat.coords))
            rings = [shapely.Polygon(flat.coords[a:b]) for a, b in zip(flat.starts, ends, strict=True)]
            polygons.append(shapely.make_valid(shapely.union_all(rings)))
        done.append(shapely.union_all(polygons))
    return done


def main() -> None:
    """Print the table."""
    search_also(FilePath(__file__).parents[2] / "demo_art" / "fonts")
    face = find_face("Pacifico")
    assert face is not None
    text = text_of(10_000)
    lettering = Lettering("t", text, "Pacifico", 30.0, Style(fill=BLACK))
    set_outline(Lettering("w", "warm", "Pacifico", 30.0, Style(fill=BLACK)))
    shaping, glyphs = timed(lambda: harfbuzz_alone(text, face.file))
    block, _ = timed(lambda: set_block(lettering))
    outlined, made = timed(lambda: set_outline(lettering))
    apart, words = timed(lambda: word_letters(lettering))
    regions = [[Region(path) for _, path in letters] for _, letters in words]
    merged, paths = timed(lambda: merge_each(regions))
    union, _ = timed(lambda: plain_unions(regions))
    count = len(made.outline)
    print(
        f"10,000 letters: {glyphs} glyphs, {len(words)} words, {count} segments -> {sum(len(path) for path in paths)}"
    )
    print(
        f"  shaped and placed   {block * 1e3:8.0f} ms  {block / shaping:6.1f} x HarfBuzz alone ({shaping * 1e3:.0f} ms)"
    )
    print(f"  with outlines       {outlined * 1e3:8.0f} ms  {outlined / shaping:6.1f} x HarfBuzz alone")
    print(f"  letters told apart  {apart * 1e3:8.0f} ms")
    print(
        f"  merged word by word {merged * 1e3:8.0f} ms  {merged / union:6.2f} x shapely's unions ({union * 1e3:.0f} ms)"
    )
    tag = set_outline(Lettering("w", "{name}", "Pacifico", 12.0, Style(fill=BLACK)))
    design = Job("Crew", 200.0, 100.0, (Layer("art", "Art", (tag,)),))
    rows = "name\n" + "\n".join(f"{WORDS[k % len(WORDS)].title()} {WORDS[(k * 7) % len(WORDS)]}" for k in range(500))
    roster, done = timed(lambda: filled(design, FillRoster(rows=rows, across=20), quiet))
    print(f"500 names: {len(done.names)} made in {roster * 1e3:.0f} ms, {roster * 2.0:.1f} ms a name")


if __name__ == "__main__":
    main()
